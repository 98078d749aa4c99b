"""The power–duration curve of one athlete on one engine, and the efforts it is read against."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.capacity.power_duration import log_power, log_power_sd
from athletes.models import Athlete, Effort
from athletes.selectors.efforts import RETEST_AFTER
from athletes.selectors.observations import observations


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
    """The curve of an athlete on an engine; None where there is no estimate from efforts on it. Three queries."""
    estimate = athlete.estimates.filter(engine=engine, movement=None).first()
    if estimate is None:
        return None
    own = Effort.objects.filter(pk__in=estimate.efforts, benchmark__movement__engine=engine)
    names = dict(own.values_list("pk", "benchmark__name"))
    if not names:  # it rests on other machines
        return None
    efforts = _efforts(athlete, names, today)
    return Curve(engine, np.array(estimate.mean), np.array(estimate.covariance), efforts)


def _efforts(athlete: Athlete, names: dict[int, str], today: date) -> list[CurveEffort]:
    """Those of the efforts with these names that stand."""
    seen = [effort for effort in observations([athlete.pk], today) if effort.effort_id in names]
    return [
        CurveEffort(
            benchmark=names[effort.effort_id],
            performed_on=effort.performed_on,
            duration_s=effort.duration_s,
            power=effort.value,
            fresh=today - effort.performed_on < RETEST_AFTER,
        )
        for effort in seen
    ]
