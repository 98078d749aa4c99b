from datetime import date, time, timedelta
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from athletes.models import Account
from athletes.once import keep_once
from sessions.builds.steps import days_of, held_back, stepped_back
from sessions.models import Build, Grows, PlannedSession
from sessions.weeks.write import session_plan, week_ensure

OF_SESSION = {Grows.ROUNDS: "rotations", Grows.DOSE: "dose_percent", Grows.REST: "interval_s"}


def build_start(*, build: Build, by: Account) -> Build:
    """Keep a build and put its sessions into their weeks, beside what is there.

    A build whose `key` is there already, sent at once or later, is the one that is there, whatever it says.
    """
    build.created_by = by
    return keep_once(build, lambda: _start(build), lambda kept: kept)


@transaction.atomic
def _start(build: Build) -> Build:
    build.save()
    hours = [time.fromisoformat(hour) for hour in build.hours]
    for place, day in enumerate(build_days(build)):
        planned = PlannedSession(
            week=week_ensure(day - timedelta(days=day.weekday())),
            weekday=day.weekday(),
            key=uuid5(build.key, str(place)),
            circuit=build.circuit,
            intent=build.intent,
            build=build,
            build_step=place,
            **_asked(build, place),
        )
        session_plan(planned=planned, hours=hours)
    return build


def build_days(build: Build) -> list[date]:
    """The day of each step as the build was started; a session may have been moved since."""
    last = build.starts_on + timedelta(weeks=build.every * (len(build.steps) - 1))
    return days_of(build.starts_on, last, build.every)


def _asked(build: Build, place: int) -> dict[str, int]:
    return {OF_SESSION[build.grows]: build.steps[place]} if build.grows in OF_SESSION else {}


@transaction.atomic
def steps_set(*, build: Build, steps: list[int], from_place: int, day: date) -> int:
    """Ask for other steps from a place on, in sessions that are not over before `day`; how many sessions changed."""
    if len(steps) != len(build.steps):
        raise ValidationError("A build keeps as many times as it has. Plan a new one to go on for longer.")
    build.steps = steps
    build.save(update_fields=["steps"])
    changed = 0
    for session in build.sessions.standing().select_related("week").filter(build_step__gte=from_place):
        asked = _asked(build, session.build_step or 0)
        if session.date >= day and any(getattr(session, name) != value for name, value in asked.items()):
            PlannedSession.objects.filter(pk=session.pk).update(**asked, version=F("version") + 1)
            changed += 1
    return changed


@transaction.atomic
def decide(*, build: Build, place: int, decision: str, day: date) -> int:
    """What a coach decides after the step at `place`: progress as planned, hold it, or step back.

    How many sessions to come changed. Another decision about the same step begins from the steps before the first one;
    the same again changes nothing.
    """
    build = Build.objects.select_for_update().get(pk=build.pk)
    decided = build.decisions.get(str(place), {})
    if decided.get("decision") == decision:
        return 0
    before = decided.get("before", build.steps)
    after = {"progress": before, "hold": held_back(before, place), "back": stepped_back(before, place)}
    if decision not in after:
        raise ValidationError("Choose to progress, to hold or to step back.")
    build.decisions = {**build.decisions, str(place): {"decision": decision, "before": before}}
    build.save(update_fields=["decisions"])
    return steps_set(build=build, steps=after[decision], from_place=place + 1, day=day)


@transaction.atomic
def decision_undo(*, build: Build, place: int, day: date) -> int:
    """Take back what was decided after a step; nothing where nothing was. How many sessions changed."""
    build = Build.objects.select_for_update().get(pk=build.pk)
    decided = build.decisions.get(str(place))
    if decided is None:
        return 0
    build.decisions = {name: value for name, value in build.decisions.items() if name != str(place)}
    build.save(update_fields=["decisions"])
    return steps_set(build=build, steps=decided["before"], from_place=place + 1, day=day)


def keys_of(build: Build) -> list[UUID]:
    return list(build.sessions.standing().values_list("key", flat=True))
