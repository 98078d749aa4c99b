"""Who to test on what: the benchmarks that would make the targets of this and the next weeks surest."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from athletes.capacity.constants import PATTERNS
from athletes.capacity.retest import NONE, Proposals, propose
from athletes.efforts.expectations import shown_by, trial_sd
from athletes.estimates.knowledge import Knowledge, Subject, load_knowledge
from athletes.estimates.people import People, load_people
from athletes.models import Athlete, Benchmark, Gym, Limitation
from athletes.models.movement import Engine
from athletes.words import ago
from sessions.circuits.freeze import definition_of
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession
from sessions.retests.programmed import Programmed, join, programmed
from sessions.retests.words import reason_for
from sessions.scaling.cautions import ramp_week
from sessions.targets.history import History, load_history
from sessions.targets.occasion import Occasion
from sessions.weeks.read import day_of, monday_of

WEEKS = 2  # this one and the next
# No test to failure in the first two weeks back (Eichner 2018, Curr Sports Med Rep 17:142–143, on outbreaks of
# exertional rhabdomyolysis). Every benchmark is done all out, so that holds for all of them.
NO_TEST_WEEKS = (1, 2)
# Nobody goes all out while these hold, whatever the movement.
NO_TEST_KINDS = (Limitation.Kind.ILLNESS, Limitation.Kind.PREGNANCY)


@dataclass(frozen=True)
class Line:
    """A test of one athlete: `gain` is what it takes off the SDs of all targets to come, `share` of those it is for."""

    athlete: Athlete
    benchmark: Benchmark
    gain: float
    share: float
    reason: str


@dataclass(frozen=True)
class RetestList:
    """Lines by their gain, the largest first; who is not to be tested now; how many sessions it looks at."""

    lines: list[Line]
    waiting: list[Athlete]
    sessions: int


def retest_list(gym: Gym, day: date) -> RetestList:
    """The list as of a day. Twenty-six queries, however many athletes, benchmarks and sessions there are."""
    people = load_people(list(Athlete.objects.filter(active=True).values_list("pk", flat=True)))
    benchmarks = list(Benchmark.objects.filter(archived=False).select_related("movement__machine_type"))
    benchmarks = [b for b in benchmarks if not b.movement.archived]
    sessions = _sessions(gym, day)
    if not (people.athletes and benchmarks and sessions):
        return RetestList([], [], len(sessions))
    knowledge, history = load_knowledge(people.athletes, day), load_history(people.athletes, day)
    parts = list(_programmed(sessions, people, knowledge, history))
    if not parts:
        return RetestList([], [], 0)
    asked, waits = join(parts), _waits(people, history, day)
    may = ~waits[:, None] & _allowed(benchmarks, people, day)
    observe = _observe(benchmarks, knowledge)
    noise = np.array([trial_sd(benchmark) for benchmark in benchmarks])
    found = propose(knowledge.covariance, observe, noise, asked.gradient, asked.weight, may)
    lines = list(_lines(found, benchmarks, knowledge, asked, parts, day))
    lines.sort(key=lambda line: -line.gain)
    return RetestList(lines, [a for a, wait in zip(people.athletes, waits, strict=True) if wait], len(parts))


def _sessions(gym: Gym, day: date) -> list[tuple[dict, Occasion]]:
    """Definitions of the sessions planned from a day on, with their occasions; nobody trains where it is too hot."""
    monday = monday_of(day)
    weeks = (monday, monday + timedelta(days=7 * (WEEKS - 1)))
    planned = PlannedSession.objects.filter(week__starts_on__range=weeks).select_related("week")
    planned = [session for session in planned if session.date >= day]
    circuits = with_stations(Circuit.objects.filter(pk__in={session.circuit_id for session in planned})).in_bulk()
    found = []
    for session in planned:
        factor = day_of(session, gym)["intent_factor"]
        if factor is not None:
            definition = definition_of(circuits[session.circuit_id], headroom=gym.headroom)
            found.append((definition, Occasion(session.date, factor, gym.caution)))
    return found


def _programmed(sessions, people: People, knowledge: Knowledge, history: History) -> Iterator[Programmed]:
    for definition, occasion in sessions:
        try:
            yield programmed(definition, people, knowledge, history, occasion)
        except ValueError:  # a circuit that cannot be scaled says so on its own page
            continue


def _waits(people: People, history: History, day: date) -> np.ndarray:
    """Who is not to be tested at all now, (n,)."""
    waits = np.isin(ramp_week(history.days_since_return(day)), NO_TEST_WEEKS)
    holding = Limitation.objects.filter(kind__in=NO_TEST_KINDS, starts_on__lte=day).exclude(review_on__lte=day)
    spared = set(holding.values_list("athlete_id", flat=True))
    return waits | np.array([athlete.pk in spared for athlete in people.athletes])


def _allowed(benchmarks: list[Benchmark], people: People, day: date) -> np.ndarray:
    """Who may do which benchmark's movement, (n, B)."""
    columns = []
    for benchmark in benchmarks:
        movement = benchmark.movement
        involvement = [float(movement.involvement.get(pattern, 0.0)) for pattern in PATTERNS]
        columns.append(people.allowed(day, movement.pk, involvement))
    return np.stack(columns, 1)


def _observe(benchmarks: list[Benchmark], knowledge: Knowledge) -> np.ndarray:
    """Gradients (n, B, D) of what each benchmark shows."""
    observe = np.zeros((len(knowledge.athletes), len(benchmarks), knowledge.mean.shape[1]))
    for b, benchmark in enumerate(benchmarks):
        own = knowledge.own(_subject(benchmark))
        observe[:, b, own] = shown_by(benchmark, knowledge.mean[:, own])
    return observe


def _subject(benchmark: Benchmark) -> Subject:
    return benchmark.movement.engine or benchmark.movement_id


def _lines(
    found: Proposals, benchmarks: list[Benchmark], knowledge: Knowledge, asked: Programmed, parts, day: date
) -> Iterator[Line]:
    names = {b.movement_id: b.movement.name for b in benchmarks} | dict(Engine.choices)
    for row, place in zip(*np.nonzero(found.benchmark != NONE), strict=True):
        benchmark = benchmarks[found.benchmark[row, place]]
        before, after = (found.sd[row, step] * asked.weight[row] for step in (place, place + 1))
        drops = Counter()
        for subject, drop in zip(asked.subject[row], before - after, strict=True):
            drops[subject] += drop
        main = max(drops, key=lambda subject: (drops[subject], subject == _subject(benchmark)))
        of_main = asked.subject[row] == main
        share = 1.0 - after[of_main].sum() / before[of_main].sum()
        times = sum(((part.subject[row] == main) & (part.weight[row] > 0)).any() for part in parts)
        last = knowledge.last.get((row, _subject(benchmark)))
        reason = reason_for(
            names.get(main, ""), times, len(parts), last and ago(last, day), str(benchmark), float(share)
        )
        yield Line(knowledge.athletes[row], benchmark, float(found.gain[row, place]), float(share), reason)
