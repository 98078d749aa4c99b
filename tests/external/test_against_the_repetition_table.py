"""The repetition table. Source: NSCA, Essentials of Strength Training and Conditioning, 1 to 10 repetitions."""

import numpy as np
import pytest

from athletes.capacity.strength import load_for_repetitions


def test_the_published_percentages():
    percent = load_for_repetitions(100.0, np.arange(1, 11))
    np.testing.assert_allclose(percent, [100, 95, 93, 90, 87, 85, 83, 80, 77, 75], rtol=1e-12)


@pytest.mark.parametrize("repetitions", [0, 11, 12, 2.5, np.nan])
def test_nothing_is_made_up_outside_the_table(repetitions):
    # Copies print 70 % and 73 % for 11, 67 % and 70 % for 12
    with pytest.raises(ValueError, match="table"):
        load_for_repetitions(100.0, repetitions)
