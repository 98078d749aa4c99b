"""A cell of a test day's grid: written once by its key, judged at once, and never over somebody else's entry."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes.capacity.constants import SURPRISE_SD
from athletes.capacity.plausibility import Doubt
from athletes.efforts.expectations import away, doubts, expected, of_people
from athletes.efforts.parsing import NO_NUMBER
from athletes.efforts.questions import SLIPS
from athletes.efforts.write import EffortQuestioned, EffortSentBefore, as_kept, effort_record, effort_void, understand
from athletes.estimates.observations import reduced
from athletes.estimates.people import people_of
from athletes.gym.read import today
from athletes.locks import athlete_lock
from athletes.models import Account, Athlete, Benchmark, Effort, TestDay, TestSlot
from athletes.trials.grid import GridCell, current, places_of
from athletes.words import result_text, rounded

TAKEN_BACK = "Taken back on the test day."
# How a test ends without a number, as people type it.
OUTCOMES = {
    TestSlot.Outcome.STOPPED: (*NO_NUMBER["stopped"], "stop"),
    TestSlot.Outcome.COULD_NOT: (*NO_NUMBER["could not do it"], "could not do it", "no", "x"),
}
Measure = Benchmark.Measure


class State(StrEnum):
    SAVED = "saved"
    QUESTIONED = "questioned"
    REFUSED = "refused"
    CHANGED = "changed"  # somebody else entered something meanwhile


@dataclass(frozen=True)
class Outcome:
    """What became of a cell, in words where someone has to look, and what stands there now."""

    state: State
    words: str
    entry: GridCell


@dataclass(frozen=True)
class Write:
    """What was typed in a cell: nothing takes back what stands there. `base` is the effort that was seen there, 0 for
    none, below 0 for an outcome without a number; `key` is made by the client; `confirmed` answers the question about
    exactly this text."""

    key: UUID
    typed: str
    base: int
    confirmed: bool = False


@transaction.atomic
def cell_write(
    *, test_day: TestDay, athlete: Athlete, benchmark: Benchmark, write: Write, by: Account | None
) -> Outcome:
    """Keep, correct or take back the result in a cell. The same again under the same key changes nothing."""
    athlete_lock(athlete.pk)
    before, typed = current(test_day, athlete, benchmark), write.typed.strip()
    if kept := Effort.objects.filter(key=write.key).select_related("athlete", "benchmark").first():
        if (kept.athlete, kept.benchmark, kept.performed_on) != (athlete, benchmark, test_day.date):
            return Outcome(State.CHANGED, " ".join(EffortSentBefore(kept).messages), before)
        return Outcome(State.SAVED, "", before)  # sent again: whatever stands there now came of it or after it
    if before.effort != write.base:
        return _met(before, as_kept(typed, athlete, benchmark))
    try:
        _do(test_day, athlete, benchmark, write, by)
    except EffortQuestioned as question:
        return Outcome(State.QUESTIONED, _off(athlete, benchmark, typed) or str(question), before)
    except ValidationError as error:
        return Outcome(State.REFUSED, " ".join(error.messages), before)
    return Outcome(State.SAVED, "", current(test_day, athlete, benchmark))


@transaction.atomic  # what is refused or questioned leaves how the test ended
def _do(test_day: TestDay, athlete: Athlete, benchmark: Benchmark, write: Write, by: Account | None) -> None:
    replaced = Effort.objects.filter(pk=write.base).first() if write.base > 0 else None
    typed, outcome = write.typed.strip(), outcome_of(write.typed)
    _refuse(test_day, athlete, benchmark, typed)
    if outcome == TestSlot.Outcome.COULD_NOT and benchmark.measure in Benchmark.COUNTED:
        typed, outcome = "0", TestSlot.Outcome.NONE  # none at all is a number
    slot, own = TestSlot.objects.filter(test_day=test_day, athlete=athlete, benchmark=benchmark), outcome
    if outcome and not slot.update(outcome=own, outcome_by=by, outcome_at=timezone.now()):
        TestSlot.objects.create(
            test_day=test_day,
            athlete=athlete,
            benchmark=benchmark,
            outcome=own,
            outcome_by=by,
            outcome_at=timezone.now(),
        )
    if outcome and replaced:
        effort_void(effort=replaced, reason=f"Instead: {TestSlot.Outcome(outcome).label}.", by=by)
    if outcome:
        return
    slot.exclude(outcome="").update(outcome="", outcome_by=by, outcome_at=timezone.now())
    if typed:
        effort_record(
            athlete=athlete,
            benchmark=benchmark,
            typed=typed,
            performed_on=test_day.date,
            by=by,
            key=write.key,
            confirmed=write.confirmed or typed == "0",  # whoever says so means it
            replaces=replaced,
        )
    elif replaced:
        effort_void(effort=replaced, reason=TAKEN_BACK, by=by)


def _refuse(test_day: TestDay, athlete: Athlete, benchmark: Benchmark, typed: str) -> None:
    """What no cell of the day's grid takes. Nothing, which takes back what stands there, is always let through."""
    if not typed:
        return
    if test_day.date > today():
        raise ValidationError("This day has not come yet. Enter the result when it is there.")
    places = places_of(test_day)
    if athlete.pk not in {one for one, _ in places} or benchmark.pk not in {one for _, one in places}:
        raise ValidationError(
            f"This day's grid has no place for {athlete} in {benchmark}. Add them to the day first, or enter the "
            "result with the athlete."
        )


def outcome_of(typed: str) -> str:
    """How a test ended without a number, as it is typed; empty for anything else."""
    said = " ".join(typed.lower().replace("’", "'").split()).rstrip(".")
    return next((str(outcome) for outcome, words in OUTCOMES.items() if said in words), "")


def _met(before: GridCell, typed: str) -> Outcome:
    """The cell is not as it was seen. The same text, or nothing where nothing is left, needs no second look."""
    if before.typed == (TestSlot.Outcome(outcome_of(typed)).label or typed):
        return Outcome(State.SAVED, "", before)
    who = before.by or "Someone"
    words = f"{who} entered {before.typed} meanwhile." if before.effort else "This was taken back meanwhile."
    return Outcome(State.CHANGED, words, before)


def _off(athlete: Athlete, benchmark: Benchmark, typed: str) -> str:
    """Which way a result is off what is expected of this athlete; nothing where something else is odd about it."""
    result = understand(as_kept(typed, athlete, benchmark), benchmark)
    value, duration = reduced(benchmark, result.value, result.repetitions)
    mean, covariance = of_people(benchmark, people_of([athlete]))
    seconds = np.inf if duration is None else duration
    odd = float(away(benchmark, [result.value], [result.repetitions], mean, covariance)[0])
    if abs(odd) <= SURPRISE_SD or doubts(benchmark, value, seconds) != Doubt.NONE:
        return ""
    better, worse, hint = SLIPS[benchmark.measure]
    per_set = value / result.value if benchmark.measure == Measure.LIFT else 1.0
    about = float(expected(benchmark, mean, covariance).value[0]) / per_set
    about = result_text(benchmark.measure, float(rounded(about, 1)), result.repetitions, athlete.load_unit)
    return f"{(better if odd > 0 else worse).capitalize()} than expected (about {about}): {hint}."
