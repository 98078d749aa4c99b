"""Sharing around doses that are set by hand."""

import numpy as np

from sessions.scaling.allocate import progressive_filling


def share_around(demand, capped, by_hand, pinned, limit):
    """Shares, the rows that stopped them, and what is left for sharing in each row, all (n, S).

    `capped` (n, S) are the fractions of the capacity that the method would share, `by_hand` those set by hand where
    `pinned`; `limit` a scalar. What is set by hand takes its own first, at every station, whatever that leaves. Only
    in its own row it takes nothing from the others: whoever sets a dose by hand answers for the headroom there, so the
    others keep what they would have had.
    """
    if not pinned.any():
        return *progressive_filling(demand, capped, limit), np.full(capped.shape, limit)
    left = limit - _load(demand, by_hand)
    others = np.where(pinned, 0.0, capped)
    usual = _load(demand, others * progressive_filling(demand, capped, limit)[0])
    left = np.where(pinned, np.maximum(left, usual), left)
    return *progressive_filling(demand, others, left), left


def _load(demand, fraction):
    return (demand @ fraction[..., None])[..., 0]
