"""Fair sharing: when stations tire each other, all give way together (max–min fairness by progressive filling)."""

import numpy as np

SAME = 1e-12  # two levels closer than this are one: shares lie between 0 and 1


def fair_share(demand, wanted, limit):
    """Share of each station's wanted fraction that fits, (n, S), each from 0 to 1.

    `demand` (n, S, S) >= 0, `wanted` (n, S) >= 0, `limit` a scalar, (n, 1) or (n, S). All shares rise together from 0;
    when a row of demand · (share·wanted) reaches its limit, every station that appears in it stops; the rest go on.
    No share can then rise without lowering one that is no larger. A station that wants nothing has share 1; a row
    without any room (limit <= 0) leaves its stations at 0. Leading axes broadcast. ValueError for a negative,
    infinite or missing number.
    """
    return progressive_filling(demand, wanted, limit)[0]


def progressive_filling(demand, wanted, limit):
    """Shares as in `fair_share`, and for each station the row that stopped it, −1 where none did; both (n, S)."""
    wanted, limit = _checked(demand, wanted, limit)
    load = demand * wanted[..., None, :]
    free = wanted > 0
    share = np.where(free, 0.0, 1.0)
    stopped_by = np.full(wanted.shape, -1)
    for _ in range(wanted.shape[-1]):
        rising = (load * free[..., None, :]).sum(-1)
        fixed = (load * np.where(free, 0.0, share)[..., None, :]).sum(-1)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            level = np.where(rising > 0, (limit - fixed) / rising, np.inf)
        lowest = np.clip(level.min(-1, keepdims=True), 0.0, 1.0)
        lowest = np.where(lowest >= 1.0 - SAME, 1.0, lowest)
        share = np.where(free, lowest, share)
        touched = (level <= lowest + SAME)[..., :, None] & (load > 0)
        stopped = free & (touched.any(-2) | (lowest >= 1.0))
        stopped_by = np.where(stopped & (lowest < 1.0), touched.argmax(-2), stopped_by)
        free &= ~stopped
        if not free.any():
            break
    return share, stopped_by


def _checked(demand, wanted, limit):
    demand, wanted, limit = (np.asarray(a, float) for a in (demand, wanted, limit))
    if not all((np.isfinite(a) & (a >= 0)).all() for a in (demand, wanted)) or np.isnan(limit).any():
        raise ValueError("Sharing needs demands and wanted fractions of zero or more, and a limit.")
    wanted = np.broadcast_to(wanted, np.broadcast_shapes(wanted.shape, demand.shape[:-1]))
    return wanted, np.broadcast_to(limit, wanted.shape)
