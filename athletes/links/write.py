from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.links.read import screen_link
from athletes.locks import athlete_lock
from athletes.models import Account, Athlete, Link
from athletes.models.link import new_nonce


@transaction.atomic
def link_issue(*, athlete: Athlete, by: Account | None) -> Link:
    """Give the athlete a fresh personal link; an earlier one stops working at once."""
    athlete_lock(athlete.pk)
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
    # Whoever got a link in this very moment keeps it.
    return len(Link.objects.bulk_create(links, ignore_conflicts=True))


def screen_link_issue(*, by: Account | None) -> Link:
    """A fresh link for the wall screen; the earlier one stops working at once."""
    try:
        with transaction.atomic():
            _revoke(Link.objects.filter(kind=Link.Kind.SCREEN), by)
            return Link.objects.create(kind=Link.Kind.SCREEN, nonce=new_nonce(), created_by=by)
    except IntegrityError:  # made at the same moment by another click, and as fresh
        return screen_link()


def _revoke(links, by: Account | None) -> int:
    return links.filter(revoked_at__isnull=True).update(revoked_at=timezone.now(), revoked_by=by)
