"""What a circuit asks of each station: the demand matrix G (working model, linear in the doses)."""

import numpy as np

from sessions.scaling.constants import COUPLING, OTHER_WORK_SHARE, SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.fade import fade_sum


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
    `interval_s` [s] from a set at one station to that at the next.
    Own sets:  G[s,s] = Σ fade_s(r·refill) over all rotations + ramp share.
    Others':   G[s,j] = c·overlap·Σ fade_s(lag + r·T), lag the time from j's interval to s's next one; all R earlier
    sets of j count where j comes before s in the rotation, R − 1 where after.
    """
    fast_tau_s = np.asarray(fast_tau_s, float)
    stations = fast_tau_s.shape[-1]
    here, there = np.arange(stations)[:, None], np.arange(stations)[None, :]
    lag_s = (here - there) % stations * interval_s
    earlier = np.where(there < here, rotations, rotations - 1)
    period_s = stations * interval_s
    others = fade_sum(lag_s, period_s, earlier, fast_tau_s[..., :, None], slow_share, slow_tau_s)
    own = fade_sum(0.0, refill_s, rotations, fast_tau_s, slow_share, slow_tau_s) + ramp_share
    return np.where(here == there, own[..., :, None], coupling * np.asarray(overlap, float) * others)


def overlap(involvement, other):
    """Common involvement of two movements, max over the patterns of a·b; both (..., 7), 0 to 1."""
    return (np.asarray(involvement, float) * np.asarray(other, float)).max(-1)


def recovery_share(busy_s, work_s, rotation_s):
    """Mean power between an engine's sets as a share of its CP, (n, S).

    `busy_s` (n, S) [s] the seconds that each station is worked at, `work_s` (n, S) those of the engine itself:
    0.55·CP while other stations are worked at, nothing in rest. One station alone has only rest between.
    """
    others_s = busy_s.sum(-1, keepdims=True) - busy_s
    between_s = rotation_s - np.asarray(work_s, float)
    return OTHER_WORK_SHARE * others_s / np.where(between_s > 0, between_s, np.inf)
