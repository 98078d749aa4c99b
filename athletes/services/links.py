from django.db import transaction
from django.utils import timezone

from athletes.models import Account, Athlete, Link
from athletes.models.link import new_nonce


@transaction.atomic
def link_issue(*, athlete: Athlete, by: Account | None) -> Link:
    """Give the athlete a fresh personal link; an earlier one stops working at once."""
    link_revoke(athlete=athlete, by=by)
    return Link.objects.create(kind=Link.Kind.ATHLETE, athlete=athlete, nonce=new_nonce(), created_by=by)


def link_revoke(*, athlete: Athlete, by: Account | None) -> int:
    """Stop the athlete's link; 0 when there was none."""
    return _revoke(Link.objects.filter(athlete=athlete), by)


@transaction.atomic
def links_issue_missing(*, by: Account | None) -> int:
    """A link for every active athlete who never had one (a revoked link stays revoked); the number made."""
    without = Athlete.objects.filter(active=True, links__isnull=True)
    links = [Link(kind=Link.Kind.ATHLETE, athlete=athlete, nonce=new_nonce(), created_by=by) for athlete in without]
    return len(Link.objects.bulk_create(links))


@transaction.atomic
def screen_link_issue(*, by: Account | None) -> Link:
    """A fresh link for the wall screen; the earlier one stops working at once."""
    _revoke(Link.objects.filter(kind=Link.Kind.SCREEN), by)
    return Link.objects.create(kind=Link.Kind.SCREEN, nonce=new_nonce(), created_by=by)


def _revoke(links, by: Account | None) -> int:
    return links.filter(revoked_at__isnull=True).update(revoked_at=timezone.now(), revoked_by=by)
