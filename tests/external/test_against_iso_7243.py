"""Wet-bulb globe temperature and its limits.

Sources: ISO 7243 (0.7·Tnw + 0.3·Tg without sun, 0.7·Tnw + 0.2·Tg + 0.1·Ta in it); thresholds of the American College
of Sports Medicine's position stand 2007, Med Sci Sports Exerc 39:556–572.
"""

import pytest

from sessions.scaling.cautions import HEAT_LIMITS_C, HeatStep, heat_step, wbgt_indoor, wbgt_outdoor


def test_indoors():
    assert wbgt_indoor(22, 28) == pytest.approx(23.80)


def test_outdoors():
    assert wbgt_outdoor(24, 40, 30) == pytest.approx(27.80)


def test_thresholds():
    assert HEAT_LIMITS_C == (27.8, 30.0, 32.2)
    assert heat_step(wbgt_indoor(22, 28)) is HeatStep.NONE
    assert heat_step(32.3) is HeatStep.STOP
