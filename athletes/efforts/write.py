"""Results of benchmarks: understood, questioned when they look wrong, kept, and never changed afterwards."""

from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes import words as formatting
from athletes.efforts import parsing
from athletes.efforts.questions import question_about
from athletes.estimates.observations import reduced
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.locks import athlete_lock
from athletes.models import Account, Athlete, Benchmark, Effort


class EffortQuestioned(Exception):
    """The result looks wrong. It is kept when the same is sent again with `confirmed`; the message says why."""


class EffortSentBefore(ValidationError):
    """The key of this entry already kept another result."""

    def __init__(self, kept: Effort):
        day = formatting.day(kept.performed_on, today())
        super().__init__(
            f"This entry was sent before, for {kept.athlete} in {kept.benchmark}: “{kept.typed}”, {day}. That is kept. "
            "Reload the page and type the new result there."
        )
        self.typed = kept.typed


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

    The same again under the same `key` returns the effort that is kept already. Raises ValidationError, by field and
    in words that say what to type, and EffortQuestioned for a result outside what is expected of this athlete.
    """
    athlete_lock(athlete.pk)
    effort = Effort(
        athlete=athlete,
        benchmark=benchmark,
        fixed=benchmark.fixed,
        typed=as_kept(typed, athlete, benchmark),
        performed_on=performed_on,
        entered_by=by,
        replaces=replaces,
        **({"key": key} if key else {}),
    )
    if kept := Effort.objects.filter(key=effort.key).first():
        return _same_effort(kept, effort)
    result = understand(effort.typed, benchmark)
    if performed_on > today():
        raise ValidationError({"performed_on": "This day has not come yet. Give the day of the test."})
    if replaces:  # first, so that the new result is not judged by the wrong one; undone when it is questioned
        _refuse_what_no_longer_counts(replaces)
        effort_void(effort=replaces, reason=f"Replaced by {effort.typed}.", by=by)
    effort.value, effort.repetitions = result.value, result.repetitions
    effort.question = question_about(athlete, benchmark, result, performed_on)
    if effort.question and not confirmed:
        raise EffortQuestioned(effort.question)
    own = ["athlete", "benchmark", "entered_by", "key"]  # rows that were read
    effort.full_clean(exclude=own, validate_constraints=False)  # what is understood keeps the constraints
    return _insert(effort)


@transaction.atomic
def effort_void(*, effort: Effort, reason: str, by: Account | None) -> Effort:
    """Take an effort out of every estimate; the row stays, with who and why. Voiding twice changes nothing."""
    if not reason.strip():
        raise ValidationError({"reason": "Say in a few words why this result does not count."})
    athlete_lock(effort.athlete_id)
    standing = Effort.objects.standing().filter(pk=effort.pk)
    if standing.update(voided_at=timezone.now(), voided_by=by, void_reason=reason.strip()[:200]):
        estimates_refresh(athletes=[effort.athlete_id])
    effort.refresh_from_db()
    return effort


def as_kept(typed: str, athlete: Athlete, benchmark: Benchmark) -> str:
    """What is kept of what was typed: of a plain load also the unit in which pages show the athlete's, so that it reads
    the same when they go by another one."""
    return parsing.with_unit(typed, athlete.load_unit) if benchmark.measure == Benchmark.Measure.LIFT else typed.strip()


def understand(typed: str, benchmark: Benchmark) -> parsing.Result:
    """What was typed as a result of this benchmark; ValidationError on `typed` otherwise."""
    try:
        result = parsing.result(parsing.read(typed), benchmark.measure, benchmark.fixed)
        if result.value <= 0 and benchmark.measure not in Benchmark.COUNTED:
            raise parsing.NotUnderstood("A result is above zero. Leave it empty for someone who was not tested.")
        reduced(benchmark, result.value, result.repetitions)
    except ValueError as error:
        raise ValidationError({"typed": str(error)}) from None
    return result


def _insert(effort: Effort) -> Effort:
    try:
        with transaction.atomic():
            effort.save(force_insert=True)
    except IntegrityError:
        # The lock holds back the same athlete only; someone else's entry took this key at the same moment.
        kept = Effort.objects.filter(key=effort.key).first()
        if kept is None:
            raise
        return _same_effort(kept, effort)
    estimates_refresh(athletes=[effort.athlete_id])
    return effort


def _same_effort(kept: Effort, sent: Effort) -> Effort:
    if any(getattr(kept, name) != getattr(sent, name) for name in ("athlete", "benchmark", "typed", "performed_on")):
        raise EffortSentBefore(kept)
    return kept


def _refuse_what_no_longer_counts(effort: Effort) -> None:
    if right := Effort.objects.filter(replaces=effort).first():
        raise ValidationError(f"This effort was corrected before, to “{right.typed}”. Correct that one instead.")
    if not Effort.objects.standing().filter(pk=effort.pk).exists():
        raise ValidationError("This effort is voided already. Add a new one instead.")
