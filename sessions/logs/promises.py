"""What was promised and what was held, from the gym's own logs, and what the nightly job makes of it."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import OuterRef, Subquery

from athletes.capacity.constants import METHOD_VERSION
from athletes.gym.read import today
from athletes.models import Gym
from sessions.logs.calibration import model_sd
from sessions.logs.class_end import cut_short
from sessions.models import Log, LogEntry, Target
from sessions.scaling.constants import ENGINE_MODEL_SD, REPETITIONS_MODEL_SD
from sessions.scaling.targets import Reason

WINDOW = timedelta(weeks=12)
SAME = 1e-6
# The method's own SDs by their names in `Gym.priors["model"]`.
USUAL = {"engine_model_sd": ENGINE_MODEL_SD, "repetitions_model_sd": REPETITIONS_MODEL_SD}


@dataclass(frozen=True)
class Promise:
    """A logged target: `model` names the method's SD that it rests on, `sd_log` is that of the athlete's capacity."""

    day: date
    model: str
    chance: float
    sd_log: float
    held: bool


def promises(until: date) -> list[Promise]:
    """Logged targets of this method in the twelve weeks up to a day. Six queries at most.

    Left out are sessions that hurt or were stopped, classes that ended early, what has no rounds by the clock, and
    targets that a coach set.
    """
    logs = (
        Log.objects.standing()
        .filter(
            pain=False,
            stopped=False,
            date__range=(until - WINDOW, until),
            session__publication__method_version=METHOD_VERSION,
        )
        .exclude(session__circuit__has_key="format")
    )
    target = Target.objects.filter(
        session=OuterRef("log__session"), athlete=OuterRef("log__athlete"), station=OuterRef("station"), rung__gte=0
    ).exclude(detail__reason=Reason.BY_HAND.value)
    entries = LogEntry.objects.filter(log__in=logs.values("pk"), movement__isnull=False).annotate(
        chance=Subquery(target.values("probability")[:1]), known=Subquery(target.values("sd_log")[:1])
    )
    columns = ("log_id", "log__date", "movement__engine", "movement__paced", "rounds", "asked_rounds", "dose")
    cut, found = cut_short(logs), []
    for pk, day, engine, paced, rounds, asked, dose, asked_dose, chance, known in entries.order_by().values_list(
        *columns, "asked_dose", "chance", "known"
    ):
        if chance is None or pk in cut:
            continue
        model = "engine_model_sd" if engine or paced else "repetitions_model_sd"
        held = rounds >= asked and dose >= asked_dose - SAME
        found.append(Promise(day, model, chance, known or 0.0, held))
    return found


def model_refresh(*, as_of: date | None = None) -> dict[str, float]:
    """Learn the method's own SDs from what was held, and keep them for the targets to come; those that are kept.

    Kept with them: from which day on which held, for a promise is judged by what was assumed when it was made.
    """
    as_of = as_of or today()
    found = promises(as_of)
    with transaction.atomic():
        gym = Gym.objects.select_for_update().filter(pk=1).first()
        if gym is None or gym.priors.get("method_version") != METHOD_VERSION:
            return {}
        history = gym.priors.get("model_history", [])
        model = dict(gym.priors.get("model", {}))
        for name, usual in USUAL.items():
            own = [promise for promise in found if promise.model == name]
            arrays = ([getattr(promise, column) for promise in own] for column in ("chance", "held", "sd_log"))
            learnt = model_sd(*arrays, [_assumed(history, name, promise.day) for promise in own], usual)
            if learnt is not None:
                model[name] = round(learnt, 4)
        if model != gym.priors.get("model", {}):
            kept = [[since, before] for since, before in history if since != as_of.isoformat()]
            gym.priors = {**gym.priors, "model": model, "model_history": [*kept, [as_of.isoformat(), model]]}
            gym.save(update_fields=["priors"])
    return model


def _assumed(history: list, name: str, day: date) -> float:
    """The method's own SD that held on a day: targets are made before it, so that one of that day is not yet in."""
    before = [model for since, model in history if date.fromisoformat(since) < day]
    return float(before[-1].get(name, USUAL[name])) if before else USUAL[name]
