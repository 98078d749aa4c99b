"""Why a target is another one than before, in a few words for the coach."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Q

from athletes.models import Athlete, Effort, Limitation, Override
from athletes.words import result_text
from sessions.circuits.definition import Definition, Station
from sessions.publishing.sides import Day
from sessions.words.cards import option_name, written_dose


@dataclass(frozen=True)
class News:
    """What was entered about athletes between two moments, in words, by their ids; and whether there was a before."""

    efforts: dict[int, str] = field(default_factory=dict)
    limitations: frozenset[int] = frozenset()
    cautions: frozenset[int] = frozenset()
    new: frozenset[int] = frozenset()


def news(athlete_ids: Iterable[int], since: datetime | None, until: datetime | None) -> News:
    """What came in about these athletes after `since`, up to `until` (None: now). Four queries."""
    if since is None:
        return News()
    window = (since, until) if until else None

    def within(name: str) -> Q:
        return Q(**{f"{name}__range": window}) if window else Q(**{f"{name}__gt": since})

    ids = list(athlete_ids)
    efforts: dict[int, str] = {}
    rows = Effort.objects.filter(within("entered_at") | within("voided_at"), athlete_id__in=ids)
    for effort in rows.select_related("benchmark").order_by("entered_at"):
        name, taken = effort.benchmark.name, effort.voided_at is not None
        result = result_text(effort.benchmark.measure, effort.value, effort.repetitions)
        efforts[effort.athlete_id] = f"{name}: result taken out" if taken else f"new result, {name} {result}"
    limitations = Limitation.objects.filter(within("updated_at"), athlete_id__in=ids)
    cautions = Override.objects.filter(within("updated_at"), athlete_id__in=ids)
    new = Athlete.objects.filter(within("created_at"), pk__in=ids)
    return News(
        efforts=efforts,
        limitations=frozenset(limitations.values_list("athlete_id", flat=True)),
        cautions=frozenset(cautions.values_list("athlete_id", flat=True)),
        new=frozenset(new.values_list("pk", flat=True)),
    )


def because(then: Day | None, now: Day | None, place: tuple[int, int], told: News) -> str:
    """The first reason that holds, from the nearest to the farthest: by hand, the session, the athlete, the gym."""
    athlete, number = place
    if now is None:
        return "the session is taken off"
    if then is None:
        return "a new session"
    before, after = then.targets.get(place), now.targets.get(place)
    if after is None:
        return "the station is gone" if number > len(now.definition.stations) else "no longer in the room"
    if before is None:
        if number > len(then.definition.stations):
            return "a new station"
        return "new in the gym" if athlete in told.new else "not in the room before"
    if after.detail.by_hand != before.detail.by_hand or (after.detail.by_hand and after.acted_on != before.acted_on):
        if not after.detail.by_hand:
            return "no longer by hand"
        return f"by hand: {after.detail.by_why}" if after.detail.by_why else "by hand"
    return _of_session(then, now, number) or _of_athlete(athlete, told) or _of_others(then, now)


def _of_session(then: Day, now: Day, number: int) -> str:
    old, new = then.definition, now.definition
    if found := station_words(_station(old, number), _station(new, number)):
        return found
    if now.intent != then.intent:
        return f"{'hot day, ' if now.hot else ''}{now.intent}, was {then.intent}"
    return shape_words(old, new)


def _of_athlete(athlete: int, told: News) -> str:
    if athlete in told.limitations:
        return "a limitation was changed"
    if athlete in told.cautions:
        return "a caution was changed"
    return told.efforts.get(athlete, "")


def _of_others(then: Day, now: Day) -> str:
    old, new = then.definition, now.definition
    most = max(len(old.stations), len(new.stations))
    others = (station_words(_station(old, number), _station(new, number)) for number in range(1, most + 1))
    if found := next(filter(None, others), ""):
        return f"for {found}"
    if then.date != now.date:
        return f"another day, was {then.date:%A}"
    return "what was learnt since"


def session_words(then: Day | None, now: Day | None) -> list[str]:
    """What is another in a session as it is written: "new", "from Wednesday", "row 12–14, was 15" …"""
    if now is None:
        return ["taken off"]
    if then is None:
        return ["new"]
    words = [f"moved from {then.date:%A}"] if then.date != now.date else []
    if now.hours != then.hours:
        words.append(f"at {', '.join(now.hours) or 'no class time'}")
    if now.intent != then.intent:
        words.append(f"{'hot day: ' if now.hot else ''}{now.intent}, was {then.intent}")
    old, new = then.definition, now.definition
    if old.name != new.name:
        words.append(f"was {old.name}")
    if shape := shape_words(old, new):
        words.append(shape)
    for number in range(1, max(len(old.stations), len(new.stations)) + 1):
        if found := station_words(_station(old, number), _station(new, number)):
            words.append(found)
    return words


def shape_words(old: Definition, new: Definition) -> str:
    """Rounds and intervals: "6 rounds, was 5"."""
    if old.rotations != new.rotations:
        return f"{new.rotations} rounds, was {old.rotations}"
    if old.interval_s != new.interval_s:
        return f"every {new.interval_s} s, was {old.interval_s} s"
    for name, words in (("scaling", "what gives way"), ("headroom", "left in the tank"), ("partners", "at a station")):
        if getattr(old, name) != getattr(new, name):
            return f"{words} is changed"
    return ""


def station_words(old: Station | None, new: Station | None) -> str:
    """What is another at a station: its movement, its dose, its work time or its swaps."""
    if old == new:
        return ""
    if new is None:
        return f"without {old.prescribed.movement.name}" if old else ""
    here, name = new.prescribed, new.prescribed.movement.name
    if old is None:
        return f"{name} added"
    before = old.prescribed
    if here.movement.id != before.movement.id:
        return f"{name}, was {before.movement.name}"
    if (written := written_dose(here)) != (was := written_dose(before)):
        return f"{name} {written}, was {was}"
    if new.work_window_s != old.work_window_s:
        return f"{name} in {new.work_window_s:g} s, was {old.work_window_s:g} s"
    forms = [{option_name(option) for option in station.options[1:]} for station in (old, new)]
    if added := sorted(forms[1] - forms[0]):
        return f"{name}: {added[0]} added"
    if gone := sorted(forms[0] - forms[1]):
        return f"{name}: without {gone[0]}"
    return f"{name}: swaps changed" if old.options != new.options else ""


def _station(definition: Definition, number: int) -> Station | None:
    return definition.stations[number - 1] if number <= len(definition.stations) else None
