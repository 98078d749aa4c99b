"""What is predicted for the last round of the doses that were set."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.ability import log_sd
from sessions.scaling.plan import demand_of, fraction_of, power_of, target_gradient

LEAST_MARGIN = 1e-6  # of the capacity: what is left counts as nothing below it
LEAST_POWER = 1e-6  # keeps the logarithm of a power or dose of zero finite
LEAST_SD = 1e-9


@dataclass(frozen=True, eq=False)
class Outlook:
    """`headroom` and `probability` (n, S), and `demand` (n, S, S), at the most probable ability."""

    headroom: np.ndarray
    probability: np.ndarray
    demand: np.ndarray


def outlook(circuit, final, ability):
    """The `Outlook` of a `Plan` at an `Ability`."""
    chosen = final.chosen
    demand = demand_of(circuit, chosen, ability, final.recovery)
    parts = demand * fraction_of(chosen, ability, final.dose)[:, None, :]
    own_demand = np.diagonal(demand, axis1=1, axis2=2)
    own_load = np.diagonal(parts, axis1=1, axis2=2)
    load = parts.sum(-1)
    margin = np.maximum(1.0 - (load - own_load), LEAST_MARGIN)
    gradient = target_gradient(circuit, chosen, final.belief, final.recovery, 1.0 - margin)
    sd = np.maximum(log_sd(final.belief, gradient), LEAST_SD)
    spare = _log_spare(chosen, ability, final.dose, margin / np.where(chosen.present, own_demand, 1.0))
    return Outlook(
        headroom=1.0 - load,
        probability=np.where(chosen.present, normal_cdf(spare / sd), 1.0),
        demand=demand,
    )


def _log_spare(chosen, ability, dose, most_fraction):
    """Log of what could just be held in the last round over what is asked, power or repetitions; (n, S)."""
    power = ability.critical_power + most_fraction * ability.w_prime / chosen.window_s
    can = np.where(chosen.is_engine, power, most_fraction * ability.most)
    asked = np.where(chosen.is_engine, power_of(chosen, dose), dose)
    return np.log(np.maximum(can, LEAST_POWER) / np.maximum(asked, LEAST_POWER))


def normal_cdf(z):
    """Standard normal distribution function, within 1.5e-7: Abramowitz & Stegun, formula 7.1.26 for erf."""
    x = np.abs(z) / np.sqrt(2.0)
    t = 1.0 / (1.0 + 0.3275911 * x)
    series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    tail = 0.5 * series * np.exp(-(x**2))
    return np.where(np.asarray(z) < 0, tail, 1.0 - tail)
