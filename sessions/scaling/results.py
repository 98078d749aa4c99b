"""The targets of a plan that stands."""

import numpy as np

from sessions.scaling.allocate import load_of
from sessions.scaling.bounds import bounds_of
from sessions.scaling.constants import REST
from sessions.scaling.options import whole_steps
from sessions.scaling.outlook import outlook
from sessions.scaling.repetitions import done_by
from sessions.scaling.targets import Bound, Swap

AT_REST = {
    "own_cap_dose": 0.0, "hold": np.nan, "done_by_s": 0.0, "headroom": 1.0, "probability": 1.0, "sd_log": 0.0,
    "alone": 0.0, "free": 0.0, "shared": 0.0, "whole": 0.0,
}  # fmt: skip
LOAD_SLACK = 1e-5  # above the limit: what `ROUNDING_SLACK` can let through


def results_of(task, crowd, plan):
    """The fields of `Targets` but `swap` for the `Plan` of a `Crowd`, athletes last; at rest they mean nothing."""
    chosen = plan.chosen
    dose, (bound, bound_by) = plan.dose, bounds_of(plan)
    if crowd.ramp is not None:
        dose = on_the_way_back(plan, crowd.ramp)
        lowered = dose < plan.dose
        bound, bound_by = np.where(lowered, Bound.RETURN, bound), np.where(lowered, -1, bound_by)
    power, amount = chosen.parts(dose)
    refuse_impossible(plan, dose, power, amount)
    prediction = outlook(task, plan, power, amount)
    done_by_s = done_by(chosen.movements.setup_s, amount, chosen.movements.seconds_per_unit)
    return {
        "rung": chosen.rung,
        "dose": dose,
        "wanted_dose": plan.asking.wanted,
        "own_cap_dose": plan.own_cap_dose,
        "most": plan.asking.most,
        "alone": plan.alone,
        "free": plan.free,
        "shared": plan.shared,
        "whole": plan.dose,
        "share": plan.share,
        "hold": chosen.weave(power, np.nan),
        "done_by_s": chosen.weave(task.work_window_s[chosen.ladder.engine_rows], done_by_s),
        "headroom": prediction.headroom,
        "probability": prediction.probability,
        "sd_log": plan.sd_log,
        "bound": bound,
        "bound_by": bound_by,
        "demand": prediction.demand,
    }


def on_the_way_back(plan, ramp):
    """Doses (S, n) after a break: the part `ramp` (n,) of each in whole steps, and one step at least."""
    step = plan.chosen.asked.step
    dose = np.minimum(np.maximum(whole_steps(plan.dose * ramp, step), step), plan.dose)
    return dose if plan.asking.pinned is None else np.where(plan.asking.pinned, plan.dose, dose)


def refuse_impossible(plan, dose, power, amount):
    """Raise ArithmeticError rather than hand on doses that break the method's own limits: a defect, not an input.

    Doses set by hand may break them; the others must fit into what those leave.
    """
    fraction, most = plan.cautious.fraction_of(power, amount), plan.asking.wanted + LOAD_SLACK
    if plan.asking.pinned is not None:
        fraction = np.where(plan.asking.pinned, 0.0, fraction)
        most = np.where(plan.asking.pinned, np.inf, most)
    held = load_of(plan.demand, fraction) <= np.maximum(plan.left, 0.0) + LOAD_SLACK
    if not ((dose >= 0.0) & (dose <= most) & (held | (dose == 0.0))).all():
        raise ArithmeticError("The scaling method produced a dose outside its own limits.")


def put_rest(values):
    """The fields of `Targets`, athletes last, with the figures of nothing to do written in wherever there is rest."""
    stations, athletes = np.nonzero(values["rung"] == REST)
    for name, value in AT_REST.items():
        values[name][stations, athletes] = value
    values["demand"][stations, :, athletes] = values["demand"][:, stations, athletes] = 0.0
    return values


def swaps_of(crowd, rung):
    """Why each athlete left the prescription, (S, n)."""
    reason = np.where(crowd.allowed[:, 0], Swap.TOO_LITTLE, Swap.FORBIDDEN)
    stays = rung == 0 if crowd.pinned is None else crowd.pinned | (rung == 0)
    return np.where(stays, Swap.NONE, reason)
