from django.db import transaction

from athletes.models import Account, Athlete
from athletes.services.estimates import estimates_refresh
from athletes.services.links import link_issue
from athletes.services.locks import athlete_lock

# They centre the first guess, so estimates rest on them too.
CENTRES_THE_GUESS = ("sex", "body_mass_kg")


@transaction.atomic
def athlete_create(*, athlete: Athlete, by: Account | None) -> Athlete:
    """A new athlete, with a personal link from the first day."""
    athlete.full_clean()
    athlete.save(force_insert=True)
    link_issue(athlete=athlete, by=by)
    return athlete


@transaction.atomic
def athlete_change(*, athlete: Athlete) -> Athlete:
    """Keep what is changed, and bring the estimates up to date when what they rest on changed."""
    athlete_lock(athlete.pk)
    before = Athlete.objects.filter(pk=athlete.pk).values_list(*CENTRES_THE_GUESS).get()
    athlete.full_clean()
    athlete.save()
    if before != tuple(getattr(athlete, name) for name in CENTRES_THE_GUESS):
        estimates_refresh(athletes=[athlete.pk])
    return athlete
