"""Sharing around doses that are set by hand."""

import numpy as np

from sessions.scaling.allocate import fill, load_of


def share_around(demand, capped, by_hand, pinned, limit):
    """Shares, the rows that stopped them, and what is left for sharing in each row, all (S, n).

    `demand` (S, S, n); `capped` (S, n) are the fractions of the capacity that the method would share, `by_hand` those
    set by hand where `pinned`, None for nowhere; `limit` (S, n). What is set by hand takes its own first, at every
    station, whatever that leaves. Only in its own row it takes nothing from the others: whoever sets a dose by hand
    answers for the headroom there, so the others keep what they would have had.
    """
    if pinned is None:
        return *fill(demand, capped, limit), limit
    left = limit - load_of(demand, by_hand)
    others = np.where(pinned, 0.0, capped)
    usual = load_of(demand, others * fill(demand, capped, limit)[0])
    left = np.where(pinned, np.maximum(left, usual), left)
    return *fill(demand, others, left), left
