"""Who to test on what: the tests that could change most of what will be asked in this and the next week."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from django.db.models import Count, Max

from athletes.capacity.arrays import Array, BoolArray
from athletes.estimates.library import involvement_of
from athletes.estimates.people import People, load_people
from athletes.models import Athlete, Benchmark, Effort, Gym, Limitation
from athletes.models.movement import Engine
from athletes.words import percent
from sessions.circuits.definition import Definition
from sessions.circuits.freeze import definition_of, library, varied
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession
from sessions.retests.worth import changes
from sessions.scaling.cautions import ramp_week
from sessions.targets.compute import no_target, ready
from sessions.targets.history import History, load_history
from sessions.targets.occasion import Occasion
from sessions.weeks.days import day_of
from sessions.weeks.read import monday_of

WEEKS = 2  # this one and the next
ANOTHER_MOVEMENT = 0.4  # from here on the change is that of a swap: no dose moves so far by one SD (ours)
FRESH_DAYS = 14  # nobody repeats a test within two weeks: it would say the same (common practice)
LEAST_CHANGE = 0.01  # of the doses at stake: under one in a hundred a test is not worth a coach's morning (ours)

Subject = str | int  # an engine, or the id of a movement


@dataclass(frozen=True)
class Proposal:
    """A test of one athlete. `change` is by how much the doses that rest on it could move, as a share; `gain` the same
    over all stations of all coming sessions; `last` the day of the newest own test."""

    athlete: Athlete
    benchmark: Benchmark
    gain: float
    change: float
    last: date | None
    reason: str


@dataclass(frozen=True)
class RetestList:
    """Lines by their gain, the largest first; who is not to be tested now; how many sessions it looks at."""

    lines: list[Proposal]
    waiting: list[Athlete]
    sessions: int


def retest_list(gym: Gym, day: date) -> RetestList:
    """The list as of a day, once a person and test. Queries do not grow with athletes, benchmarks or sessions."""
    tests, sessions = _tests(), _sessions(gym, day)
    planned = {option.movement.id for definition, _ in sessions for option in definition.options}
    people = load_people(list(Athlete.objects.filter(active=True).values_list("pk", flat=True)), planned)
    if not (people.athletes and tests and sessions):
        return RetestList([], [], len(sessions))
    history = load_history(people.athletes, day)
    waits = _waits(people, history, day)
    gain: dict[Subject, Array] = defaultdict(lambda: np.zeros(len(people)))
    stations: dict[Subject, Array] = defaultdict(lambda: np.zeros(len(people)))
    times: Counter[Subject] = Counter()
    looked_at = 0
    for definition, occasion, many in _alike(sessions):
        try:
            moved = list(_changes(definition, people, history, occasion, tests))
        except ValueError:  # a circuit that cannot be scaled says so on its own page
            continue
        looked_at += many
        for subject, change in moved:
            gain[subject] += many * change.sum(-1)
            stations[subject] += many * (change > 0).sum(-1)
            times[subject] += many
    last = _last_tested(people)
    lines = []
    for subject, gains in gain.items():
        benchmark = tests[subject]
        may = ~waits & people.allowed(day, benchmark.movement_id, involvement_of(benchmark.movement))
        for row in np.flatnonzero(may & (gains > 0)):
            change = float(gains[row] / stations[subject][row])
            tested = last.get((int(row), subject))
            fresh = tested is not None and (day - tested).days < FRESH_DAYS
            if change >= LEAST_CHANGE and not fresh:
                reason = _reason(subject, benchmark, times[subject], looked_at, change)
                lines.append(Proposal(people.athletes[row], benchmark, float(gains[row]), change, tested, reason))
    lines.sort(key=lambda line: (-line.gain, line.athlete.name, line.benchmark.name))
    return RetestList(lines, [a for a, wait in zip(people.athletes, waits, strict=True) if wait], looked_at)


def _alike(sessions: list[tuple[Definition, Occasion]]) -> Iterator[tuple[Definition, Occasion, int]]:
    """Each circuit once on its kind of day, the first, and how often it comes: what a test is worth hardly differs."""
    groups: list[list] = []
    for definition, occasion in sessions:
        for group in groups:
            if group[0] == definition and (group[1].intent, group[1].hot) == (occasion.intent, occasion.hot):
                group[2] += 1
                break
        else:
            groups.append([definition, occasion, 1])
    yield from map(tuple, groups)


def _tests() -> dict[Subject, Benchmark]:
    """The benchmark of each engine and movement: the one that is done most here. Two queries."""
    done = Counter(dict(Effort.objects.standing().order_by().values_list("benchmark_id").annotate(Count("pk"))))
    benchmarks = Benchmark.objects.filter(archived=False, movement__archived=False)
    found: dict[Subject, Benchmark] = {}
    for benchmark in sorted(benchmarks.select_related("movement"), key=lambda b: (-done[b.pk], b.name)):
        found.setdefault(benchmark.movement.engine or benchmark.movement_id, benchmark)
    return found


def _changes(
    definition: Definition, people: People, history: History, occasion: Occasion, tests: dict[Subject, Benchmark]
) -> Iterator[tuple[Subject, Array]]:
    """By how much the doses of a session could change, (n, S), were one engine or movement known better."""
    circuit, room, *_ = ready(definition, people, history, occasion)
    subjects: dict[Subject, BoolArray] = {}
    for s, station in enumerate(definition.stations):
        for rung, option in enumerate(station.options):
            subject: Subject = option.movement.engine or option.movement.id
            if subject in tests and not option.from_library:
                subjects.setdefault(subject, np.zeros(room.allowed.shape[1:], bool))[s, rung] = True
    engines = [subject for subject in subjects if isinstance(subject, str)]
    movements = [subject for subject in subjects if not isinstance(subject, str)]
    rungs = [subjects[movement] for movement in movements]
    doubt = people.taught.model
    moved = changes(circuit, room, engines, rungs, headrooms=occasion.headrooms, **doubt)
    yield from zip([*engines, *movements], [*moved[0], *moved[1]], strict=True)


def _sessions(gym: Gym, day: date) -> list[tuple[Definition, Occasion]]:
    """Definitions of the sessions planned from a day on, with their occasions; nobody trains where it is too hot."""
    monday = monday_of(day)
    weeks = (monday, monday + timedelta(days=7 * (WEEKS - 1)))
    planned = PlannedSession.objects.standing().filter(week__starts_on__range=weeks).select_related("week")
    planned = [session for session in planned if session.date >= day]
    circuits = with_stations(Circuit.objects.filter(pk__in={session.circuit_id for session in planned})).in_bulk()
    easier = library()
    definitions = {pk: definition_of(circuit, easier) for pk, circuit in circuits.items()}
    found = []
    for session in planned:
        holds = day_of(session, gym)
        if holds["headrooms"] is not None:
            occasion = Occasion(session.date, holds["intent"], holds["hot"], gym.headrooms, sure=gym.sure)
            written = definitions[session.circuit_id]
            on_day = varied(written, session.rotations, session.dose_percent, session.interval_s)
            found.append((on_day, occasion))
    return found


def _waits(people: People, history: History, day: date) -> BoolArray:
    """Who is not to be tested at all now, (n,): the first weeks, illness, pregnancy, minors without consent."""
    # No test to failure in the first four weeks, as on a test day: outbreaks of exertional rhabdomyolysis warn of it
    # (Eichner 2018, Curr Sports Med Rep 17:142–143), and every benchmark is done all out.
    first_weeks = ramp_week(history.days_since_return(day)) > 0
    spared = [
        any(r.kind in Limitation.NOT_ALL_OUT and r.holds(day) for r in people.restrictions.get(row, ()))
        for row in range(len(people))
    ]
    return np.asarray(first_weeks | np.array(spared, bool) | no_target(people, history, day))


def _last_tested(people: People) -> dict[tuple[int, Subject], date]:
    """The day of everyone's newest own test, by row and subject. One query."""
    rows = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    efforts = Effort.objects.standing().filter(athlete_id__in=rows).order_by()
    wanted = ("athlete_id", "benchmark__movement__engine", "benchmark__movement_id")
    found: dict[tuple[int, Subject], date] = {}
    for pk, engine, movement, day in efforts.values_list(*wanted).annotate(Max("performed_on")):
        place = rows[pk], engine or movement
        found[place] = max(day, found.get(place, day))
    return found


def _reason(subject: Subject, benchmark: Benchmark, times: int, sessions: int, change: float) -> str:
    """Row is in 4 of the coming 6 sessions; its doses could move by about 8 %."""
    name = Engine(subject).label if isinstance(subject, str) else benchmark.movement.name
    coming = "the coming session" if sessions == 1 else f"{times} of the coming {sessions} sessions"
    size = f"its doses could move by about {percent(change)}"
    if change >= ANOTHER_MOVEMENT:
        size = "a test could change the movement"
    return f"{name[:1].upper()}{name[1:]} is in {coming}; {size}."
