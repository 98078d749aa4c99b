"""An athlete's own numbers: benchmarks as performed, and what the estimates say of each engine and movement."""

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import NamedTuple

import numpy as np
from django.db.models import QuerySet

from athletes.capacity import best
from athletes.capacity.firmness import firmness
from athletes.capacity.power_duration import log_power_sd
from athletes.capacity.strength import one_rep_max
from athletes.estimates.observations import can_be
from athletes.models import Athlete, Benchmark, Effort, Estimate
from athletes.models.movement import Engine
from athletes.words import clock, hold_text, number, percent

FIRMNESS_AT_S = 60.0  # the length of effort that most circuits ask for
EXAMPLES_M = {"row": (500, 2000), "ski": (500, 1000), "run": (1000, 5000)}
EXAMPLE_S = 60.0
WORTH_SAYING = 0.005  # of a number that logs have moved


@dataclass
class BenchmarkLine:
    """One benchmark of one athlete: efforts that stand, the latest first, and the voided ones."""

    benchmark: Benchmark
    efforts: list[Effort] = field(default_factory=list)
    voided: list[Effort] = field(default_factory=list)
    too_good: frozenset[int] = frozenset()  # efforts that the others contradict

    @property
    def latest(self) -> Effort | None:
        return self.efforts[0] if self.efforts else None

    @property
    def best(self) -> Effort | None:
        """The personal best: the fastest, the most, or the lift that says most for one repetition."""
        credible = [effort for effort in self.credible if effort.pk not in self.too_good]
        if self.benchmark.faster_is_better:
            return min(credible, key=lambda effort: effort.value, default=None)
        return max(credible, key=lambda effort: one_rep_max(effort.value, effort.repetitions or 1), default=None)

    @cached_property
    def credible(self) -> list[Effort]:
        """The efforts that stand but for those that are outside what people can do; the latest first."""
        return [e for e in self.efforts if can_be(self.benchmark, e.value, e.repetitions, e.fixed)]


class Said(NamedTuple):
    """A number that an estimate says: of what, in which unit, and the two in the words of a page."""

    of: str
    value: float
    unit: str
    words: str


@dataclass(frozen=True)
class EstimateLine:
    """What an estimate says, and its figures for coaches."""

    subject: str
    movement: int | None
    said: list[Said]
    firmness: str
    sd: float
    as_of: date
    efforts: int
    figures: dict[str, float]
    engine: str
    logs: str  # how far logs have moved it since the last test; empty where they have not

    @property
    def says(self) -> list[str]:
        return [said.words for said in self.said]


def numbers_of(athlete: Athlete) -> dict:
    """`benchmarks` and `estimates` of one athlete, two queries.

    Of the estimates those that rest on own efforts: what a benchmark says of other machines and movements is for the
    targets, and would only make this page longer than what was tested.
    """
    benchmarks = benchmark_lines(athlete)
    movements = [line.benchmark.movement for line in benchmarks if line.efforts]
    own = {movement.engine or movement.pk for movement in movements}
    estimates = [estimate for estimate in _estimates(athlete) if (estimate.engine or estimate.movement_id) in own]
    return {"benchmarks": benchmarks, "estimates": [_line_of(estimate) for estimate in estimates]}


def benchmark_lines(athlete: Athlete) -> list[BenchmarkLine]:
    """Every benchmark the athlete has an effort in, by name."""
    odd = frozenset(athlete.too_good)
    efforts = athlete.efforts.select_related("benchmark__movement__machine_type", "entered_by", "voided_by")
    lines: dict[int, BenchmarkLine] = {}
    for effort in efforts.order_by("benchmark__name", "-performed_on", "-pk"):
        line = lines.setdefault(effort.benchmark_id, BenchmarkLine(effort.benchmark, too_good=odd))
        (line.efforts if effort.voided_at is None else line.voided).append(effort)
    return list(lines.values())


def _estimates(athlete: Athlete) -> QuerySet[Estimate]:
    """The athlete's estimates: engines first, then movements by name."""
    return athlete.estimates.select_related("movement").order_by("-engine", "movement__name")


def _line_of(estimate: Estimate) -> EstimateLine:
    if estimate.engine:
        return _engine_line(estimate)
    return _paced_line(estimate) if len(estimate.mean) > 1 else _movement_line(estimate)


def _engine_line(estimate: Estimate) -> EstimateLine:
    theta, covariance = np.array(estimate.mean), np.array(estimate.covariance)
    engine, sd = estimate.engine, float(log_power_sd(FIRMNESS_AT_S, theta, covariance))
    hold = float(best.best_power(EXAMPLE_S, theta))
    unit = "m/s" if engine == Engine.RUN else "W"
    said = [Said("best for 60 s", hold, unit, f"{hold_text(engine, hold)} for a minute")]
    for metres in EXAMPLES_M.get(engine, ()):
        time_s = float(best.best_time_for_distance(engine, metres, theta))
        said.append(Said(f"time for {metres} m", time_s, "s", f"{metres} m in {clock(time_s)}"))
    power, work, ramp = np.exp(theta).tolist()
    figures = {"CP": power, "W′": work, "k": ramp}
    return _line(estimate, Engine(engine).label, said, sd, figures)


def _paced_line(estimate: Estimate) -> EstimateLine:
    theta, covariance = np.array(estimate.mean), np.array(estimate.covariance)
    sd = float(log_power_sd(FIRMNESS_AT_S, theta, covariance))
    rate, work, ramp = np.exp(theta).tolist()
    most = float(best.best_power(EXAMPLE_S, theta))
    said = [Said("most in 60 s", most, "repetitions", f"{number(most, 0)} in a minute")]
    return _line(estimate, estimate.movement.name, said, sd, {"pace for long": rate, "reserve": work, "k": ramp})


def _movement_line(estimate: Estimate) -> EstimateLine:
    movement, most = estimate.movement, float(np.exp(estimate.mean[0]))
    said = {
        "loaded": Said("most once", most, "kg", f"{number(most)} kg once"),
        "hold": Said("longest", most, "s", f"{clock(most)} of hold"),
    }.get(movement.kind, Said("most unbroken", most, "repetitions", f"{number(most, 0)} unbroken repetitions"))
    return _line(estimate, movement.name, [said], float(estimate.covariance[0][0]) ** 0.5, {"M": most})


def _line(estimate: Estimate, subject: str, said: list[Said], sd: float, figures: dict) -> EstimateLine:
    return EstimateLine(
        subject=subject,
        movement=estimate.movement_id,
        said=said,
        firmness=str(firmness(sd)),
        sd=sd,
        as_of=estimate.as_of,
        efforts=len(estimate.efforts),
        figures=figures,
        engine=estimate.engine,
        logs=adjustment_words(estimate.adjustment),
    )


def adjustment_words(adjustment: float) -> str:
    """Logs: +6 % since the last test. Nothing below half a percent."""
    moved = np.expm1(adjustment)
    if abs(moved) < WORTH_SAYING:
        return ""
    return f"Logs: {'+' if moved > 0 else '−'}{percent(abs(moved))} since the last test"
