"""The power–duration curve of one athlete on one engine, and the efforts it is read against."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.capacity.constants import ENGINES
from athletes.capacity.power_duration import log_power, log_power_sd
from athletes.efforts.read import RETEST_AFTER
from athletes.estimates.observations import Observation, observations
from athletes.models import Athlete, Effort


@dataclass(frozen=True)
class CurveEffort:
    """One effort as the curve sees it: watts (m/s in runs) over seconds. One that is not fresh counts less."""

    benchmark: str
    performed_on: date
    duration_s: float
    power: float
    fresh: bool


@dataclass(frozen=True, eq=False)
class Curve:
    """An estimate, (log CP, log W', log k) with its covariance, and the engine's efforts, newest first."""

    engine: str
    theta: np.ndarray
    covariance: np.ndarray
    efforts: list[CurveEffort]

    def at(self, duration_s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Best even power [W; in runs m/s] for durations [s], and the two ends of its 68 % range; three of (n,)."""
        middle = log_power(duration_s, self.theta)
        sd = log_power_sd(duration_s, self.theta, self.covariance)
        return np.exp(middle), np.exp(middle - sd), np.exp(middle + sd)


def curve_of(athlete: Athlete, engine: str, today: date) -> Curve | None:
    """The curve of an athlete on an engine; None where there is no estimate from efforts on it. Four queries."""
    return curves_of(athlete, today, [engine]).get(engine)


def curves_of(athlete: Athlete, today: date, engines: Sequence[str] = ENGINES) -> dict[str, Curve]:
    """The curves of those of several engines that have one. Four queries."""
    estimates = {estimate.engine: estimate for estimate in athlete.estimates.filter(engine__in=engines, movement=None)}
    ids = {pk for estimate in estimates.values() for pk in estimate.efforts}
    own = Effort.objects.filter(
        pk__in=ids, benchmark__movement__engine__in=estimates
    )  # else it rests on other machines
    facts = own.values_list("pk", "benchmark__name", "benchmark__movement__engine")
    names, tested = {pk: name for pk, name, _ in facts}, {engine for _, _, engine in facts}
    seen = [effort for effort in observations([athlete.pk], today) if effort.effort_id in names] if names else []
    return {
        engine: Curve(
            engine,
            np.array(estimates[engine].mean),
            np.array(estimates[engine].covariance),
            [_curve_effort(effort, names[effort.effort_id], today) for effort in seen if effort.engine == engine],
        )
        for engine in engines
        if engine in tested
    }


def _curve_effort(effort: Observation, name: str, today: date) -> CurveEffort:
    return CurveEffort(
        benchmark=name,
        performed_on=effort.performed_on,
        duration_s=effort.duration_s,
        power=effort.value,
        fresh=today - effort.performed_on < RETEST_AFTER,
    )
