"""What staff keep of an athlete: the facts, leave, limitations, and cautions that are set aside."""

from collections.abc import Iterable
from datetime import date, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.links.read import athlete_link
from athletes.links.write import link_issue, link_revoke
from athletes.locks import athlete_lock
from athletes.models import Account, Athlete, Limitation, Movement, Override
from athletes.once import insert_once, keep_once, kept_before
from athletes.signals import room_changed

# They centre the first guess, so estimates rest on them too.
CENTRES_THE_GUESS = ("sex", "body_mass_kg", "born")
NEWCOMER = ("name", "board_name", "born")


@transaction.atomic
def athlete_create(*, athlete: Athlete, by: Account | None) -> Athlete:
    """A new athlete, with a personal link from the first day; the same again under the same key: the one that is kept.
    ValidationError where another was kept under it."""

    def write() -> Athlete:
        athlete.full_clean()
        athlete.save(force_insert=True)
        link_issue(athlete=athlete, by=by)
        estimates_refresh(athletes=[athlete.pk])
        return athlete

    try:
        return keep_once(athlete, write, lambda kept: kept_before(athlete, NEWCOMER))
    except IntegrityError:
        athlete.full_clean()  # says which name somebody took at this very moment
        raise


@transaction.atomic
def athlete_change(*, athlete: Athlete, by: Account | None = None) -> Athlete:
    """Keep what is changed, and bring the estimates up to date when what they rest on changed.

    Whoever leaves has no link any more, from that moment; whoever comes back gets a new one.
    """
    athlete_lock(athlete.pk)
    before = Athlete.objects.get(pk=athlete.pk)
    athlete.full_clean()
    athlete.save()
    if before.active and not athlete.active:
        link_revoke(athlete=athlete, by=by)
    elif athlete.active and not before.active and athlete_link(athlete) is None:  # who was on leave has one still
        link_issue(athlete=athlete, by=by)
    leaves_apply(today(), [athlete.pk])  # a leave is no farewell: the link is closed meanwhile, and opens again
    athlete.refresh_from_db()
    if any(getattr(before, name) != getattr(athlete, name) for name in CENTRES_THE_GUESS):
        estimates_refresh(athletes=[athlete.pk])
    if (before.board_name, before.active) != (athlete.board_name, athlete.active):
        room_changed.send(Athlete)
    return athlete


@transaction.atomic
def leaves_apply(day: date, athletes: Iterable[int] | None = None) -> int:
    """Let who is away from `day` on take no part, and who is back take part again, gently; how many changed."""
    people = Athlete.objects.filter(leave_from__isnull=False)
    people = people if athletes is None else people.filter(pk__in=athletes)
    back = people.filter(leave_until__lte=day)
    count = back.update(active=True, returned_on=F("leave_until"), leave_from=None, leave_until=None)
    count += people.filter(leave_from__lte=day, active=True).update(active=False)
    if count:
        room_changed.send(Athlete)
    return count


LIMITATION_CONTENT = ("athlete_id", "kind", "patterns", "starts_on", "review_on", "note")


@transaction.atomic
def limitation_create(*, limitation: Limitation, movements: Iterable[Movement] = ()) -> Limitation:
    """Keep a limitation with its single movements; the same again under the same key returns the one that is kept.

    Raises ValidationError, by field.
    """
    athlete_lock(limitation.athlete_id)

    def write() -> Limitation:
        if not limitation.patterns and not movements and limitation.kind not in Limitation.NOT_ALL_OUT:
            raise ValidationError({"patterns": "Choose at least one pattern or one movement that is out."})
        limitation.full_clean(exclude=["entered_by"])
        limitation.save(force_insert=True)
        limitation.movements.set(movements)
        return limitation

    return keep_once(limitation, write, lambda kept: _same_limitation(kept, limitation, movements))


def limitation_end(*, limitation: Limitation) -> Limitation:
    """Let a limitation end today; the row stays, so that it can be seen what applied when. What is over stays so."""
    ends_on = max(limitation.starts_on, today())
    if limitation.review_on is None or limitation.review_on > ends_on:
        limitation.review_on = ends_on
        limitation.save(update_fields=["review_on", "updated_at"])
    return limitation


def _same_limitation(kept: Limitation, sent: Limitation, movements: Iterable[Movement]) -> Limitation:
    same = all(getattr(kept, name) == getattr(sent, name) for name in LIMITATION_CONTENT)
    if not same or set(kept.movements.all()) != set(movements):
        raise ValidationError("Another limitation was kept from this page before. Reload the page and enter this one.")
    return kept


LONGEST = timedelta(days=28)  # as long as the cautions themselves look back (ours)
LONGEST_CONSENT = timedelta(days=366)  # a standing consent for a minor is asked for again every year (ours)
OVERRIDE_CONTENT = ("athlete_id", "caution", "movement_id", "starts_on", "ends_on", "reason")


@transaction.atomic
def override_make(
    *,
    athlete: Athlete,
    caution: str,
    movement: Movement | None,
    starts_on: date,
    ends_on: date,
    reason: str,
    by: Account | None,
    key: UUID,
) -> Override:
    """Set a computed caution (Override.Caution) aside from the first to the last day, both included.

    Of the amount of a new movement: for `movement`, or for all where it is None. The same again under the same `key`
    returns the override that is kept. Raises ValidationError, by field.
    """
    athlete_lock(athlete.pk)
    override = Override(
        key=key,
        athlete=athlete,
        caution=caution,
        movement=movement,
        starts_on=starts_on,
        ends_on=ends_on,
        reason=reason.strip(),
        made_by=by,
    )
    if kept := kept_before(override, OVERRIDE_CONTENT):
        return kept
    _refuse(override)
    return insert_once(override, OVERRIDE_CONTENT)


def override_end(*, override: Override) -> Override:
    """Let the caution hold again from tomorrow; the row stays. Ending twice, or what is over, changes nothing."""
    override.ends_on = min(override.ends_on, max(override.starts_on, today()))
    override.save(update_fields=["ends_on", "updated_at"])
    return override


def _refuse(override: Override) -> None:
    if not override.reason:
        raise ValidationError({"reason": "Say in a few words why it does not apply to this athlete."})
    if override.movement and override.caution != Override.Caution.EXPOSURE:
        raise ValidationError({"movement": "Only the amount is of one movement. Leave this empty."})
    if override.ends_on < override.starts_on:
        raise ValidationError({"ends_on": "The last day does not come before the first. Choose a later day."})
    longest = _longest(override)
    if override.ends_on - override.starts_on > longest:
        raise ValidationError({"ends_on": f"At most {longest.days} days ahead. Choose an earlier day."})


def _longest(override: Override) -> timedelta:
    """How far ahead a caution is set aside; only a consent for a minor stands longer, and never in pregnancy."""
    pregnancies = override.athlete.limitations.filter(kind=Limitation.Kind.PREGNANCY)
    pregnant = pregnancies.exclude(review_on__lte=override.starts_on).exists()
    return LONGEST_CONSENT if override.caution == Override.Caution.NO_TARGET and not pregnant else LONGEST
