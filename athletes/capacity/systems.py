"""Many small symmetric positive definite systems at once, without a call for each.

The systems stand on the last axis, so that every operation runs over contiguous memory: a matrix of order p for each
of n systems has shape (p, p, n). No pivots are searched for, which such matrices do not need.
"""

import numpy as np

from athletes.capacity.arrays import Array, BoolArray

CACHE_FLOATS = 100_000  # of one array, 800 kB: more outgrows a processor's cache, fewer pay for calls (measured)


def blocks(order: int, n: int) -> list[slice]:
    """Slices that cut n systems of an order p into parts whose matrices fit the cache."""
    size = max(1, CACHE_FLOATS // max(1, order * order))
    return [slice(start, min(start + size, n)) for start in range(0, n, size)]


def solve(matrix: Array, right: Array) -> tuple[Array, BoolArray]:
    """x (p, n) with `matrix` (p, p, n) · x = `right` (p, n), from L·D·Lᵀ.

    Returns x, and (n,) whether the matrix is positive definite as it should be; x is of no use where it is not.
    Below its diagonal `work` holds L·D, on it D, and in its last row what has become of the right side.
    """
    order = len(matrix)
    work = np.concatenate([matrix, right[None]])
    pivots, solution = np.einsum("kkn->kn", work[:order]), np.empty(right.shape)
    for k in range(order):
        work[k:, k] -= np.einsum("ajn,jn->an", work[k:, :k], work[k, :k] / pivots[:k])
    for k in reversed(range(order)):
        rest = np.einsum("an,an->n", work[k + 1 : order, k], solution[k + 1 :])
        solution[k] = (work[order, k] - rest) / pivots[k]
    return solution, (pivots > 0).all(0)


def invert(matrix: Array) -> Array:
    """Inverse (p, p, n) of `matrix` (p, p, n)."""
    inverse = np.empty(matrix.shape)
    for block in blocks(len(matrix), matrix.shape[-1]):
        inverse[..., block] = _sweep(matrix[..., block])
    return inverse


def _sweep(matrix: Array) -> Array:
    """Inverse by sweeping each row and its mirrored column: Goodnight 1979, The American Statistician 33:149–158."""
    swept = np.array(matrix, float)
    for k in range(len(swept)):
        pivot, column = swept[k, k].copy(), swept[:, k].copy()
        row = column / pivot
        swept -= column[:, None] * row
        swept[k], swept[:, k] = row, row
        swept[k, k] = -1.0 / pivot
    return -swept
