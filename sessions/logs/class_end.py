"""Whose session ended because the class did, before their last round: then nobody missed anything.

The class's clock tells it where there was one. Where none ran, it takes two other people at least, everybody else of
the class, who all stopped in the same round. Whoever broke down alone has missed something, at however many stations.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from django.db.models import F, Q, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from sessions.clock.moment import Change, rounds_made, shape_from
from sessions.models import Attendance, ClassRun, Log, LogEntry

FEWEST_OTHERS = 2

Session = tuple[UUID, date]


@dataclass
class _Stop:
    """A log's last whole round, the most that was asked of it, and the rounds made where that is fewer than asked.

    `session` is the class's, by which its clock ran and who came is kept, and `place` the part's in it.
    """

    session: Session
    place: int
    athlete: int
    made: int = 1_000_000
    asked: int = 0
    short: list[int] = field(default_factory=list)
    stations: int = 0

    @property
    def everywhere(self) -> bool:
        return len(self.short) == self.stations > 0


def cut_short(logs: QuerySet[Log]) -> set[int]:
    """Ids of those of these logs that fall short of what was asked only because their class ended early.

    Five queries at most, however many there are.
    """
    missed = LogEntry.objects.filter(log__in=logs.values("pk"), movement__isnull=False, rounds__lt=F("asked_rounds"))
    candidates = {log: stop for log, stop in _stops(Q(log__in=missed.values("log_id"))).items() if stop.short}
    sessions = {stop.session for stop in candidates.values()}
    if not sessions:
        return set()
    hours = _hours(sessions)
    made = _made_by_clock({(stop.session, stop.place) for stop in candidates.values()})
    found, unclear = set(), {}
    for log, stop in candidates.items():
        run = _of_their_class(made.get((stop.session, stop.place), {}), hours.get((stop.athlete, *stop.session)))
        if run is not None:
            if min(stop.short) >= run:
                found.add(log)
        elif stop.everywhere:
            unclear[log] = stop
    return found | _stopped_together(unclear, hours)


def _stops(wanted: Q) -> dict[int, _Stop]:
    """How far logs came that count, by their ids; stations at rest say nothing."""
    found: dict[int, _Stop] = {}
    entries = LogEntry.objects.filter(wanted, log__replaced=False, movement__isnull=False).order_by()
    of_class = Coalesce("log__session__part_of", "log__session_key")
    columns = ("log__session__place", "log__date", "log__athlete_id", "rounds", "asked_rounds")
    for log, key, place, day, athlete, rounds, asked in entries.values_list("log_id", of_class, *columns):
        stop = found.setdefault(log, _Stop((key, day), place, athlete))
        stop.made, stop.asked, stop.stations = min(stop.made, rounds), max(stop.asked, asked), stop.stations + 1
        if rounds < asked:
            stop.short.append(rounds)
    return found


def _hours(sessions: Iterable[Session]) -> dict[tuple[int, UUID, date], str]:
    """The hours of the classes that people came to, as far as that was marked."""
    came = Attendance.objects.filter(_of(sessions)).values_list("athlete_id", "session_key", "date", "hour")
    return {(athlete, key, day): hour for athlete, key, day, hour in came}


def _made_by_clock(parts: set[tuple[Session, int]]) -> dict[tuple[Session, int], dict[str, int | None]]:
    """Whole rounds that parts of classes made by their clocks, by hour; None for one that is not over yet."""
    now_ms = int(timezone.now().timestamp() * 1000)
    found: dict[tuple[Session, int], dict[str, int | None]] = defaultdict(dict)
    runs = ClassRun.objects.filter(_of({session for session, _ in parts}), standing=True)
    for run in runs.prefetch_related("changes"):
        changes = [Change(change.at_ms, change.kind, change.value) for change in run.changes.all()]
        for session, place in parts:
            if session == (run.session_key, run.date):
                rounds, over = rounds_made(shape_from(run.shape), run.starts_ms, changes, now_ms, place)
                found[session, place][run.hour] = rounds if over else None
    return found


def _of_their_class(made: dict[str, int | None], hour: str | None) -> int | None:
    """The rounds of one's class; of the only one that day where nobody marked who came."""
    if hour is not None or len(made) != 1:
        return made.get(hour or "")
    return next(iter(made.values()))


def _stopped_together(unclear: dict[int, _Stop], hours: dict[tuple[int, UUID, date], str]) -> set[int]:
    """Those of these logs whose whole class stopped in the same round, by the other logs of it."""
    if not unclear:
        return set()
    classes: dict[tuple[Session, int, str | None], list[_Stop]] = defaultdict(list)
    sessions = {stop.session for stop in unclear.values()}
    of_class = _of(sessions, "log__") | _of(sessions, "log__", "session__part_of")
    for stop in _stops(of_class).values():
        classes[stop.session, stop.place, hours.get((stop.athlete, *stop.session))].append(stop)
    found = set()
    for log, stop in unclear.items():
        others = [
            other
            for other in classes[stop.session, stop.place, hours.get((stop.athlete, *stop.session))]
            # Of whom no more was asked, they cannot tell when the class ended.
            if other.athlete != stop.athlete and (other.asked > stop.made or other.made > stop.made)
        ]
        if len(others) >= FEWEST_OTHERS and all(other.everywhere and other.made == stop.made for other in others):
            found.add(log)
    return found


def _of(sessions: Iterable[Session], before: str = "", key: str = "session_key") -> Q:
    """Rows of these sessions."""
    wanted = Q()
    keys_by_day: dict[date, set[UUID]] = defaultdict(set)
    for own, day in sessions:
        keys_by_day[day].add(own)
    for day, keys in keys_by_day.items():
        wanted |= Q(**{f"{before}date": day, f"{before}{key}__in": keys})
    return wanted
