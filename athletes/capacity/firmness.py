"""How sure a predicted target is, in one word."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from athletes.capacity.constants import FAIR_SD, FIRM_SD


def firmness(sd_log: ArrayLike) -> NDArray[np.str_]:
    """One of "firm", "fair" and "rough" for the SD of the log of a predicted target; a string array of its shape.

    What is not known (NaN) is rough.
    """
    sd_log = np.asarray(sd_log, float)
    return np.select([sd_log <= FIRM_SD, sd_log <= FAIR_SD], ["firm", "fair"], "rough")
