"""Part of the page Today that comes from the first hour: its steps, until a week is published."""

from django import template

from athletes.gym.read import today
from sessions.first_hour.steps import is_beginning, steps

register = template.Library()


@register.inclusion_tag("first_hour/_at_home.html", takes_context=True)
def first_hour_steps(context) -> dict:
    """The five steps, for coaches of a gym that has not published yet."""
    gym = context["request"].gym
    if not context.get("may_coach") or not is_beginning(gym):
        return {}
    return {"steps": steps(gym, today()), "csrf_token": context.get("csrf_token")}
