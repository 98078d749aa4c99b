"""Parts of other pages that come from the floor sheet: the notice of pain and stops, and links to today's classes."""

from collections import defaultdict

from django import template

from athletes.gym.read import today
from sessions.clock.classes import classes_of_day
from sessions.clock.write import now_ms
from sessions.logs.read import flags

register = template.Library()


@register.inclusion_tag("floor/_flags.html", takes_context=True)
def flag_notice(context) -> dict:
    """Pain and stops that nobody has seen; asks again by itself. For pages of staff alone."""
    return {"csrf_token": context.get("csrf_token"), **flags()}


@register.inclusion_tag("floor/floor_today.html")
def todays_floor_sheets() -> dict:
    """A link to the floor sheet of each of today's classes, by session."""
    sessions = defaultdict(list)
    for one in classes_of_day(today(), now_ms()):
        sessions[one.session].append(one.hour)
    return {"sessions": list(sessions.items())}
