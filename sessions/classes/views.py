"""What the page of a session shows of its hour, and what its buttons do; the page itself is `weeks.views`."""

from django.contrib import messages
from django.core.exceptions import ValidationError

from athletes.accounts.request import StaffRequest
from athletes.fields import whole_number
from athletes.models import Gym
from sessions.classes.forms import PartsForm, Row, sources
from sessions.classes.read import templates
from sessions.classes.write import template_save
from sessions.models import PartTemplate, PlannedSession


def press(request: StaffRequest, parts: PartsForm, do: str) -> None:
    """What a button of the page does to the parts; only keeping them as a template saves anything."""
    if do == "take":
        if source := _source(request.POST.get("like", "")):
            parts.take(source)
        else:
            messages.error(request, "Choose whose parts to take.")
    elif do == "keep":
        _keep(request, parts)
    else:
        parts.pressed(do)


def hour_of(parts: PartsForm, gym: Gym, planned: PlannedSession) -> dict:
    """The hour of a class as its page draws it: rows, minutes against what a class has, and what can be taken."""
    rows = parts.on_page()
    total = sum(row.minutes for row in rows)
    return {
        "rows": rows,
        "total": total,
        "class_minutes": gym.class_minutes,
        "over": max(total - gym.class_minutes, 0),
        "scale": max(total, gym.class_minutes),
        "templates": [(template, _minutes(template)) for template in templates()],
        "sources": sources(planned),
        "problem": _problem(rows, total, gym.class_minutes),
    }


def _problem(rows: list[Row], total: int, most: int) -> str:
    """What does not fit, in one sentence."""
    if long := next((row for row in rows if row.over), None):
        return f"{long.title} has {long.minutes} min, and its circuit takes {long.needs}."
    return f"{total - most} min more than a class has." if total > most else ""


def _minutes(template: PartTemplate) -> str:
    return " ".join("·" if part.minutes is None else str(part.minutes) for part in template.parts.all())


def _source(chosen: str) -> PlannedSession | PartTemplate | None:
    kind, _, pk = chosen.partition(".")
    rows = {"template": PartTemplate.objects.all(), "session": PlannedSession.objects.standing()}.get(kind)
    number = whole_number(pk)
    return None if rows is None or number is None else rows.filter(pk=number).first()


def _keep(request: StaffRequest, parts: PartsForm) -> None:
    name = request.POST.get("template", "").strip()
    if not name or len(name) > 80:
        messages.error(request, "Give the template a name of at most 80 letters, then keep it.")
    elif parts.is_valid():
        try:
            template = template_save(name=name, parts=parts.parts(), by=request.user)
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
        else:
            messages.success(request, f"The parts are kept as “{template}”. The session itself is not saved yet.")
