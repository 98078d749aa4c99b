"""Doses for a given choice of rungs: by time, by own capacity, shared between stations, in whole numbers."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.ability import Ability, Belief, belief_of, cautious
from sessions.scaling.constants import REPETITIONS_TAU_S, ROUNDING_SLACK
from sessions.scaling.demand import demand_matrix, recovery_share
from sessions.scaling.engine import dose_at_power, fast_tau, hold_power_gradient, power_for_dose
from sessions.scaling.ladder import Chosen, choose
from sessions.scaling.pins import share_around
from sessions.scaling.repetitions import time_limit


@dataclass(frozen=True, eq=False)
class Plan:
    """Doses of n athletes at S stations for the chosen rungs, (n, S), before anyone is moved down a ladder."""

    chosen: Chosen
    belief: Belief
    pinned: np.ndarray  # where rung and dose are set by hand
    recovery: np.ndarray  # mean power between an engine's sets, as a share of its CP
    ability: Ability  # the cautious one, on which the doses rest
    demand: np.ndarray  # (n, S, S), for that ability
    wanted_dose: np.ndarray  # prescription times the intent of the day
    asked_dose: np.ndarray  # as much of it as may be asked of this athlete
    exposed: np.ndarray  # it is `Room.most_dose` that limits what is asked
    own_cap_dose: np.ndarray  # what time and own capacity alone would allow, in whole steps
    alone_dose: np.ndarray  # the same, but no more than asked
    dose: np.ndarray  # what is left after sharing, in whole steps; where pinned, the dose set by hand
    left: np.ndarray  # of the capacity in each row, for what is not set by hand
    time_bound: np.ndarray  # time allows less than own capacity
    share: np.ndarray  # of the capped dose that sharing leaves, 0 to 1
    stopped_by: np.ndarray  # the row that stopped a station's share, −1 where none
    fraction: np.ndarray  # x after sharing, before rounding


def plan(circuit, ladder, room, rung, intent, quantile):
    """The `Plan` for rungs (n, S)."""
    chosen = choose(ladder, rung)
    belief = belief_of(room, chosen, rung)
    wanted_dose = np.where(chosen.present, chosen.dose * min(intent, 1.0), 0.0)
    pinned = room.pinned
    shared_dose = wanted_dose * room.at_rung(room.share, rung, 1.0)
    most_dose = room.at_rung(room.most_dose, rung, np.inf)
    asked_dose = np.minimum(shared_dose, most_dose)
    planned_dose = asked_dose if room.pinned_dose is None else np.where(pinned, room.pinned_dose, asked_dose)
    recovery = recovery_share(_busy(chosen, planned_dose), chosen.window_s, circuit.rotation_s)
    ability = cautious(belief, target_gradient(circuit, chosen, belief, recovery, circuit.headroom), quantile)
    demand = demand_of(circuit, chosen, ability, recovery)
    return Plan(
        chosen=chosen,
        belief=belief,
        pinned=pinned,
        recovery=recovery,
        ability=ability,
        demand=demand,
        wanted_dose=wanted_dose,
        asked_dose=asked_dose,
        exposed=most_dose < shared_dose,
        **_doses(chosen, pinned, ability, demand, asked_dose, planned_dose, 1.0 - circuit.headroom),
    )


def _doses(chosen, pinned, ability, demand, asked_dose, planned_dose, limit):
    """The fields of `Plan` that say what fits: by time, by own capacity, and together; `limit` is 1 − headroom."""
    most_by_time = np.where(chosen.is_engine, np.inf, time_limit(chosen.window_s, chosen.seconds_per_unit))
    own_fraction = limit / np.where(chosen.present, np.diagonal(demand, axis1=1, axis2=2), 1.0)
    own_dose = dose_of(chosen, ability, own_fraction)
    own_cap = np.minimum(own_dose, most_by_time)
    alone = np.minimum(own_cap, asked_dose)

    fraction = fraction_of(chosen, ability, np.minimum(asked_dose, most_by_time))
    capped = np.where(chosen.present, np.minimum(fraction, own_fraction), 0.0)
    by_hand = np.where(pinned, fraction_of(chosen, ability, planned_dose), 0.0)
    share, stopped_by, left = share_around(demand, capped, by_hand, pinned, limit)
    # Up to the critical power a dose costs nothing, so sharing never takes that away.
    shared = np.where(capped > 0, dose_of(chosen, ability, share * capped), np.inf)
    return {
        "own_cap_dose": whole_steps(own_cap, chosen),
        "alone_dose": whole_steps(alone, chosen),
        "dose": np.where(pinned, planned_dose, whole_steps(np.minimum(shared, alone), chosen)),
        "left": left,
        "time_bound": most_by_time < own_dose,
        "share": share,
        "stopped_by": stopped_by,
        "fraction": np.where(pinned, by_hand, share * capped),
    }


def on_the_way_back(plan, ramp):
    """Doses (n, S) after a break: the part `ramp` (n,) of each in whole steps, and one step at least."""
    part = np.maximum(whole_steps(plan.dose * ramp[:, None], plan.chosen), plan.chosen.step)
    return np.where(plan.pinned, plan.dose, np.minimum(part, plan.dose))


def target_gradient(circuit, chosen, belief, recovery, headroom):
    """Gradient (K, 3) of the log power that each engine cell can hold alone; `headroom` a scalar or (n, S)."""
    cells = belief.cells
    left = np.broadcast_to(headroom, recovery.shape)[cells]
    window_s = chosen.window_s[cells]
    return hold_power_gradient(belief.mean, window_s, circuit.rotations, circuit.rotation_s, recovery[cells], left)


def demand_of(circuit, chosen, ability, recovery):
    """Demand matrix (n, S, S) for an ability; rows and columns of stations at rest are nothing."""
    engine_tau = fast_tau(ability.critical_power, ability.w_prime, recovery)
    demand = demand_matrix(
        fast_tau_s=np.where(chosen.is_engine, engine_tau, REPETITIONS_TAU_S),
        refill_s=circuit.rotation_s - np.where(chosen.is_engine, chosen.window_s, 0.0),
        ramp_share=np.where(chosen.is_engine, ability.ramp_s / chosen.window_s, 0.0),
        overlap=chosen.overlap,
        interval_s=circuit.step_s,
        rotations=circuit.rotations,
    )
    return np.where(chosen.present[:, :, None] & chosen.present[:, None, :], demand, 0.0)


def fraction_of(chosen, ability, dose):
    """Dose as a fraction x of the capacity: (P − CP)·w / W', or n / M; 0 for a power up to CP."""
    power = power_of(chosen, dose)
    above = np.maximum(power - ability.critical_power, 0.0) * chosen.window_s / ability.w_prime
    return np.where(chosen.is_engine, above, dose / ability.most)


def dose_of(chosen, ability, fraction):
    """The dose that asks for a fraction x: the inverse of `fraction_of`, at CP or more for an engine."""
    power = ability.critical_power + fraction * ability.w_prime / chosen.window_s
    engine_dose = dose_at_power(
        power, chosen.window_s, chosen.is_kcal, chosen.is_run, chosen.kcal_base, chosen.kcal_slope
    )
    return np.where(chosen.is_engine, engine_dose, fraction * ability.most)


def power_of(chosen, dose):
    """Even power (running: speed) that does a dose exactly within the window; meaningless for movements."""
    return power_for_dose(dose, chosen.window_s, chosen.is_kcal, chosen.is_run, chosen.kcal_base, chosen.kcal_slope)


def whole_steps(dose, chosen):
    """A dose rounded down to whole calories, repetitions or seconds, metres to 5 m; 0 at rest."""
    return np.where(chosen.present, np.floor(dose / chosen.step + ROUNDING_SLACK) * chosen.step, 0.0)


def _busy(chosen, asked_dose):
    """Seconds worked at each station: an engine fills its window, a movement takes the dose asked; (n, S)."""
    worked = np.minimum(asked_dose * chosen.seconds_per_unit, chosen.window_s)
    return np.where(chosen.present, np.where(chosen.is_engine, chosen.window_s, worked), 0.0)
