"""Circuits half written: kept by themselves for whoever writes them, found again, thrown away and brought back."""

from datetime import timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from athletes.models import Account
from sessions.circuits.text.reading import TOO_LONG, too_long
from sessions.models import Circuit, CircuitDraft

KEPT_AWAY = timedelta(days=30)  # what was thrown away can be brought back for so long


def drafts_of(account: Account) -> QuerySet[CircuitDraft]:
    """What this person has half written, the latest first."""
    return CircuitDraft.objects.filter(account=account, thrown_away_at=None).exclude(text="").select_related("circuit")


def draft_of(account: Account, circuit: Circuit) -> CircuitDraft | None:
    """What this person has half changed of a circuit."""
    return drafts_of(account).filter(circuit=circuit).first()


def draft_keep(
    *, account: Account, key: UUID, text: str, circuit: Circuit | None, version: int, refused: bool = False
) -> CircuitDraft:
    """Keep what is written so far under its key.

    What was thrown away since, in another tab, comes back when it is written on. What was saved since does not, unless
    the save was `refused`. ValidationError for that, for a text that is too long, and for another person's key.
    """
    if too_long(text):
        raise ValidationError(f"Not kept. {TOO_LONG}")
    if not refused:
        _refuse_what_is_done(account, key, circuit, version)
    values = {"text": text, "circuit": circuit, "version": version, "thrown_away_at": None}
    try:
        with transaction.atomic():
            draft, _ = CircuitDraft.objects.update_or_create(key=key, account=account, defaults=values)
    except IntegrityError:
        raise ValidationError("Not kept: this page is of another account. Reload it.") from None
    return draft


def _refuse_what_is_done(account: Account, key: UUID, circuit: Circuit | None, version: int) -> None:
    """No draft begins with what came late: its page was saved, or the circuit was since. One that is there goes on."""
    if Circuit.objects.filter(key=key).exists():
        raise ValidationError("This page is saved already. Reload it to go on.")
    there = CircuitDraft.objects.filter(key=key, account=account)
    if circuit and circuit.version > version and not there.exists():
        raise ValidationError("Not kept: the circuit was saved since. Save yours to see both.")


def draft_throw_away(*, draft: CircuitDraft, away: bool = True) -> CircuitDraft:
    """Take a draft off the list, or put it back. What lay away for long is deleted."""
    draft.thrown_away_at = timezone.now() if away else None
    draft.save(update_fields=["thrown_away_at"])
    CircuitDraft.objects.filter(thrown_away_at__lt=timezone.now() - KEPT_AWAY).delete()
    return draft


def draft_done(*, account: Account, key: UUID) -> None:
    """What was saved under its key is a draft no more; others of the same circuit stay."""
    CircuitDraft.objects.filter(account=account, key=key).delete()
