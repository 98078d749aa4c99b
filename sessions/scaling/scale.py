"""From a circuit and a room to targets: the one call of the scaling method."""

from dataclasses import replace

import numpy as np

from athletes.capacity.constants import TARGET_QUANTILE
from sessions.scaling.ability import expected, log_sd
from sessions.scaling.ladder import ladder_of
from sessions.scaling.outlook import outlook
from sessions.scaling.plan import fraction_of, on_the_way_back, plan, power_of, target_gradient, whole_steps
from sessions.scaling.repetitions import done_by
from sessions.scaling.swap import next_allowed, stations_to_leave
from sessions.scaling.targets import Bound, Swap, Targets

LOAD_SLACK = 1e-5  # above the limit: what `ROUNDING_SLACK` can let through


def scale(circuit, room, intent=1.0, quantile=TARGET_QUANTILE):
    """Targets of every athlete in a `Room` for a `Circuit`.

    `intent` > 0 is the factor of the day on the prescription; above 1 it changes nothing, for no target exceeds the
    prescription. `quantile`, between 0 and 1, is the probability that an athlete can do less than the capacity a target
    is set for. ValueError, with a plain sentence, for a circuit or room that cannot be scaled.
    """
    circuit.validate()
    room.validate(circuit)
    if not intent > 0:
        raise ValueError("The intent of the day must be above zero.")
    if not 0.0 < quantile < 1.0:
        raise ValueError("The quantile must lie between 0 and 1.")
    ladder = ladder_of(circuit)
    rung = _settle(circuit, ladder, room, intent, quantile)
    final = plan(circuit, ladder, room, rung, intent, quantile)
    _refuse_impossible(final)
    return _targets(circuit, room, rung, final)


def _settle(circuit, ladder, room, intent, quantile):
    """The rungs (n, S) at which every athlete has a useful dose or rests."""
    allowed = room.allowed & ladder.exists
    rung = next_allowed(np.zeros(allowed.shape[:2], int), allowed)
    if room.pinned_rung is not None:
        rung = np.where(room.pinned, room.pinned_rung, rung)
    rows = np.arange(len(rung))
    while rows.size:
        draft = plan(circuit, ladder, room.take(rows), rung[rows], intent, quantile)
        leave = stations_to_leave(draft)
        rung[rows] = np.where(leave, next_allowed(rung[rows] + 1, allowed[rows]), rung[rows])
        rows = rows[leave.any(-1)]
    return rung


def _refuse_impossible(final):
    """Raise ArithmeticError rather than hand on a dose that breaks the method's own limits: a defect, not an input.

    Doses set by hand may break them; the others must fit into what those leave.
    """
    fraction = np.where(final.pinned, 0.0, fraction_of(final.chosen, final.ability, final.dose))
    load = (final.demand @ fraction[..., None])[..., 0]
    held = load <= np.maximum(final.left, 0.0) + LOAD_SLACK
    sound = np.isfinite(final.dose) & (final.dose >= 0.0)
    sound &= final.pinned | (final.dose <= final.wanted_dose + LOAD_SLACK)
    if not (sound & (held | (final.dose == 0.0))).all():
        raise ArithmeticError("The scaling method produced a dose outside its own limits.")


def _targets(circuit, room, rung, final):
    """The `Targets` of a final `Plan`."""
    chosen = final.chosen
    bound, bound_by = _bounds(final)
    if room.ramp is not None:
        dose = on_the_way_back(final, room.ramp)
        bound, bound_by = np.where(dose < final.dose, [[[Bound.RETURN]], [[-1]]], [bound, bound_by])
        final = replace(final, dose=dose)
    prediction = outlook(circuit, final, expected(final.belief))
    gradient = target_gradient(circuit, chosen, final.belief, final.recovery, circuit.headroom)
    finish = done_by(chosen.setup_s, final.dose, chosen.seconds_per_unit)
    finish = np.where(chosen.is_engine, chosen.setup_s + chosen.window_s, finish)
    return Targets(
        rung=rung,
        dose=final.dose,
        wanted_dose=final.wanted_dose,
        own_cap_dose=final.own_cap_dose,
        share=final.share,
        hold=np.where(chosen.is_engine, power_of(chosen, final.dose), np.nan),
        done_by_s=np.where(chosen.present, finish, 0.0),
        headroom=prediction.headroom,
        probability=prediction.probability,
        sd_log=log_sd(final.belief, gradient),
        bound=bound,
        bound_by=bound_by,
        swap=_swaps(rung, room),
        demand=prediction.demand,
    )


def _bounds(final):
    """What took most off each dose, (n, S), and the other station where it was one."""
    chosen = final.chosen
    wanted, asked = whole_steps(final.wanted_dose, chosen), whole_steps(final.asked_dose, chosen)
    shared = (final.dose < final.alone_dose) & (final.alone_dose - final.dose >= asked - final.alone_dose)
    asked_by = np.where(final.exposed, Bound.EXPOSURE, Bound.SAFETY)
    bound = np.select(
        [final.pinned, ~chosen.present, final.dose >= wanted, final.dose >= asked, shared, final.time_bound],
        [Bound.PINNED, Bound.REST, Bound.PRESCRIPTION, asked_by, Bound.OTHER_STATION, Bound.TIME],
        Bound.OWN,
    )
    # A station stopped by its own row gives way to whichever other station tires it most.
    own_row = final.stopped_by == np.arange(bound.shape[1])
    others = final.demand * final.fraction[:, None, :] * ~np.eye(bound.shape[1], dtype=bool)
    by = np.where(own_row, others.argmax(-1), final.stopped_by)
    return bound, np.where(bound == Bound.OTHER_STATION, by, -1)


def _swaps(rung, room):
    """Why each athlete left the prescription, (n, S)."""
    reason = np.where(room.allowed[:, :, 0], Swap.TOO_LITTLE, Swap.FORBIDDEN)
    return np.where(room.pinned | (rung == 0), Swap.NONE, reason)
