"""Running: times at other distances, and an index of performance. For efforts of about 3.5 minutes and longer."""

import numpy as np

RIEGEL_EXPONENT = 1.06
RIEGEL_RANGE_S = (210.0, 13_800.0)  # 3.5 to 230 minutes


def riegel_time(time_s, distance_m, other_distance_m, exponent=RIEGEL_EXPONENT):
    """Time [s] at another distance: T2 = T1·(D2/D1)^1.06. Riegel 1981, American Scientist 69:285–290."""
    return time_s * (np.asarray(other_distance_m, float) / distance_m) ** exponent


def oxygen_cost(speed_m_per_s):
    """Oxygen uptake [ml/kg/min] of running at a speed: −4.60 + 0.182258·v + 0.000104·v², v in m/min.

    Daniels & Gilbert 1979, Oxygen Power.
    """
    speed = 60.0 * np.asarray(speed_m_per_s, float)
    return -4.60 + 0.182258 * speed + 0.000104 * speed**2


def oxygen_fraction(time_s):
    """Share of the maximal oxygen uptake that can be kept up for a time [s]; above 1 under 11 minutes.

    0.8 + 0.1894393·exp(−0.012778·t) + 0.2989558·exp(−0.1932605·t), t in minutes. Daniels & Gilbert 1979.
    """
    minutes = np.asarray(time_s, float) / 60.0
    return 0.8 + 0.1894393 * np.exp(-0.012778 * minutes) + 0.2989558 * np.exp(-0.1932605 * minutes)


def performance_index(distance_m, time_s):
    """Oxygen cost over fraction [ml/kg/min] of a race: compares performances, is no measured oxygen uptake."""
    return oxygen_cost(np.asarray(distance_m, float) / time_s) / oxygen_fraction(time_s)
