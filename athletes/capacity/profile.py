"""The drag that suits an athlete: advice, never a rule.

Common practice: an engine (much critical power, little above it) does better with less drag and a higher stroke rate, a
powerful or heavy athlete with more drag and fewer strokes. No published formula was found, so the shape is ours: the
drag of the middle, times what W'/CP, Pmax/CP and body mass are against the gym's own median, each to a small exponent.
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array
from athletes.capacity.drag import LOG_DRAG_PER_LEVER, MIDDLE_LEVER
from athletes.capacity.people import REFERENCE_MASS_KG
from athletes.capacity.priors import ENGINE_CENTRE

# Drag factor for someone in the middle. Rowing clubs ask adults for 115 to 140; a machine in use reads 130 at lever 6
# to 6.5 in the air of a room at sea level. Ski ergometers read lower at the same lever (both common practice).
MIDDLE_DRAG = {"row": 130.0, "ski": 100.0}

# Exponents (common practice): an athlete one SD of `priors` towards power in both ratios gets about one lever more;
# clubs' tables go from 120 for light women to 132 for heavy men.
WORK_EXPONENT = 0.10  # of W'/CP
PEAK_EXPONENT = 0.10  # of Pmax/CP
MASS_EXPONENT = 0.20

# Levers 4 to 8 serve most, 7 to 9 the powerful (common practice): advice stays between 4 and 9 of a typical machine.
ADVISED_LEVERS = (4.0, 9.0)
FEWEST_ATHLETES = 10  # with fewer, the median is the published centre (ours)


def traits(mean: ArrayLike, body_mass_kg: ArrayLike) -> Array:
    """Logs (n, 3) of W'/CP [s], Pmax/CP and body mass [kg] from estimates (n, 3) of (log CP, log W', log k).

    Pmax = CP + W'/k (Morton 1996). NaN where a body mass is not known; ValueError where it is not above zero.
    """
    mean, body_mass_kg = np.asarray(mean, float), np.asarray(body_mass_kg, float)
    if (body_mass_kg <= 0).any():
        raise ValueError("Body mass is in kilograms and above zero, or left out.")
    work = mean[..., 1] - mean[..., 0]
    return np.stack(np.broadcast_arrays(work, np.log1p(np.exp(work - mean[..., 2])), np.log(body_mass_kg)), -1)


def gym_median(mean: ArrayLike, body_mass_kg: ArrayLike, engine: str = "row") -> Array:
    """Median `traits` (3,) of a gym's n athletes on an engine; the published centre with fewer than `FEWEST_ATHLETES`.

    `mean` (n, 3) and `body_mass_kg` (n,) as in `traits`; give those who have own efforts on the engine.
    """
    published = traits(np.log(ENGINE_CENTRE[_with_lever(engine)]), REFERENCE_MASS_KG[""])
    own = traits(mean, body_mass_kg)
    known = [column[~np.isnan(column)] for column in own.T]
    columns = zip(known, published, strict=True)
    return np.array([np.median(column) if len(column) >= FEWEST_ATHLETES else centre for column, centre in columns])


def log_drag_offset(mean: ArrayLike, body_mass_kg: ArrayLike, median: Array) -> Array:
    """Log of an athlete's drag over that of the middle, (n,), bounded: above 0 for the powerful.

    Below 0 an engine: less drag, more strokes a minute. An unknown body mass counts as the median's.
    """
    away = np.nan_to_num(traits(mean, body_mass_kg) - median)
    low, high = ((lever - MIDDLE_LEVER) * LOG_DRAG_PER_LEVER for lever in ADVISED_LEVERS)
    offset: Array = np.clip(away @ np.array([WORK_EXPONENT, PEAK_EXPONENT, MASS_EXPONENT]), low, high)
    return offset


def target_drag(mean: ArrayLike, body_mass_kg: ArrayLike, median: Array, engine: str = "row") -> Array:
    """Drag factors (n,) to aim for, from estimates (n, 3) on the engine, body mass (n,) [kg] or NaN, and `gym_median`.

    Between the drags of levers 4 and 9 of a typical machine. ValueError for an engine whose fan has no lever.
    """
    return MIDDLE_DRAG[_with_lever(engine)] * np.exp(log_drag_offset(mean, body_mass_kg, median))


def _with_lever(engine: str) -> str:
    if engine not in MIDDLE_DRAG:
        raise ValueError(f"No lever to set on {engine!r}: use one of {', '.join(MIDDLE_DRAG)}.")
    return engine
