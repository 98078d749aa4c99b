"""What is predicted for the last round of the doses that were set."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.allocate import load_of
from sessions.scaling.demand import diagonal

LEAST_MARGIN = 1e-6  # of the capacity: what is left counts as nothing below it
LEAST_POWER = 1e-6  # keeps the logarithm of a power or dose of zero finite
LEAST_SD = 1e-9


@dataclass(frozen=True, eq=False)
class Outlook:
    """`headroom` and `probability` (S, n), and `demand` (S, S, n), at the most probable ability; at rest they mean
    nothing.
    """

    headroom: np.ndarray
    probability: np.ndarray
    demand: np.ndarray


def outlook(task, plan, power, amount):
    """The `Outlook` of powers (E, n) and amounts (M, n) at the rungs of a `Plan`."""
    ability = plan.expected
    demand = ability.demand(task)
    own_demand = diagonal(demand)
    fraction = ability.fraction_of(power, amount)
    load = load_of(demand, fraction)
    margin = np.maximum(1.0 - load + own_demand * fraction, LEAST_MARGIN)
    spare = _spare(plan, power, amount, margin, own_demand)
    return Outlook(1.0 - load, normal_cdf(spare), demand)


def normal_cdf(z):
    """Standard normal distribution function, within 1.5e-7: Abramowitz & Stegun, formula 7.1.26 for erf."""
    x = np.abs(z) / np.sqrt(2.0)
    t = 1.0 / (1.0 + 0.3275911 * x)
    series = 1.061405429 * t
    for coefficient in (-1.453152027, 1.421413741, -0.284496736, 0.254829592):
        series += coefficient
        series *= t
    return 0.5 + np.copysign(0.5 - 0.5 * series * np.exp(-x * x), z)


def _spare(plan, power, amount, margin, own_demand):
    """How many SDs (S, n) lie between what is asked and what could just be held in the last round, in logarithms."""
    chosen, expected, doubt = plan.chosen, plan.expected, plan.doubt
    can_power, share_above = expected.effort.power(margin[chosen.ladder.engine_rows])
    rows = chosen.ladder.movement_rows
    can_amount = expected.most * margin[rows] / own_demand[rows]
    spare = chosen.weave(
        np.maximum(can_power, LEAST_POWER) / np.maximum(power, LEAST_POWER),
        np.maximum(can_amount, LEAST_POWER) / np.maximum(amount, LEAST_POWER),
    )
    np.log(spare, out=spare)
    spare /= np.maximum(chosen.weave(doubt.sd(share_above), doubt.log_most_sd), LEAST_SD)
    return spare
