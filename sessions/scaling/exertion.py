"""What a rating of perceived exertion says: how much of the capacity a session used, and how sure that is.

The reading of RPE as repetitions in reserve: 10 is nothing left, each point below about one repetition in ten (Zourdos
et al. 2016, J Strength Cond Res 30:267–275, from memory). Using it for a whole session, and for engines, is a working
model: the hardest station is what is rated.
"""

from dataclasses import dataclass

import numpy as np

RPE_BOUNDS = (0.0, 10.0)  # CR-10
SHARE_PER_POINT = 0.10  # of the capacity (reading above; working model)
LEAST_RPE = 3.0  # from here down a rating only says "so little at most" (ours)

# SD of the share read from one rating, of capacity, at nothing left. Testa, Noakes & Desgorces 2012, J Strength Cond
# Res 26:2990–2996: standard error 0.13 to 0.14 of the relative volume. It holds the habit of a person and of a day.
SHARE_SD = 0.13
# It grows by so much of itself for each point below 10. Hackett et al. 2017, J Strength Cond Res 31:2162–2168: errors
# of about 1 repetition with up to 5 in reserve, of more than 2 with 7 to 10.
SHARE_SD_GROWTH = 0.10

DRAWS = 64  # of capacities, and as many mirrored ones
SEED = 1  # of the draws: the same log always says the same


@dataclass(frozen=True, eq=False)
class Hardest:
    """What is expected of the hardest station of each session: the greatest load g, (n, 1), or parts of it.

    `load` and `variance` of g; `earlier` and `others`, the root mean squares of what earlier sets of the station
    itself and of other stations make of it. By station, (n, S): `slope` −E[∂g/∂δ], δ the log of that capacity, and
    `part`, the probability that it is the hardest.
    """

    load: np.ndarray
    variance: np.ndarray
    earlier: np.ndarray
    others: np.ndarray
    slope: np.ndarray
    part: np.ndarray


def share_used(rpe):
    """Share of the capacity that a completed session used, up to 1; `rpe` any shape, NaN passes.

    ValueError for a rating outside CR-10.
    """
    rpe = np.asarray(rpe, float)
    low, high = RPE_BOUNDS
    if ((rpe < low) | (rpe > high)).any():
        raise ValueError(f"RPE runs from {low:g} to {high:g}: correct the log.")
    return 1.0 - SHARE_PER_POINT * (high - np.maximum(rpe, LEAST_RPE))


def share_sd(share):
    """SD with which a share used, 0 to 1 or a little above, is read from a rating; any shape.

    It is meant for the share expected, not for the one read: a weight that follows the rating's own chance errors
    would make the mean of many ratings wrong.
    """
    points = np.maximum(1.0 - np.asarray(share, float), 0.0) / SHARE_PER_POINT
    return SHARE_SD * (1.0 + SHARE_SD_GROWTH * points)


def hardest(work, demand):
    """The `Hardest` of sessions done as in `Work`, with `demand` (n, S, S), over draws of the capacities."""
    draws = np.random.default_rng(SEED).standard_normal((DRAWS, demand.shape[-1]))
    draws = np.concatenate([draws, -draws]) / np.sqrt((draws**2).mean(0))
    cost = work.cost * np.exp(-draws[:, None] * work.sd)  # (draws, n, S)
    fraction = np.maximum(cost - work.free, 0.0)
    loads = (demand @ fraction[..., None])[..., 0]
    which = loads.argmax(-1)
    row, greatest = demand[np.arange(len(demand)), which], loads.max(-1)
    is_it = np.arange(loads.shape[-1]) == which[..., None]
    own = (row * fraction * is_it).sum(-1)
    single = ((1.0 + work.ramp_share) * fraction * is_it).sum(-1)
    return Hardest(
        load=greatest.mean(0)[:, None],
        variance=greatest.var(0)[:, None],
        earlier=_root_mean_square(np.maximum(own - single, 0.0)),
        others=_root_mean_square(greatest - own),
        slope=(row * cost * (fraction > 0)).mean(0),
        part=is_it.mean(0),
    )


def _root_mean_square(drawn):
    return np.sqrt((drawn**2).mean(0))[:, None]
