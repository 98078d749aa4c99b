"""Two years of efforts as rows: what was typed when, and what was voided later."""

from collections import defaultdict
from datetime import date, datetime, time, timedelta

from athletes.capacity.plausibility import Doubt, sentence
from athletes.efforts.write import understand
from athletes.models import Account, Athlete, Benchmark, Effort
from athletes.words import clock
from coachhub.demo.gym import ZONE
from coachhub.demo.keys import demo_key
from coachhub.demo.results import RECIPES, results
from coachhub.demo.schedule import TYPING, appointments
from coachhub.demo.typed import typed_text

Own = dict[tuple[str, str], list[Effort]]  # by name of athlete and benchmark, the oldest first

# The latest of these was typed a minute too fast, kept all the same, and replaced a little later.
SLIPS = [
    ("Davor Pelinčić", "Row 2000 m"),
    ("Eero Kivilampi", "Ski 1000 m"),
    ("Freya Holmstrand", "Ski 1000 m"),
    ("Nadia Belouizdane", "Row 2000 m"),
    ("Petra Schwarzwälder-Hönig", "Row 2000 m"),
]
# The latest of these never counted.
VOIDED = {
    ("Amara Ezebuiro", "Fan bike 10-minute calories"): "The monitor had not been set back to zero.",
    ("Ólafur Hraunfjörð", "Unbroken pull-ups"): "Chin below the bar from the fifth on; he asked for it to go.",
    ("Saoirse Mulqueen", "Run 5 km"): "One lap too few.",
}


def efforts_create(
    athletes: dict[str, Athlete], benchmarks: dict[str, Benchmark], staff: list[Account], as_of: date
) -> None:
    """Put two years of efforts in, as if staff had typed them on the evening of each test."""
    own = _efforts(athletes, benchmarks, staff, as_of)
    replacements = [_replacement(own[who], staff[0]) for who in SLIPS if own[who]]
    for who, reason in VOIDED.items():
        if own[who]:
            _void(own[who][-1], staff[-1], reason)
    kept = sorted((effort for efforts in own.values() for effort in efforts), key=lambda e: (e.performed_on, e.key))
    Effort.objects.bulk_create(kept, batch_size=500)
    Effort.objects.bulk_create(replacements)
    for day in {effort.performed_on for effort in kept}:
        Effort.objects.filter(performed_on=day).update(entered_at=_evening(day))


def _efforts(athletes: dict, benchmarks: dict, staff: list[Account], as_of: date) -> Own:
    own: Own = defaultdict(list)
    tests = appointments(as_of)
    for test, best in zip(tests, results(tests), strict=True):
        name, rng = test.person.name, test.random(TYPING)
        typed = typed_text(RECIPES[test.benchmark], best, test.person.unit, rng)
        if typed is None:
            continue
        by = staff[rng.integers(len(staff))]
        effort = _effort(athletes[name], benchmarks[test.benchmark], typed, test.day, by)
        own[name, test.benchmark].append(effort)
    return own


def _effort(athlete: Athlete, benchmark: Benchmark, typed: str, day: date, by: Account, **more) -> Effort:
    """An effort as `efforts.write.effort_record` would keep it, not saved yet."""
    result = understand(typed, benchmark)
    return Effort(
        key=demo_key("effort", athlete.name, benchmark.slug, day, typed),
        athlete=athlete,
        benchmark=benchmark,
        value=result.value,
        fixed=benchmark.fixed,
        repetitions=result.repetitions,
        typed=typed,
        performed_on=day,
        entered_by=by,
        **more,
    )


def _replacement(efforts: list[Effort], by: Account) -> Effort:
    """Turn the latest of these efforts of one athlete into a slip; the effort that replaces it."""
    right = efforts[-1]
    question = f"{sentence(Doubt.FAR_ABOVE)} About {clock(right.value)} was expected."
    wrong_text = clock(right.value - 60)
    wrong = _effort(right.athlete, right.benchmark, wrong_text, right.performed_on, right.entered_by, question=question)
    _void(wrong, by, f"Replaced by {right.typed}.")
    right.replaces = efforts[-1] = wrong
    return right


def _void(effort: Effort, by: Account, reason: str) -> None:
    effort.voided_at = _evening(effort.performed_on) + timedelta(hours=1)
    effort.voided_by, effort.void_reason = by, reason


def _evening(day: date) -> datetime:
    return datetime.combine(day, time(20, 40), ZONE)
