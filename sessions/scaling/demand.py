"""What a circuit asks of each station: the demand matrix G (working model, linear in the doses)."""

import numpy as np

from sessions.scaling.constants import COUPLING, OTHER_WORK_SHARE, SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.fade import repeats


def demand_matrix(
    fast_tau_s,
    refill_s,
    ramp_share,
    overlap,
    interval_s,
    rotations,
    coupling=COUPLING,
    slow_share=SLOW_SHARE,
    slow_tau_s=SLOW_TAU_S,
):
    """Demand G (n, S, S) of S stations on each other, for n athletes: fatigue in the last round is G·x.

    `fast_tau_s` (n, S) [s] fast time constant of each station's fatigue; `refill_s` (n, S) [s] the time between its
    own sets in which it fades: rotation less work for an engine, the rotation for repetitions; `ramp_share` (n, S)
    k / w of an engine, 0 for repetitions; `overlap` (n, S, S) common involvement of two stations, 0 to 1;
    `interval_s` [s] from a set at one station to that at the next; `rotations` one whole number.
    Own sets:  G[s,s] = Σ fade_s(r·refill) over all rotations + ramp share.
    Others':   G[s,j] = c·overlap·Σ fade_s(lag + r·T), lag the time from j's interval to s's next one; all R earlier
    sets of j count where j comes before s in the rotation, R − 1 where after.
    """
    tau_s, refill_s, ramp_share = (_last_to_front(a) for a in (fast_tau_s, refill_s, ramp_share))
    overlap = np.moveaxis(np.asarray(overlap, float), (-2, -1), (0, 1))
    stations = len(tau_s)
    slow = slow_share * constant_sets(stations, interval_s, rotations, slow_tau_s)
    demand = np.zeros((stations, *np.broadcast_shapes(overlap.shape[1:], tau_s.shape)))
    put_sets_of_others(demand, range(stations), np.exp(-interval_s / tau_s), rotations, slow, slow_share)
    demand *= coupling * overlap
    fast, slow = (repeats(np.exp(-refill_s / constant), rotations)[0] for constant in (tau_s, slow_tau_s))
    own = (1.0 - slow_share) * fast + slow_share * slow + ramp_share
    diagonal(demand)[:] = own
    return np.moveaxis(demand, (0, 1), (-2, -1))


def put_sets_of_others(demand, stations, left, rotations, slow, slow_share=SLOW_SHARE):
    """Write Σ fade_s(lag + r·T) of every station's earlier sets into `demand` (S, S, ...), in the rows of `stations`.

    `left` (K, ...), in the order of `stations`, is what is left of a station's fast fatigue after one interval; `slow`
    (S, S) the part of the sums that fades slowly. What stands at [s, s] means nothing.
    """
    last = len(slow) - 1
    by_lag = np.empty((len(slow), *left.shape))  # of lags S − 1, …, 1, 0: as they follow each other along a row
    by_lag[last] = 1.0
    for place in reversed(range(last)):
        np.multiply(by_lag[place + 1], left, out=by_lag[place])
    fewer, full = repeats(by_lag[0] * left, rotations - 1)
    every, fewer = (1.0 - slow_share) * (fewer + full), (1.0 - slow_share) * fewer
    for k, s in enumerate(stations):
        np.multiply(by_lag[last - s :, k], every[k], out=demand[s, : s + 1])
        np.multiply(by_lag[: last - s, k], fewer[k], out=demand[s, s + 1 :])
        demand[s] += slow[s].reshape(-1, *[1] * (left.ndim - 1))


def constant_sets(stations, interval_s, rotations, tau_s):
    """Σ exp(−Δ / τ) over the earlier sets of every station at every other, or its own, (S, S), for one τ [s]."""
    here, there = np.arange(stations)[:, None], np.arange(stations)
    every, fewer = (repeats(np.exp(-stations * interval_s / tau_s), count)[0] for count in (rotations, rotations - 1))
    lag_s = (here - there) % stations * interval_s
    return np.exp(-lag_s / tau_s) * np.where(there <= here, every, fewer)


def diagonal(demand):
    """What stations ask of themselves, (S, ...), in a demand matrix (S, S, ...): the same memory."""
    return demand.reshape(len(demand) ** 2, *demand.shape[2:])[:: len(demand) + 1]


def overlap(involvement, other):
    """Common involvement of two movements, max over the patterns of a·b; both (..., 7), 0 to 1."""
    return (np.asarray(involvement, float) * np.asarray(other, float)).max(-1)


def recovery_share(busy_s, work_s, rotation_s):
    """Mean power between an engine's sets as a share of its CP.

    `busy_s` [s] all that is worked in a rotation, `work_s` [s] the engine's own part of it: 0.55·CP while other
    stations are worked at, nothing in rest. One station alone has only rest between. Everything broadcasts.
    """
    between_s = rotation_s - np.asarray(work_s, float)
    return (busy_s - work_s) * (OTHER_WORK_SHARE / np.where(between_s > 0, between_s, np.inf))


def _last_to_front(array):
    return np.moveaxis(np.asarray(array, float), -1, 0)
