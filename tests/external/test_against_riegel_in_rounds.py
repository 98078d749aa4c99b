"""A piece for time against running performances: Riegel, P. S. (1981), Athletic records and human endurance, American
Scientist 69:285–290: T₂ = T₁·(D₂/D₁)^1.06, between 3.5 minutes and nearly four hours. Rounds of one distance without
rest are that distance many times over.
"""

import numpy as np
import pytest

from sessions.scaling.pieces import WAY_S
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import circuit, engine_option, room

EXPONENT = 1.06
SPEEDS = {"slow": 3.2, "middling": 3.9, "fast": 4.7}  # critical speed, m/s


@pytest.mark.parametrize("rounds", [2, 3, 4])
@pytest.mark.parametrize("speed", SPEEDS.values(), ids=SPEEDS)
def test_rounds_of_1200_m_grow_as_running_performances_do(rounds, speed):
    def seconds(times: int) -> float:
        plan = circuit(engine_option("run", 1200.0, setup=0.0), rotations=times, format="for_time", limit_s=7200.0)
        found = scale(plan, room(plan, engines={"run": (speed, 170.0, 28.0)}), "test")
        return float(found.expected[0, 0]) - times * WAY_S

    # Of a curve with a critical speed and of a power law: within 5 % of each other from 4 to 25 minutes
    assert np.log(seconds(rounds) / seconds(1)) == pytest.approx(EXPONENT * np.log(rounds), abs=0.05)
