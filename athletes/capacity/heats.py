"""Who tests when on which machine: heats of a test day, as short a day as a search finds.

A heat is one benchmark, started together by as many athletes as there are places for it. An athlete does their tests in
a fixed order (see `order_of`), each after the given rest; a place is free again after the longest of a heat and the
change-over. A first plan comes from list scheduling and is made shorter by `heat_search`; on small days the result is
the best there is (checked against all possible ones in the tests).
"""

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from athletes.capacity.heat_search import Cost, Plan, improved

STEP_S = 60.0  # heats start on whole minutes
# A heat less is worth this much later starting, added up over athletes: somebody sets up and counts down for each. So
# is a heat of more than one: who goes all out does better beside others (our own choice).
HEAT_S = 1800.0


@dataclass(frozen=True)
class Trial:
    """One test of one athlete: `place` is the kind of machine or spot it needs, `rank` its turn among the athlete's
    own (lower first; see `order_of`), `seconds` how long it takes."""

    athlete: Hashable
    benchmark: Hashable
    place: Hashable
    seconds: float
    rank: tuple[Any, ...]


@dataclass(frozen=True)
class Heat:
    """Athletes who start together, `starts_s` seconds after the day begins, and the seconds of the longest of them."""

    benchmark: Hashable
    place: Hashable
    starts_s: float
    seconds: float
    athletes: tuple[Any, ...]


def order_of(measure: str, seconds: float) -> int:
    """The turn of a test among one athlete's: heavy lifts, short all-out, repetitions and holds, long ones last.

    The order of the NSCA, Essentials of Strength Training and Conditioning: what tires least first (from memory).
    """
    if measure == "lift":
        return 0
    if measure in ("repetitions", "hold"):
        return 2
    return 1 if seconds < 60.0 else 3


def plan_heats(
    trials: Sequence[Trial], places: Mapping[Hashable, int], rest_s: float, change_over_s: float, seed: int = 0
) -> list[Heat]:
    """The `Heat`s of a day, by their start.

    `trials`: at most one of an athlete and benchmark; `places`: how many of each kind of place there are; `rest_s`
    [s] between an athlete's tests, `change_over_s` [s] between heats on the same places. The same input gives the same
    plan. ValueError, in words, for a test that nothing is there for.
    """
    for trial in trials:
        if places.get(trial.place, 0) < 1:
            raise ValueError("A test has no machine or place on the floor.")
    day = _Day(trials, places, rest_s, change_over_s)
    return day.heats(improved(day, day.dispatched(), seed))


class _Day:
    """A day to be planned. A plan is a list of (benchmark, athletes), in whose order places are taken."""

    def __init__(
        self, trials: Sequence[Trial], places: Mapping[Hashable, int], rest_s: float, change_over_s: float
    ) -> None:
        self.places, self.rest_s, self.change_over_s = places, rest_s, change_over_s
        self.place = {trial.benchmark: trial.place for trial in trials}
        self.seconds = {(trial.athlete, trial.benchmark): trial.seconds for trial in trials}
        self.order: dict[Any, list[Any]] = defaultdict(list)
        for trial in sorted(trials, key=lambda t: (t.rank, t.seconds)):
            self.order[trial.athlete].append(trial.benchmark)

    def timed(self, plan: Plan) -> list[tuple[float, float]] | None:
        """Start and length of every heat of a plan; None where an athlete's own order is broken."""
        free: dict[Any, float] = defaultdict(float)
        ready: dict[Any, float] = defaultdict(float)
        done: dict[Any, int] = defaultdict(int)
        times = []
        for benchmark, athletes in plan:
            place = self.place[benchmark]
            for athlete in athletes:
                if self.order[athlete][done[athlete]] != benchmark:
                    return None
                done[athlete] += 1
            start = whole_step(max(free[place], *(ready[a] for a in athletes)))
            length = max(self.seconds[a, benchmark] for a in athletes)
            free[place] = start + length + self.change_over_s
            for athlete in athletes:
                ready[athlete] = start + self.seconds[athlete, benchmark] + self.rest_s
            times.append((start, length))
        return times

    def cost(self, plan: Plan) -> Cost | None:
        """When the last one is done, then how late all start, in how many heats and how many of them alone.

        None for a plan that is none.
        """
        times = self.timed(plan)
        if times is None:
            return None
        starts = sum(start * len(athletes) for (start, _), (_, athletes) in zip(times, plan, strict=True))
        alone = sum(len(athletes) == 1 for _, athletes in plan)
        return max((start + length for start, length in times), default=0.0), starts + HEAT_S * (len(plan) + alone)

    def heats(self, plan: Plan) -> list[Heat]:
        times = self.timed(plan) or []
        found = [
            Heat(benchmark, self.place[benchmark], start, length, tuple(athletes))
            for (benchmark, athletes), (start, length) in zip(plan, times, strict=True)
        ]
        return sorted(found, key=lambda heat: heat.starts_s)

    def dispatched(self) -> Plan:
        """A first plan: always the heat that can start soonest, full of those with most before them."""
        left = {athlete: list(order) for athlete, order in self.order.items()}
        free: dict[Any, float] = defaultdict(float)
        ready: dict[Any, float] = defaultdict(float)
        plan: Plan = []
        while any(left.values()):
            waiting: dict[Any, list[Any]] = defaultdict(list)
            for athlete, order in left.items():
                if order:
                    waiting[order[0]].append(athlete)
            start, _, benchmark = min(
                (max(free[self.place[b]], min(ready[a] for a in athletes)), n, b)
                for n, (b, athletes) in enumerate(waiting.items())
            )
            start, place = whole_step(start), self.place[benchmark]
            there = [athlete for athlete in waiting[benchmark] if ready[athlete] <= start]
            there.sort(key=lambda a: (-len(left[a]), -self.seconds[a, benchmark]))
            athletes = there[: self.places[place]]
            plan.append((benchmark, athletes))
            free[place] = start + max(self.seconds[a, benchmark] for a in athletes) + self.change_over_s
            for athlete in athletes:
                left[athlete].pop(0)
                ready[athlete] = start + self.seconds[athlete, benchmark] + self.rest_s
        return plan


def whole_step(seconds: float) -> float:
    """The next whole `STEP_S` from a time on."""
    return STEP_S * ceil(seconds / STEP_S - 1e-9)
