"""Circuits half written: kept by themselves for whoever writes them, found again, thrown away and brought back."""

from datetime import timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from athletes.models import Account
from sessions.models import Circuit, CircuitDraft

MOST_LETTERS = 10_000  # of a circuit as text
KEPT_AWAY = timedelta(days=30)  # what was thrown away can be brought back for so long


def drafts_of(account: Account) -> QuerySet[CircuitDraft]:
    """What this person has half written, the latest first."""
    return CircuitDraft.objects.filter(account=account, thrown_away_at=None).exclude(text="").select_related("circuit")


def draft_of(account: Account, circuit: Circuit) -> CircuitDraft | None:
    """What this person has half changed of a circuit."""
    return drafts_of(account).filter(circuit=circuit).first()


def draft_keep(*, account: Account, key: UUID, text: str, circuit: Circuit | None, version: int) -> CircuitDraft | None:
    """Keep what is written so far under its key; None where the key is another person's, or the text far too long.

    What was thrown away since, in another tab, comes back when it is written on.
    """
    if len(text) > MOST_LETTERS:
        return None
    values = {"text": text, "circuit": circuit, "version": version, "thrown_away_at": None}
    try:
        with transaction.atomic():
            draft, _ = CircuitDraft.objects.update_or_create(key=key, account=account, defaults=values)
    except IntegrityError:
        return None
    return draft


def draft_throw_away(*, draft: CircuitDraft, away: bool = True) -> CircuitDraft:
    """Take a draft off the list, or put it back. What lay away for long is deleted."""
    draft.thrown_away_at = timezone.now() if away else None
    draft.save(update_fields=["thrown_away_at"])
    CircuitDraft.objects.filter(thrown_away_at__lt=timezone.now() - KEPT_AWAY).delete()
    return draft


def draft_done(*, account: Account, key: UUID, circuit: Circuit) -> None:
    """What was saved is a draft no more, under its key or of its circuit."""
    mine = CircuitDraft.objects.filter(account=account)
    mine.filter(key=key).delete()
    mine.filter(circuit=circuit, thrown_away_at=None).delete()
