"""Who changes between what people see of a week and what replaces it, how, and why."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from athletes.models import Athlete
from athletes.words import name_order
from sessions.publishing.reasons import News, because, news
from sessions.publishing.sides import Day, Side


@dataclass(frozen=True)
class Change:
    """One athlete's target at one station of one session, before and after (None: there was none, or is none)."""

    athlete: Athlete
    key: UUID
    date: date
    circuit: str
    station: int
    before: dict | None
    after: dict | None
    because: str

    @property
    def way(self) -> str:
        """more, less or swapped; "" where it came or went."""
        before, after = self.before, self.after
        if not before or not after:
            return ""
        if before.get("movement") != after.get("movement"):
            return "swapped"
        amounts = [(side["dose"], side["load_kg"] or 0.0, side["rounds"] or 0) for side in (before, after)]
        return "more" if amounts[1] > amounts[0] else "less"


def changes_between(before: Side, after: Side) -> list[Change]:
    """Every target that moves, comes or goes, by athlete, day and station. Six queries, whatever the size."""
    pairs = paired(before, after)
    moved = [
        (then, now, place)
        for then, now in pairs
        for place in (then.targets if then else {}).keys() | (now.targets if now else {}).keys()
        if _acted_on(then, place) != _acted_on(now, place)
    ]
    ids = {athlete for _, _, (athlete, _) in moved}
    athletes = Athlete.objects.in_bulk(ids)
    told = news(ids, before.computed_at, after.computed_at) if moved else News()
    rows = [_change(then, now, place, athletes[place[0]], told) for then, now, place in moved if place[0] in athletes]
    return sorted(rows, key=lambda row: (name_order(row.athlete.name), row.athlete.pk, row.date, row.station))


def paired(before: Side, after: Side) -> list[tuple[Day | None, Day | None]]:
    """The same session on both sides, on whichever day it is: first by key and day, then by key."""
    left = {(day.key, day.date): day for day in before.days}
    pairs: list[tuple[Day | None, Day | None]] = []
    waiting = []
    for day in after.days:
        then = left.pop((day.key, day.date), None)
        if then:
            pairs.append((then, day))
        else:
            waiting.append(day)
    by_key = {day.key: place for place, day in left.items()}
    for day in waiting:
        place = by_key.pop(day.key, None)
        pairs.append((left.pop(place) if place else None, day))
    pairs += [(day, None) for day in left.values()]
    return sorted(pairs, key=lambda pair: (pair[1] or pair[0]).date)


def _acted_on(day: Day | None, place: tuple[int, int]) -> tuple | None:
    found = day and day.targets.get(place)
    return found.acted_on if found else None


def _change(then: Day | None, now: Day | None, place: tuple[int, int], athlete: Athlete, told: News) -> Change:
    day = now or then
    number = place[1]
    return Change(
        athlete=athlete,
        key=day.key,
        date=day.date,
        circuit=day.definition.name,
        station=number,
        before=_shown(then, place),
        after=_shown(now, place),
        because=because(then, now, place, told),
    )


def _shown(day: Day | None, place: tuple[int, int]) -> dict | None:
    found = day.targets.get(place) if day else None
    if found is None:
        return None
    if found.rung < 0:
        return {"rest": True, "movement": "", "dose": 0.0, "load_kg": None, "rounds": None}
    option = day.definition.stations[place[1] - 1].options[found.rung]
    fewer = found.rounds if found.rounds and found.rounds < day.definition.rotations else None
    return {
        "movement": option.movement.name,
        "dose_kind": option.dose_kind,
        "dose": found.dose,
        "load_kg": found.load_kg,
        "rounds": fewer,
    }
