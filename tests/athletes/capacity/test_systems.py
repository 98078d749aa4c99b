import numpy as np
import pytest

from athletes.capacity import systems


def proper(order, n, seed=3):
    """Positive definite matrices (order, order, n)."""
    roots = np.random.default_rng(seed).normal(size=(n, order, order))
    return np.moveaxis(roots @ np.swapaxes(roots, 1, 2) + np.eye(order), 0, -1)


@pytest.mark.parametrize("order", [1, 3, 12])
@pytest.mark.parametrize("n", [0, 1, 700])
def test_solutions_solve(order, n):
    matrix, right = proper(order, n), np.random.default_rng(4).normal(size=(order, n))
    solution, is_proper = systems.solve(matrix, right)
    np.testing.assert_allclose(np.einsum("abn,bn->an", matrix, solution), right, atol=1e-9)
    assert is_proper.all()


@pytest.mark.parametrize("order", [1, 3, 12])
@pytest.mark.parametrize("n", [0, 1, 700])
def test_inverses_invert(order, n):
    matrix = proper(order, n)
    product = np.einsum("abn,bcn->acn", systems.invert(matrix), matrix)
    np.testing.assert_allclose(product, np.broadcast_to(np.eye(order)[..., None], product.shape), atol=1e-9)


def test_a_matrix_that_is_not_positive_definite_is_told():
    matrix = np.stack([np.eye(2), np.diag([1.0, -1.0]), np.array([[1.0, 2.0], [2.0, 1.0]])], -1)
    np.testing.assert_array_equal(systems.solve(matrix, np.ones((2, 3)))[1], [True, False, False])


def test_blocks_cover_every_system_once():
    covered = np.concatenate([np.arange(1000)[block] for block in systems.blocks(12, 1000)])
    np.testing.assert_array_equal(covered, np.arange(1000))
