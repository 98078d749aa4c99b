"""What a circuit asks of each station: how fatigue fades, and the demand matrix G (working model, linear in the doses).

The fatigue of one set fades with a fast and a slow share, both exponential.
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, BoolArray
from sessions.scaling.constants import COUPLING, OTHER_WORK_SHARE, SLOW_SHARE, SLOW_TAU_S


def fade(
    lag_s: ArrayLike, fast_tau_s: ArrayLike, slow_share: float = SLOW_SHARE, slow_tau_s: float = SLOW_TAU_S
) -> Array:
    """Share of a set's fatigue that is left after `lag_s` [s]: (1 − s)·exp(−Δ/τ_f) + s·exp(−Δ/τ_s).

    `fast_tau_s` [s, > 0] may be infinite, for nothing recovers. Everything broadcasts.
    """
    return fade_sum(lag_s, 0.0, 1.0, fast_tau_s, slow_share, slow_tau_s)


def fade_sum(
    first_s: ArrayLike,
    period_s: ArrayLike,
    count: ArrayLike,
    fast_tau_s: ArrayLike,
    slow_share: float = SLOW_SHARE,
    slow_tau_s: float = SLOW_TAU_S,
) -> Array:
    """Sum of `fade` over `count` sets, the latest `first_s` [s] ago and the others `period_s` [s] apart.

    In closed form; everything broadcasts.
    """
    fast = _exponential_sum(first_s, period_s, count, fast_tau_s)
    return (1.0 - slow_share) * fast + slow_share * _exponential_sum(first_s, period_s, count, slow_tau_s)


def _exponential_sum(first_s: ArrayLike, period_s: ArrayLike, count: ArrayLike, tau_s: ArrayLike) -> Array:
    """Σ exp(−(first + r·period) / τ) for r = 0 … count − 1."""
    tau_s = np.asarray(tau_s, float)
    step = np.asarray(period_s, float) / tau_s
    still = step == 0.0
    ratio = np.expm1(-np.asarray(count, float) * step) / np.where(still, 1.0, np.expm1(-step))
    return np.asarray(np.exp(-np.asarray(first_s, float) / tau_s) * np.where(still, count, ratio), float)


def demand_matrix(
    fast_tau_s: ArrayLike,
    refill_s: ArrayLike,
    ramp_share: ArrayLike,
    overlap: ArrayLike,
    interval_s: float,
    rotations: ArrayLike,
    coupling: float = COUPLING,
    slow_share: float = SLOW_SHARE,
    slow_tau_s: float = SLOW_TAU_S,
    same_machine: BoolArray | None = None,
) -> Array:
    """Demand G (n, S, S) of S stations on each other, for n athletes: fatigue in the last round is G·x.

    `fast_tau_s` (n, S) [s] fast time constant of each station's fatigue; `refill_s` (n, S) [s] the time between its
    own sets in which it fades: a round less work for an engine, a round for repetitions; `ramp_share` (n, S) k / w of
    an engine, 0 for repetitions; `overlap` (n, S, S) common involvement of two stations, 0 to 1; `interval_s` [s] from
    a set at one station to that at the next; `rotations` the rounds, one number, or (n, S): those done at each station.
    `same_machine` (n, S, S) is True where two stations use one machine and share its W' fully.
    Own sets:  G[s,s] = Σ fade_s(r·refill) over all rounds + ramp share.
    Others':   G[s,j] = c·overlap·Σ fade_s(lag + r·T), lag the time from j's interval to s's next one; all R earlier
    sets of j count where j comes before s in the round, R − 1 where after.
    """
    tau_s, refill_s, ramp_share, overlap = (np.asarray(a, float) for a in (fast_tau_s, refill_s, ramp_share, overlap))
    stations = tau_s.shape[-1]
    # One number of rounds stays one: what fades slowly is then worked out once for everybody
    rounds = np.broadcast_to(rotations, np.broadcast_shapes(np.shape(rotations), (stations,))).astype(float)
    here, there = np.arange(stations)[:, None], np.arange(stations)
    lag_s = (here - there) % stations * interval_s
    sets = rounds[..., :, None] - (there > here)
    shared = coupling * overlap if same_machine is None else np.where(same_machine, 1.0, coupling * overlap)
    demand = shared * fade_sum(lag_s, stations * interval_s, sets, tau_s[..., :, None], slow_share, slow_tau_s)
    own = fade_sum(0.0, refill_s, rounds, tau_s, slow_share, slow_tau_s) + ramp_share
    demand = np.broadcast_to(demand, (*own.shape, stations)).copy()
    demand[..., range(stations), range(stations)] = own
    return demand


def overlap(involvement: ArrayLike, other: ArrayLike) -> Array:
    """Common involvement of two movements, max over the patterns of a·b; both (..., 7), 0 to 1."""
    return np.asarray((np.asarray(involvement, float) * np.asarray(other, float)).max(-1), float)


def recovery_share(busy_s: ArrayLike, work_s: ArrayLike, rotation_s: ArrayLike) -> Array:
    """Mean power between an engine's sets as a share of its CP.

    `busy_s` [s] all that is worked in a round, `work_s` [s] the engine's own part of it: 0.55·CP while other stations
    are worked at, nothing in rest. One station alone has only rest between. Everything broadcasts.
    """
    busy_s, work_s = np.asarray(busy_s, float), np.asarray(work_s, float)
    between_s = np.asarray(rotation_s, float) - work_s
    return np.asarray((busy_s - work_s) * (OTHER_WORK_SHARE / np.where(between_s > 0, between_s, np.inf)), float)
