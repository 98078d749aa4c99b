"""Part of other pages that comes from the floor sheet: the notice of pain and stops."""

from django import template

from sessions.logs.read import flags

register = template.Library()


@register.inclusion_tag("floor/_flags.html", takes_context=True)
def flag_notice(context) -> dict:
    """Pain and stops that nobody has seen; asks again by itself. For pages of staff alone."""
    return {"csrf_token": context.get("csrf_token"), **flags()}
