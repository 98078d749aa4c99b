"""Fair sharing: when stations tire each other, all give way together (max–min fairness by progressive filling)."""

import numpy as np

SAME = 1e-12  # two levels closer than this are one: shares lie between 0 and 1
NOT_STOPPED = -1


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
    demand, wanted, limit = (np.asarray(a, float) for a in (demand, wanted, limit))
    if not all((np.isfinite(a) & (a >= 0)).all() for a in (demand, wanted)) or np.isnan(limit).any():
        raise ValueError("Sharing needs demands and wanted fractions of zero or more, and a limit.")
    shape = np.broadcast_shapes(wanted.shape, demand.shape[:-1])
    rows = [np.broadcast_to(array, shape).reshape(-1, shape[-1]).T for array in (wanted, limit)]
    square = np.broadcast_to(demand, (*shape, shape[-1])).reshape(-1, shape[-1], shape[-1])
    share, stopped_by = fill(square.transpose(1, 2, 0), *rows)
    return share.T.reshape(shape), stopped_by.T.reshape(shape)


def fill(demand, wanted, limit):
    """`progressive_filling` with the athletes last: `demand` (S, S, n), `wanted` and `limit` (S, n), both results too.

    One round for everybody; of whom a station can rise further, the other stations fill what is left.
    """
    rises = wanted > 0
    level = _level(demand, wanted, limit)
    lowest = np.minimum(np.maximum(level.min(0), 0.0), 1.0)
    lowest[lowest >= 1.0 - SAME] = 1.0
    share = np.where(rises, lowest, 1.0)
    stopped_by = _first_tight(demand, rises, (level <= lowest + SAME) & (lowest < 1.0))
    stopped = stopped_by != NOT_STOPPED
    unfilled = np.flatnonzero((rises & ~stopped & (lowest < 1.0)).any(0))
    if unfilled.size:
        demand, wanted, limit, stopped = (
            np.take(array, unfilled, axis=-1) for array in (demand, wanted, limit, stopped)
        )
        left = limit - load_of(demand, np.where(stopped, wanted * lowest[unfilled], 0.0))
        more = fill(demand, np.where(stopped, 0.0, wanted), left)
        share[:, unfilled] = np.where(stopped, share[:, unfilled], more[0])
        stopped_by[:, unfilled] = np.where(stopped, stopped_by[:, unfilled], more[1])
    return share, stopped_by


def load_of(demand, fraction):
    """The rows of demand · fraction, athletes last: (S, S, n) and (S, n) to (S, n)."""
    return np.einsum("sjn,jn->sn", demand, fraction)


def _level(demand, wanted, limit):
    """The share at which each row reaches its limit, infinite where nothing in it rises."""
    rising = load_of(demand, wanted)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.where(rising > 0, limit / rising, np.inf)


def _first_tight(demand, rises, tight):
    """The first tight row in which each rising station appears."""
    appears = (demand > 0) & rises & tight[:, None]
    from_end = np.arange(len(demand), 0, -1, dtype=np.int16)  # small numbers are quick to compare
    furthest = (appears * from_end[:, None, None]).max(0)
    return np.where(furthest > 0, len(demand) - furthest, np.int16(NOT_STOPPED))
