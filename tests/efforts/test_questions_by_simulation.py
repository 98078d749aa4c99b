"""The question about a result, on simulated athletes with honest noise: how often it is asked for nothing, and how
often a wrong digit gets past it. `python -m tests.efforts.slips 400` does the same at length.
"""

import pytest

from tests.efforts.slips import shares, simulate

SEED, ATHLETES = 2, 120


@pytest.fixture
def found(furnished) -> dict[str, dict[str, float]]:
    return shares(simulate(ATHLETES, SEED), SEED)


def test_sound_results_are_hardly_asked_about_and_slips_nearly_always(found):
    assert found["all"]["sound"] <= 0.05
    assert found["all"]["slips"] >= 0.90
    assert max(kinds["sound"] for kinds in found.values()) <= 0.06  # 120 of each: seven
