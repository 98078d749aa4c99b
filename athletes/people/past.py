"""What was known of an athlete on an earlier day: estimates made again from what had been done by then, never kept."""

from datetime import date

from athletes.capacity.constants import ENGINES, POWER_TRIAL_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.estimates.observations import as_arrays, logged_observations, observations
from athletes.estimates.people import engine_centre, sex_and_mass
from athletes.models import Athlete
from athletes.people.curves import Curve


def curves_on(athlete: Athlete, day: date) -> dict[str, Curve]:
    """The curves as of `day`, by engine, of those that had an own effort by then. At most four queries.

    Made by the same method as estimates are kept, from the efforts that stand today and were done up to `day`; sex,
    body mass and the first guess are those of today. The curves carry no efforts.
    """
    own = list(observations([athlete.pk], day))
    tested = {o.engine for o in own if o.engine}
    if not tested:
        return {}
    seen = [*own, *logged_observations([athlete.pk], day)]
    lists = {engine: [[o for o in seen if o.engine == engine]] for engine in ENGINES}
    efforts = {engine: Efforts(*as_arrays(own, day, POWER_TRIAL_SD)) for engine, own in lists.items()}
    means, covariances = estimate_engines(efforts, *sex_and_mass([athlete]), engine_centre())
    return {e: Curve(e, means[e][0], covariances[e][0], []) for e in ENGINES if e in tested}
