"""Results that do not fit an athlete's other results: which to check, in words for staff. Nothing is changed by it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from athletes.estimates.contradicted import contradicted
from athletes.models import Athlete, Effort
from athletes.words import day, name_order, result_text

MUCH_SD = 5.0  # from where on a contradiction is called a large one (ours)


@dataclass(frozen=True)
class Check:
    """One effort to look at again, and why."""

    athlete: Athlete
    effort: Effort
    sentence: str


def results_to_check(athlete_ids: Iterable[int], as_of: date) -> list[Check]:
    """Efforts that contradict others of the same athlete, by name. Ten queries at most, however many athletes."""
    found = contradicted(athlete_ids, as_of)
    ids = {one.effort for one in found} | {one.beside for one in found if one.beside}
    efforts = Effort.objects.select_related("benchmark").in_bulk(ids)
    checks = [
        Check(one.athlete, efforts[one.effort], sentence(efforts[one.effort], one.sds, efforts.get(one.beside)))
        for one in found
    ]
    return sorted(checks, key=lambda check: (name_order(check.athlete.name), check.athlete.pk, check.effort.pk))


def sentence(effort: Effort, sds: float, partner: Effort | None) -> str:
    """Which effort to check, which way it is off, and against what."""
    off = f"{'much ' if abs(sds) > MUCH_SD else ''}{'better' if sds > 0 else 'weaker'}"
    against = "than the other results say"
    if partner is not None:
        against = f"than goes with {_named(partner)}: nobody holds more power for longer"
    return f"Check {_named(effort)}: it is {off} {against}."


def _named(effort: Effort) -> str:
    result = result_text(effort.benchmark.measure, effort.value, effort.repetitions)
    return f"{effort.benchmark}, {result}, of {day(effort.performed_on)}"
