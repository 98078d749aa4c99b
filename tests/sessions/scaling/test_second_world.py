"""What is asked of sixty athletes of another physiology can be held, is worth asking, and is what was promised."""

import numpy as np
import pytest

from tests.sessions.scaling.second_world import report, run

pytestmark = pytest.mark.xdist_group("second world")  # which takes long to live through


@pytest.fixture(scope="module")
def found():
    found = run()
    print("\n" + report(found))
    return found


@pytest.mark.parametrize(("count", "held", "asked"), [(4, 0.65, 0.73), (18, 0.75, 0.78)])
def test_a_hard_day_is_held_and_worth_it(found, count, held, asked):
    assert found[count]["held"] >= held
    assert found[count]["asked"] >= asked


@pytest.mark.parametrize("count", [4, 18])
def test_what_is_promised_is_what_happens(found, count):
    assert abs(found[count]["promised"] - found[count]["held"]) <= 0.10


@pytest.mark.parametrize("count", [4, 18])
def test_no_group_lags(found, count):
    for name, share in found[count]["groups"].items():
        assert share >= found[count]["rest"][name] - 0.12, name


def test_whole_circuits_are_held_too(found):
    assert found[4]["circuit"] >= 0.65
    assert found[18]["circuit"] >= 0.75


def test_this_world_is_no_feather_bed(found):
    a_little_more, much_more = np.mean(found[18]["more"], 0)
    assert much_more < a_little_more < found[18]["held"]
    assert much_more < 0.80
