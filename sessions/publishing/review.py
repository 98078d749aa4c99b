"""What publishing a week would do, before it is done: what is another, for whom and why, and who needs a look."""

from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from math import ceil

from athletes.models import Athlete, Gym
from athletes.words import name_order, number
from sessions.models import Week
from sessions.publishing.changes import Change, changes_between, paired
from sessions.publishing.draft import draft_side
from sessions.publishing.reasons import session_words
from sessions.publishing.sides import Day, Side, side_of
from sessions.weeks.machines import shortages
from sessions.weeks.published import live_publication
from sessions.words.cards import less_than_written, limited_by, rounds_text, written_dose


@dataclass(frozen=True)
class ReviewDay:
    """One session of the week: `words` say what is another in it as written, `changes` for whom that matters."""

    day: Day
    words: list[str]
    changes: list[Change]
    gone: bool
    hearers: frozenset[int] = frozenset()
    stations: list[dict] = field(default_factory=list)

    @property
    def slug(self) -> str:
        return f"{self.day.key}-{self.day.date:%Y%m%d}"

    @property
    def minutes(self) -> str:
        return number(self.day.definition.minutes)

    @property
    def people(self) -> int:
        """How many hear of it: everyone, where the day or the class times are others."""
        return len(self.hearers)

    @property
    def amounts(self) -> dict[str, int]:
        """How many targets are more, less, swapped."""
        return {way: sum(c.way == way for c in self.changes) for way in ("more", "less", "swapped")}


@dataclass(frozen=True)
class Look:
    """Who needs a look, and why: a title, what it means, and a line an athlete or a machine."""

    title: str
    lines: list[tuple[str, str]]
    then: str = ""


@dataclass(frozen=True)
class Review:
    days: list[ReviewDay]
    looks: list[Look]
    people: int
    first: bool

    @property
    def athletes(self) -> int:
        """How many hear that something of theirs is another."""
        return len(frozenset().union(*(day.hearers for day in self.days)))

    @property
    def nothing(self) -> bool:
        return not self.first and not any(day.changes or day.words for day in self.days)


def review_of(week: Week, gym: Gym) -> Review:
    """The week as written against what people see. Raises `CannotScale`, in words for the coach."""
    live = live_publication(week)
    before = side_of(live) if live else None
    after = draft_side(week, gym, before)
    athletes = Athlete.objects.in_bulk({athlete for day in after.days for athlete, _ in day.targets})
    changes = changes_between(before, after) if before else []
    return Review(
        days=_days(before, after, changes),
        looks=looks(after, athletes),
        people=len({athlete for day in after.days for (athlete, _), shown in day.targets.items() if shown.asked}),
        first=before is None,
    )


def _days(before: Side | None, after: Side, changes: list[Change]) -> list[ReviewDay]:
    by_day: dict[tuple, list[Change]] = defaultdict(list)
    for change in changes:
        by_day[change.key, change.date].append(change)
    pairs = paired(before, after) if before else [(None, day) for day in after.days]
    found = []
    for then, now in pairs:
        day = now or then
        if day is None:
            continue
        words = session_words(then, now) if before else []
        falls = station_falls(now) if now and not before else []
        own = by_day[day.key, day.date]
        hears = {change.athlete.pk for change in own}
        if before and (then is None or now is None or (then.date, then.hours) != (now.date, now.hours)):
            hears |= {athlete for athlete, _ in day.targets}
        found.append(ReviewDay(day, words, own, now is None, frozenset(hears), falls))
    return found


def station_falls(day: Day) -> list[dict]:
    """How each station falls out over the room: as prescribed, less, swapped, rest, with the coach."""
    found = []
    for station in day.definition.stations:
        own = [shown for (_, number), shown in day.targets.items() if number == station.position]
        counts: dict[str, int] = defaultdict(int)
        for shown in own:
            option = station.options[max(shown.rung, 0)]
            less = less_than_written(option, shown.dose, shown.load_kg, shown.detail.written)
            less |= (shown.rounds or 0) < day.definition.rotations
            if shown.rung < 0:
                way = "with_coach" if shown.detail.with_coach else "rest"
            else:
                way = "swapped" if shown.rung else "less" if less else "as_prescribed"
            counts[way] += 1
        found.append({"station": station, "written": written_dose(station.prescribed), "counts": dict(counts)})
    return found


def looks(side: Side, athletes: dict[int, Athlete]) -> list[Look]:
    """Who rests, is limited, is set with a coach, is untested, and what is short, in the sessions to come."""
    coming = [day for day in side.days if not day.kept]
    rests: dict[int, list] = defaultdict(list)
    limited: dict[int, list] = defaultdict(list)
    with_coach: dict[int, list] = defaultdict(list)
    untested: dict[int, list] = defaultdict(list)
    for day in coming:
        for (athlete, station), shown in sorted(day.targets.items(), key=lambda item: item[0]):
            if shown.detail.with_coach:
                with_coach[athlete].append((day, station))
            elif shown.rung < 0:
                rests[athlete].append((day, station))
            elif limit := limited_by(shown.detail):
                limited[athlete].append((limit, shown.rounds, day.definition.rotations, day))
            if shown.detail.untested and shown.rung >= 0:
                option = day.definition.stations[station - 1].options[shown.rung]
                untested[athlete].append(option.movement.name)
    found = [
        Look(
            "Rests",
            _lines(athletes, rests, _places),
            "Nothing on the ladder is allowed: add a swap, or set it by hand.",
        ),
        Look("Limited", _lines(athletes, limited, _limits)),
        Look("With the coach", _lines(athletes, with_coach, _places), "Nothing is set without you."),
        Look(
            "Untested",
            _lines(athletes, untested, _movements),
            "They go by feel, and what they log becomes their first number.",
        ),
        Look("Short", _shorts(coming, len(athletes))),
    ]
    return [look for look in found if look.lines]


def _lines(athletes: dict[int, Athlete], found: dict[int, list], words: Callable[[list], str]) -> list[tuple[str, str]]:
    names = sorted((name_order(athletes[pk].board_name), pk) for pk in found if pk in athletes)
    return [(athletes[pk].board_name, words(found[pk])) for _, pk in names]


def _places(found: list[tuple[Day, int]]) -> str:
    """Mon 1 3, Tue all; with the circuit's name where a day has several."""
    by_day: dict[tuple, list[int]] = defaultdict(list)
    for day, station in found:
        by_day[day.date, day.definition.name, len(day.definition.stations)].append(station)
    several = Counter(date for date, _, _ in by_day)
    words = []
    for (date, name, stations), places in by_day.items():
        which = "all" if len(places) == stations else " ".join(map(str, places))
        words.append(f"{date:%a} {f'{name} ' if several[date] > 1 else ''}{which}")
    return "everything" if all(word.endswith("all") for word in words) else ", ".join(words)


def _limits(found: list[tuple[str, int | None, int, Day]]) -> str:
    reasons = list(dict.fromkeys(reason for reason, _, _, _ in found))
    fewer = [(rounds, of, day) for _, rounds, of, day in found if rounds and rounds < of]
    if not fewer:
        return ", ".join(reasons)
    rounds, of, day = min(fewer, key=lambda one: one[:2])
    return ", ".join([*reasons, f"{rounds_text(rounds, of)} on {day.date:%a}"])


def _movements(found: list[str]) -> str:
    return ", ".join(dict.fromkeys(found))


def _shorts(days: list[Day], people: int) -> list[tuple[str, str]]:
    found = []
    for day in days:
        for sentence in shortages(day.definition, ceil(people / max(len(day.hours), 1))):
            found.append((f"{day.date:%a}", sentence))
    return found
