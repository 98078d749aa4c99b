"""Limits of the wet-bulb globe temperature. Source: position stand on exertional heat illness, American College of
Sports Medicine 2007, Med Sci Sports Exerc 39:556–572.
"""

from sessions.scaling.cautions import HEAT_LIMITS_C, HeatStep, heat_step


def test_thresholds():
    assert HEAT_LIMITS_C == (27.8, 30.0, 32.2)
    assert heat_step(23.8) is HeatStep.NONE
    assert heat_step(32.3) is HeatStep.STOP
