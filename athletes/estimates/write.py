"""From efforts and logs to stored estimates. An estimate can be made again at any time from these alone."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import numpy as np
from django.db import transaction

from athletes.capacity import fitness
from athletes.capacity.adjustment import accumulate
from athletes.capacity.arrays import Array
from athletes.capacity.constants import ENGINES, METHOD_VERSION
from athletes.capacity.engines import Efforts
from athletes.capacity.estimate import Estimates, Subject, Trials, estimate
from athletes.capacity.movements import CURVE_SCALE
from athletes.capacity.observations import shared_drift_sd
from athletes.estimates.contradicted import contradicted_among
from athletes.estimates.library import GymLibrary, Learnt, gym_library, ladders, learnt
from athletes.estimates.observations import Observation, as_arrays, drift_sd, measured_in_sessions, observations
from athletes.estimates.people import facts_of
from athletes.gym.read import today
from athletes.locks import athletes_lock, give_way
from athletes.models import Athlete, Estimate, Evidence, Gym

BATCH = 1000
STEPS_REMEMBERED = timedelta(days=365)  # older steps of logs are forgotten by any account

# Observations of one athlete by what they are of: an engine, or the id of a movement.
Own = dict[str | int, list[Observation]]


def estimates_refresh(*, athletes: Iterable[int] | None = None, as_of: date | None = None) -> int:
    """Make the estimates of these athletes (or of all) anew as of a day (today); the number of athletes done.

    Of all: also the middle of the room, by which everyone's general fitness is measured; as soon as a room that nobody
    has seen yet is there as a whole, too.
    """
    as_of = as_of or today()
    ids = list(Athlete.objects.values_list("pk", flat=True)) if athletes is None else list(athletes)
    taught = learnt()
    library = gym_library(taught)
    compared, weight, tested = {}, np.zeros(0), 0
    for start in range(0, len(ids), BATCH):
        if start:
            give_way()
        found, batch, of_them = _refresh(ids[start : start + BATCH], as_of, taught, library)
        tested += of_them
        values, weight = fitness.quantities(found)
        compared.update(zip(batch, values, strict=True))
    if compared:
        _keep_fitness(compared, weight, tested, taught, library, everyone=athletes is None)
    return len(ids)


@transaction.atomic
def _refresh(
    athlete_ids: list[int], as_of: date, taught: Learnt, library: GymLibrary
) -> tuple[Estimates, list[int], int]:
    """The estimates, whose they are, and how many of them have results."""
    athletes = athletes_lock(athlete_ids)  # an effort kept meanwhile must not be forgotten
    ids = [athlete.pk for athlete in athletes]
    seen = observed(ids, as_of)
    found = estimated(athletes, seen, as_of, taught, library)
    rows = _rows(ids, seen, found, _adjustments(ids, seen, as_of), as_of, library)
    Estimate.objects.filter(athlete_id__in=ids).delete()
    Estimate.objects.bulk_create(rows, batch_size=5000)
    _keep_too_good(athletes, seen, found, taught, library, as_of)
    return found, ids, sum(any(own.values()) for own in seen)


def _keep_too_good(
    athletes: list[Athlete], seen: list[Own], found: Estimates, taught: Learnt, library: GymLibrary, as_of: date
) -> None:
    """Keep which efforts are too good to be anyone's best; a query only where that changes."""

    def mean(subject: str | int) -> Array:
        if isinstance(subject, str):
            return found.curve(subject)[0]
        place = library.places[subject]
        return (found.curve if by_id[subject].paced else found.best)(place)[0]

    by_id = {movement.pk: movement for movement in library.movements}
    own: dict[int, list[int]] = defaultdict(list)
    for one in contradicted_among(athletes, seen, mean, by_id, taught, as_of):
        if one.sds > 0:
            own[one.athlete.pk].append(one.effort)
    changed = [athlete for athlete in athletes if athlete.too_good != sorted(own[athlete.pk])]
    for athlete in changed:
        athlete.too_good = sorted(own[athlete.pk])
    Athlete.objects.bulk_update(changed, ["too_good"], batch_size=500)


def observed(athlete_ids: list[int], as_of: date) -> list[Own]:
    """What efforts and logged sessions show of each athlete, in the order of `athlete_ids`; three queries."""
    by_athlete: dict[int, Own] = {pk: defaultdict(list) for pk in athlete_ids}
    for seen in (*observations(athlete_ids, as_of), *measured_in_sessions(athlete_ids, as_of)):
        by_athlete[seen.athlete_id][seen.subject].append(seen)
    return list(by_athlete.values())


def estimated(athletes: list[Athlete], seen: list[Own], as_of: date, taught: Learnt, library: GymLibrary) -> Estimates:
    """All that these athletes can do, from what is `seen` of each; nothing is kept. No query."""
    efforts: dict[Subject, Efforts] = {}
    trials: dict[int, Trials] = {}
    for engine in ENGINES:
        if any(engine in own for own in seen):
            efforts[engine] = Efforts(*as_arrays([own.get(engine, []) for own in seen], as_of, drift_sd(None)))
    for movement in library.movements:
        place = library.places[movement.pk]
        if not any(movement.pk in own for own in seen):
            continue
        lists = [[o for o in own.get(movement.pk, []) if movement.kind != "loaded" or o.value] for own in seen]
        value, duration, sd_log = as_arrays(lists, as_of, drift_sd(movement))
        if movement.paced:
            efforts[place] = Efforts(value, duration, sd_log)
        else:
            trials[place] = Trials(value, sd_log)
    return estimate(library.library, facts_of(athletes, as_of), efforts, trials, taught.centre)


def _adjustments(ids: list[int], seen: list[Own], as_of: date) -> dict[tuple[int, str | int], float]:
    """How far logs have moved each athlete's numbers since the last test, by (athlete, subject). One query."""
    rows = Evidence.objects.filter(athlete_id__in=ids, performed_on__range=(as_of - STEPS_REMEMBERED, as_of))
    steps: dict[tuple[int, str | int], dict[int, float]] = defaultdict(lambda: defaultdict(float))
    days: dict[int, set[int]] = defaultdict(set)
    for athlete, engine, movement, step, day in rows.values_list(
        "athlete_id", "engine", "movement_id", "step", "performed_on"
    ):
        days[athlete].add(day.toordinal())
        if step:
            # An engine or a movement at several stations of a session: the largest of its steps, either way.
            own = steps[athlete, engine or movement]
            own[day.toordinal()] = max(own[day.toordinal()], step, key=abs)
    if not steps:
        return {}
    tested = {
        (pk, subject): max(o.performed_on.toordinal() for o in efforts)
        for pk, own in zip(ids, seen, strict=True)
        for subject, efforts in own.items()
    }
    subjects = list(steps)
    width = max(len(days[athlete]) for athlete, _ in subjects)
    given, when = np.full((len(subjects), width), np.nan), np.full((len(subjects), width), np.nan)
    for row, (athlete, subject) in enumerate(subjects):
        own_days = sorted(days[athlete])
        when[row, : len(own_days)] = own_days
        given[row, : len(own_days)] = [steps[athlete, subject].get(day, 0.0) for day in own_days]
    benchmark_day = np.array([tested.get(subject, np.nan) for subject in subjects], float)
    return dict(zip(subjects, accumulate(given, when, as_of.toordinal(), benchmark_day).tolist(), strict=True))


def _rows(
    ids: list[int],
    seen: list[Own],
    found: Estimates,
    adjustments: dict[tuple[int, str | int], float],
    as_of: date,
    library: GymLibrary,
) -> list[Estimate]:
    """A row for every engine and movement of every athlete."""
    subjects: list[tuple[str | int, Array, Array]] = []
    for engine in ENGINES:
        subjects.append((engine, *found.curve(engine)))
    for movement in library.movements:
        place = library.places[movement.pk]
        if movement.paced:
            subjects.append((movement.pk, *found.curve(place)))
        else:
            mean, sd = found.best(place)
            subjects.append((movement.pk, mean[:, None], sd[:, None, None] ** 2))
    ladder, rows = ladders((movement.pk, movement.easier_form_id) for movement in library.movements), []
    for subject, means, covariances in subjects:
        moved = np.array([adjustments.get((pk, subject), 0.0) for pk in ids])
        along = CURVE_SCALE if means.shape[1] == 3 else np.ones(1)
        named = {"engine": subject} if isinstance(subject, str) else {"movement_id": subject}
        lists = zip(ids, seen, (means + moved[:, None] * along).tolist(), covariances.tolist(), moved, strict=True)
        rows += [
            Estimate(
                athlete_id=pk,
                mean=mean,
                covariance=covariance,
                adjustment=float(adjustment),
                drift_sd=_shared_drift_sd(own.get(subject, ()), as_of) if means.shape[1] == 3 else 0.0,
                efforts=rests_on(own, subject, ladder),
                as_of=as_of,
                method_version=METHOD_VERSION,
                **named,
            )
            for pk, own, mean, covariance, adjustment in lists
        ]
    return rows


def _shared_drift_sd(own: Sequence[Observation], as_of: date) -> float:
    """What may have changed since in all of the efforts on a curve alike."""
    ages = [(as_of - seen.performed_on).days for seen in own]
    return shared_drift_sd([seen.sd_log for seen in own], ages, drift_sd(None))


def rests_on(own: Own, subject: str | int, ladder: dict[int, set[int]]) -> list[int]:
    """Ids of the efforts that an estimate mainly rests on, newest first: its own, or else those of its near kin: other
    ergometers of an engine, its ladder of a movement. Logged sessions are not named."""
    for near in (own.get(subject, ()), [o for other in near_kin(subject, ladder) for o in own.get(other, ())]):
        efforts = [o for o in near if o.effort_id is not None]
        if efforts:
            efforts.sort(key=lambda o: (o.performed_on, o.effort_id), reverse=True)
            return [o.effort_id for o in efforts if o.effort_id is not None]
    return []


def near_kin(subject: str | int, ladder: dict[int, set[int]]) -> list[str | int]:
    """What says nearly as much of a subject as its own tests: the other ergometers, or the movements of its ladder."""
    if isinstance(subject, int):
        return [movement for movement in ladder.get(subject, ()) if movement != subject]
    return [] if subject == "run" else [engine for engine in ENGINES if engine not in (subject, "run")]


def _keep_fitness(
    compared: dict[int, Array], weight: Array, tested: int, taught: Learnt, library: GymLibrary, *, everyone: bool
) -> None:
    """Keep where each athlete stands in the room; the middle of the room is found anew when everyone is compared.

    Some out of a room that nobody has seen as a whole stay where they are: each other's middle says nothing of it.
    A handful who are all there are so far are compared, but who comes later is not held against them.
    """
    known = taught.fitness if taught.fitness.get("movements") == list(library.places) else {}
    if not everyone and not known and Athlete.objects.exclude(pk__in=compared).exists():
        return
    values = np.array(list(compared.values()))
    if everyone or not known:
        room = fitness.reference(values, weight, tested)
        kept = {"centre": room.centre.tolist(), "spread": room.spread.tolist(), "of_all": room.spread_of_all}
        if everyone or len(compared) >= fitness.FEWEST_ATHLETES:
            with transaction.atomic():
                gym = Gym.objects.select_for_update().filter(pk=1).first()
                if gym:
                    priors = gym.priors if gym.priors.get("method_version") == METHOD_VERSION else {"engines": {}}
                    gym.priors = {
                        **priors,
                        "method_version": METHOD_VERSION,
                        "fitness": {**kept, "movements": list(library.places)},
                    }
                    gym.save(update_fields=["priors"])
    else:
        room = fitness.Reference(np.array(known["centre"]), np.array(known["spread"]), known["of_all"])
    scores = fitness.general_fitness(values, weight, room).tolist()
    Athlete.objects.bulk_update(
        [Athlete(pk=pk, fitness=score) for pk, score in zip(compared, scores, strict=True)], ["fitness"], batch_size=500
    )
