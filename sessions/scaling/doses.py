"""The doses of a day at the chosen rungs (sections 4.3, 4.5 and 4.6): own, together, and as a coach can call them.

Work is asked with headroom h when all intensities divided by 1 − h can be held to the last round.
"""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import Ability, Ladder
from sessions.scaling.allocate import fits, least_cut
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import (
    COUPLING,
    LEAST_SHARE,
    NEAR_PRESCRIPTION,
    REST,
    ROUNDING_HEADROOM,
    ROUNDING_SLACK,
)
from sessions.scaling.demand import demand_matrix, overlap
from sessions.scaling.steps import nearest_step, step_below

FITS_SLACK = 1e-9


@dataclass(frozen=True, eq=False)
class Work:
    """What n athletes may be asked at S stations at their rungs; arrays (n, S)."""

    ladder: Ladder
    ability: Ability
    demand: Array  # (n, S, S), rows and columns of rest are 0
    rounds: int
    present: BoolArray  # not at rest
    most: Array  # dose that may be asked: the written one, less by time or a caution
    by_hand: Array  # dose set by hand, NaN where there is none

    def fraction(self, dose: Array, headroom: Array) -> Array:
        """x of a dose at 1 / (1 − headroom) of its intensity, 0 at rest."""
        asked = self.ladder.intensity(dose) / (1.0 - headroom)
        return np.where(self.present, np.maximum(asked - self.ability.free, 0.0) * self.ability.per, 0.0)


@dataclass(frozen=True, eq=False)
class Doses:
    """The doses of a day, (n, S), in the order in which they are worked out."""

    own: Array  # what this station alone allows
    together: Array  # what is left of it and of the most that may be asked, when all stations are done
    called: Array  # in numbers a coach can call


def demand_of(circuit: Circuit, ability: Ability, rung: IntArray, rounds: Array | int) -> Array:
    """G (n, S, S) at the rungs (n, S) after `rounds`, one number or (n, S); rows and columns of rest are 0."""
    present = rung != REST
    common, same = option_overlaps(circuit)
    here, there = np.maximum(rung, 0)[:, :, None], np.maximum(rung, 0)[:, None, :]
    s, j = np.ogrid[: rung.shape[1], : rung.shape[1]]
    demand = demand_matrix(
        ability.tau_s,
        ability.refill_s,
        ability.ramp_share,
        common[s, here, j, there],
        circuit.step_s,
        rounds,
        COUPLING,
        same_machine=same[s, here, j, there],
    )
    return np.where(present[:, :, None] & present[:, None, :], demand, 0.0)


def option_overlaps(circuit: Circuit) -> tuple[Array, BoolArray]:
    """Of every two options, (S, L, S, L): their common involvement, and whether they are done on one machine."""
    length = max(len(station.options) for station in circuit.stations)
    grid = [station.options + station.options[:1] * (length - len(station.options)) for station in circuit.stations]
    weights = np.array([[option.involvement for option in row] for row in grid], float)
    engines = np.array([[option.engine or "" for option in row] for row in grid])
    same = (engines[:, :, None, None] == engines) & (engines != "")
    return overlap(weights[:, :, None, None], weights), same


def doses_of(work: Work, headroom: Array, step_headroom: float = ROUNDING_HEADROOM) -> Doses:
    """The `Doses` with a `headroom` (n, 1)."""
    own = np.where(work.present, work.ladder.dose_of(work.ability.own(work.rounds, headroom)), work.ladder.dose)
    together = together_doses(work, np.minimum(own, work.most), headroom)
    return Doses(own, together, called_doses(work, together, headroom - step_headroom))


def together_doses(work: Work, alone: Array, headroom: Array) -> Array:
    """The doses (n, S) left of those `alone` when every station keeps its headroom: the smallest cut of doses."""
    pinned = ~np.isnan(work.by_hand)
    wanted = work.fraction(alone, headroom)
    at_cp = np.where(wanted > 0, work.ladder.dose_of(work.ability.free * (1.0 - headroom)), 0.0)
    # A share counts what lies above critical power, for the rest of a dose costs nothing; its weight counts the dose
    above = 1.0 - at_cp / np.where(wanted > 0, alone, 1.0)
    weight = np.where(wanted > 0, np.maximum(above, ROUNDING_SLACK) ** 2, 1.0)
    # Half of what somebody could do alone stays. The prescription's own least useful dose would be no floor to share
    # on: where somebody only just reaches it, everything else would be crushed before one calorie gives way.
    least = np.clip((LEAST_SHARE * alone - at_cp) / np.maximum(alone - at_cp, ROUNDING_SLACK), 0.0, 1.0)
    limit = np.where(work.present, 1.0, np.inf)
    if not pinned.any():
        share = least_cut(work.demand, wanted, limit, least, weight)
    else:
        share = _around_by_hand(work, wanted, limit, least, weight, headroom)
    intensity = (1.0 - headroom) * (work.ability.free + share * wanted / work.ability.per)
    left = np.where(share < 1.0, np.minimum(work.ladder.dose_of(intensity), alone), alone)
    return np.where(pinned, work.by_hand, np.where(work.present, left, 0.0))


def _around_by_hand(work: Work, wanted: Array, limit: Array, least: Array, weight: Array, headroom: Array) -> Array:
    """Shares around doses set by hand, which take their own first.

    Whoever sets a dose by hand answers for the headroom there: in its own row it takes nothing from the others, which
    keep what they would have had.
    """
    pinned = ~np.isnan(work.by_hand)
    usual = np.where(pinned, 0.0, least_cut(work.demand, wanted, limit, least, weight) * wanted)
    taken = np.einsum("nsj,nj->ns", work.demand, np.where(pinned, work.fraction(work.by_hand, headroom), 0.0))
    left = np.where(pinned, np.maximum(limit - taken, np.einsum("nsj,nj->ns", work.demand, usual)), limit - taken)
    return least_cut(work.demand, np.where(pinned, 0.0, wanted), left, least, weight)


def called_doses(work: Work, ideal: Array, headroom: Array) -> Array:
    """Doses (n, S) in numbers a coach can call, from ideal ones.

    Near the prescription it is the prescription, else the nearest step, as long as everything together still fits with
    `headroom` (n, 1); else the step below. Stations take their turn in order.
    """
    ladder, by_hand = work.ladder, ~np.isnan(work.by_hand)
    called = np.minimum(step_below(ideal, ladder.is_metres, ladder.step), np.maximum(work.most, ROUNDING_SLACK))
    called = np.where(ideal >= ladder.dose, ladder.dose, called)
    called = np.where(by_hand, work.by_hand, np.where(work.present, called, 0.0))
    for wish in (as_near_prescription(ladder, ideal), nearest_step(ideal, ladder.is_metres, ladder.step)):
        wish = np.where(work.present & ~by_hand & (wish <= work.most * (1.0 + FITS_SLACK)), wish, called)
        for s in range(called.shape[1]):
            trial = called.copy()
            trial[:, s] = np.maximum(wish[:, s], called[:, s])
            rises = trial[:, s] > called[:, s]
            if rises.any():
                rises[rises] = _fits_where_it_counts(work, trial, headroom, s, rises)
                called[rises, s] = trial[rises, s]
    return called


def as_near_prescription(ladder: Ladder, dose: Array) -> Array:
    """The prescription (n, S) where a dose is within a step or `NEAR_PRESCRIPTION` of it, else 0."""
    near = np.maximum((1.0 - NEAR_PRESCRIPTION) * ladder.dose, 0.0)
    near = np.minimum(near, ladder.dose - ladder.step)
    return np.where(dose >= near - ROUNDING_SLACK * ladder.step, ladder.dose, 0.0)


def _fits_where_it_counts(work: Work, dose: Array, headroom: Array, s: int, rows: BoolArray) -> BoolArray:
    """Whether the doses fit in every row that station s tires and nobody set by hand."""
    fraction = work.fraction(dose, headroom)[rows]
    demand = work.demand[rows]
    counts = (demand[:, :, s] > 0) & np.isnan(work.by_hand[rows])
    return fits(demand, fraction, np.where(counts, 1.0, np.inf))
