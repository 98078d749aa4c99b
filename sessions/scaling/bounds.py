"""What set each dose."""

import numpy as np

from sessions.scaling.allocate import NOT_STOPPED
from sessions.scaling.targets import Bound


def bounds_of(plan):
    """What took most off each dose of a `Plan`, (S, n), and the other station where it was one, else −1."""
    asking, dose, alone = plan.asking, plan.dose, plan.alone_dose
    bound = np.where(plan.time_bound, _code(Bound.TIME), _code(Bound.OWN))
    shared = (dose < alone) & (alone - dose >= asking.most_steps - alone)
    bound = np.where(shared, _code(Bound.OTHER_STATION), bound)
    if asking.most is not asking.wanted:
        limited = np.where(asking.exposed, _code(Bound.EXPOSURE), _code(Bound.SAFETY))
        bound = np.where(dose >= asking.most_steps, limited, bound)
    bound = np.where(dose >= asking.wanted_steps, _code(Bound.PRESCRIPTION), bound)
    bound = np.where(plan.chosen.present, bound, _code(Bound.REST))
    if asking.pinned is not None:
        bound[asking.pinned] = Bound.PINNED
    return bound, _gives_way_to(plan, bound == Bound.OTHER_STATION)


def _gives_way_to(plan, here):
    """The row that stopped each station that is `here`; where that is its own, whichever other one tires it most."""
    by = np.where(here, plan.stopped_by, _code(NOT_STOPPED))
    s, athletes = np.divmod(np.flatnonzero((by == np.arange(len(by))[:, None]).ravel()), by.shape[1])
    tiring = plan.demand[s, :, athletes] * plan.fraction[:, athletes].T
    tiring[np.arange(len(s)), s] = 0.0
    by[s, athletes] = tiring.argmax(1)
    return by


def _code(number):
    """A small whole number: large arrays of them are quick to choose between."""
    return np.int16(number)
