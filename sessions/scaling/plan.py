"""Doses for a given choice of rungs: by time, by own capacity, shared between stations, in whole numbers."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.ability import Ability, Doubt, abilities_of
from sessions.scaling.asking import Asking, asking_of
from sessions.scaling.chosen import Chosen
from sessions.scaling.demand import recovery_share
from sessions.scaling.options import whole_steps
from sessions.scaling.pins import share_around


@dataclass(frozen=True, eq=False)
class Plan:
    """Doses of n athletes at S stations for the chosen rungs, (S, n), before anyone is moved down a ladder."""

    chosen: Chosen
    asking: Asking
    expected: Ability  # the most probable
    cautious: Ability  # on which the doses rest
    doubt: Doubt
    sd_log: np.ndarray  # SD of the log of the target that own capacity allows
    demand: np.ndarray  # (S, S, n), for the cautious ability
    own_cap_dose: np.ndarray  # what time and own capacity alone would allow, in whole steps
    alone_dose: np.ndarray  # the same, but no more than may be asked
    alone: np.ndarray  # the same before rounding
    free: np.ndarray  # of it, what sharing never takes away: an engine's dose at the critical power
    shared: np.ndarray  # what sharing leaves, before rounding
    dose: np.ndarray  # what is left after sharing, in whole steps; where pinned, the dose set by hand
    time_bound: np.ndarray  # time allows less than own capacity
    share: np.ndarray  # of the capped dose that sharing leaves, 0 to 1
    stopped_by: np.ndarray  # the row that stopped a station's share, −1 where none
    left: np.ndarray  # of the capacity in each row, for what is not set by hand
    fraction: np.ndarray  # of the capacity asked for after sharing, before rounding


def plan_of(task, crowd, rung):
    """The `Plan` of a `Crowd` for rungs (S, n)."""
    chosen = Chosen(task.ladder, rung)
    asking = asking_of(crowd, chosen)
    expected, cautious, doubt, sd_log = abilities_of(task, crowd, chosen, recovery_of(task, chosen, asking))
    demand = cautious.demand(task)
    return Plan(
        chosen=chosen,
        asking=asking,
        expected=expected,
        cautious=cautious,
        doubt=doubt,
        sd_log=sd_log,
        demand=demand,
        **_doses(task, asking, cautious, demand),
    )


def recovery_of(task, chosen, asking):
    """Mean power (E, n) between the sets at every engine, as a share of CP.

    An engine fills its window with work, a movement takes what its dose takes.
    """
    movements, rows = chosen.movements, chosen.ladder.movement_rows
    worked = np.minimum(asking.planned[rows] * movements.seconds_per_unit, movements.window_s)
    busy_s = chosen.weave(chosen.engines.window_s, worked) * chosen.present
    return recovery_share(busy_s.sum(0), chosen.engines.window_s, task.rotation_s)


def own_movements(task, chosen, most):
    """Doses (M, n) that the capacity `most` (M, n) of movements would allow at these stations alone."""
    own = np.diagonal(task.movement_sets)[chosen.ladder.movement_rows]
    return most * (task.limit / own)[:, None]


def _doses(task, asking, ability, demand):
    """The fields of `Plan` that say what fits: by time, by own capacity, and together."""
    chosen, pinned, step = ability.chosen, asking.pinned, ability.chosen.asked.step
    own_power, _ = ability.effort.power(task.limit)
    own_movement, by_time = own_movements(task, chosen, ability.most), chosen.movements.most_by_time
    own_cap = chosen.weave(chosen.engines.dose_at(own_power), np.minimum(own_movement, by_time))
    alone = np.minimum(own_cap, asking.most)

    capped = ability.fraction_of(*chosen.parts(alone))
    limit = np.where(chosen.present, task.limit, np.inf)
    by_hand = None if pinned is None else np.where(pinned, ability.fraction_of(*chosen.parts(asking.planned)), 0.0)
    share, stopped_by, left = share_around(demand, capped, by_hand, pinned, limit)
    fraction = share * capped
    # Up to the critical power a dose costs nothing, so sharing never takes that away.
    shared, free = (np.minimum(ability.dose_of(part), alone) for part in (fraction, np.zeros_like(fraction)))
    own_cap_dose = whole_steps(own_cap, step)
    alone_dose = np.minimum(own_cap_dose, asking.most_steps)
    dose = np.minimum(whole_steps(shared, step), alone_dose)
    return {
        "own_cap_dose": own_cap_dose,
        "alone_dose": alone_dose,
        "alone": alone,
        "free": free,
        "shared": shared,
        "dose": dose if pinned is None else np.where(pinned, asking.planned, dose),
        "time_bound": chosen.weave(False, by_time < own_movement, bool),
        "share": share,
        "stopped_by": stopped_by,
        "left": left,
        "fraction": fraction if pinned is None else np.where(pinned, by_hand, fraction),
    }
