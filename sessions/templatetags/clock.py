"""Links from other pages to the clock of today's classes."""

from django import template
from django.utils import timezone

from athletes.gym.read import today
from sessions.clock.classes import classes_of_day
from sessions.clock.write import now_ms

register = template.Library()


@register.inclusion_tag("clock/classes_today.html")
def todays_classes() -> dict:
    """Today's classes, one by one, each with its floor sheet, its clock and its board; the next one is marked."""
    classes = classes_of_day(today(), now_ms())
    now = f"{timezone.localtime():%H:%M}"
    coming = next((one.hour for one in classes if one.runs), None) or next(
        (one.hour for one in classes if one.hour >= now), None
    )
    return {"classes": classes, "coming": coming, "now": now}


@register.inclusion_tag("clock/clock_today.html")
def todays_clocks(publication=None) -> dict:
    """A link to the clock of each of today's classes, by session; of one publication only, where one is given."""
    classes = classes_of_day(today(), now_ms())
    own = [c for c in classes if publication is None or c.session.publication_id == publication.pk]
    sessions = {c.session: [] for c in own}
    for one in own:
        sessions[one.session].append(one)
    return {"sessions": list(sessions.items())}
