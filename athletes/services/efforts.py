"""Results of benchmarks: understood, questioned when they look wrong, kept, and never changed afterwards."""

from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes import parsing
from athletes.models import Account, Athlete, Benchmark, Effort
from athletes.selectors.gym import today
from athletes.selectors.observations import reduced
from athletes.services.estimates import estimates_refresh
from athletes.services.questions import question_about


class EffortQuestioned(Exception):
    """The result looks wrong. It is kept when the same is sent again with `confirmed`; the message says why."""


@transaction.atomic
def effort_record(
    *,
    athlete: Athlete,
    benchmark: Benchmark,
    typed: str,
    performed_on: date,
    by: Account | None,
    key: UUID | None = None,
    confirmed: bool = False,
    replaces: Effort | None = None,
) -> Effort:
    """Keep what was typed as an effort and bring the athlete's estimate up to date.

    The same `key` again returns the effort that is kept already. Raises ValidationError, by field and in words that
    say what to type, and EffortQuestioned for a result outside what is expected of this athlete.
    """
    if key and (kept := Effort.objects.filter(key=key).first()):
        return _same_effort(kept, athlete, benchmark)
    result = understand(typed, benchmark)
    if performed_on > today():
        raise ValidationError({"performed_on": "This day has not come yet. Give the day of the test."})
    if replaces:  # first, so that the new result is not judged by the wrong one; undone when it is questioned
        effort_void(effort=replaces, reason=f"Replaced by {typed.strip()}.", by=by)
    question = question_about(athlete, benchmark, result, performed_on)
    if question and not confirmed:
        raise EffortQuestioned(question)
    effort = Effort(
        athlete=athlete,
        benchmark=benchmark,
        value=result.value,
        fixed=benchmark.fixed,
        repetitions=result.repetitions,
        typed=typed.strip(),
        performed_on=performed_on,
        entered_by=by,
        question=question or "",
        replaces=replaces,
        **({"key": key} if key else {}),
    )
    effort.full_clean(exclude=["entered_by"])
    effort.save(force_insert=True)
    estimates_refresh(athletes=[athlete.pk])
    return effort


@transaction.atomic
def effort_void(*, effort: Effort, reason: str, by: Account | None) -> Effort:
    """Take an effort out of every estimate; the row stays, with who and why. Voiding twice changes nothing."""
    if not reason.strip():
        raise ValidationError({"reason": "Say in a few words why this result does not count."})
    standing = Effort.objects.standing().filter(pk=effort.pk)
    if standing.update(voided_at=timezone.now(), voided_by=by, void_reason=reason.strip()[:200]):
        estimates_refresh(athletes=[effort.athlete_id])
    effort.refresh_from_db()
    return effort


def understand(typed: str, benchmark: Benchmark) -> parsing.Result:
    """What was typed as a result of this benchmark; ValidationError on `typed` otherwise."""
    try:
        result = parsing.result(parsing.read(typed), benchmark.measure, benchmark.fixed)
        if result.value <= 0:
            raise parsing.NotUnderstood("A result is above zero. Leave it empty for someone who was not tested.")
        reduced(benchmark, result.value, result.repetitions)
    except ValueError as error:
        raise ValidationError({"typed": str(error)}) from None
    return result


def _same_effort(kept: Effort, athlete: Athlete, benchmark: Benchmark) -> Effort:
    if (kept.athlete_id, kept.benchmark_id) != (athlete.pk, benchmark.pk):
        raise ValidationError("This entry was sent before for someone else. Reload the page and type it again.")
    return kept
