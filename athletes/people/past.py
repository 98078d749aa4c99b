"""What was known of an athlete on an earlier day: estimates made again from what had been done by then, never kept."""

from datetime import date

from athletes.capacity.constants import ENGINES
from athletes.estimates.library import gym_library, learnt
from athletes.estimates.write import estimated, observed
from athletes.models import Athlete
from athletes.people.curves import Curve


def curves_on(athlete: Athlete, day: date) -> dict[str, Curve]:
    """The curves as of `day`, by engine, of those that had an own effort by then. At most five queries.

    Made by the same method as estimates are kept, from the efforts that stand today and were done up to `day`; sex,
    body mass and the first guess are those of today. What logs have added to or taken off the doses since a test is no
    part of them: it may be how somebody rates. The curves carry no efforts.
    """
    [seen] = observed([athlete.pk], day)
    tested = [engine for engine in ENGINES if any(o.effort_id is not None for o in seen.get(engine, ()))]
    if not tested:
        return {}
    taught = learnt()
    found = estimated([athlete], [seen], day, taught, gym_library(taught))
    curves = {engine: found.curve(engine) for engine in tested}
    return {engine: Curve(engine, mean[0], covariance[0], []) for engine, (mean, covariance) in curves.items()}
