from django.db.models import Q, QuerySet

from athletes.models import Athlete, Link
from athletes.models.link import CALENDAR


def athlete_for_token(token: str) -> Athlete | None:
    """The active athlete whose standing link carries `token`, or None; of someone merged, whom they are now."""
    return _who(_standing(Link.Kind.ATHLETE, token))


def link_for_token(token: str) -> Link | None:
    """The standing link of an athlete that carries `token`, or None."""
    return _standing(Link.Kind.ATHLETE, token).first()


def athlete_for_calendar(token: str) -> Athlete | None:
    """The active athlete whose calendar `token` opens, or None; of someone merged, whom they are now."""
    nonce = Link.nonce_of(token, CALENDAR) or ""
    return _who(Link.objects.filter(nonce=nonce, revoked_at__isnull=True))


def _who(links: QuerySet[Link]) -> Athlete | None:
    who = Q(athlete__active=True) | Q(athlete__merged_into__active=True)
    links = links.filter(who).select_related("athlete__merged_into")
    return next((link.athlete.merged_into or link.athlete for link in links), None)


def is_screen_token(token: str) -> bool:
    return _standing(Link.Kind.SCREEN, token).exists()


def athlete_link(athlete: Athlete) -> Link | None:
    return athlete.links.filter(revoked_at__isnull=True).first()


def links_of_active():
    """Standing links of active athletes, by name, each with its athlete; one query."""
    links = Link.objects.filter(revoked_at__isnull=True, athlete__active=True)
    return links.select_related("athlete").order_by("athlete__name", "athlete_id")


def screen_link() -> Link | None:
    return Link.objects.filter(kind=Link.Kind.SCREEN, revoked_at__isnull=True).first()


def _standing(kind: str, token: str):
    nonce = Link.nonce_of(token)
    if nonce is None:
        return Link.objects.none()
    return Link.objects.filter(kind=kind, nonce=nonce, revoked_at__isnull=True)
