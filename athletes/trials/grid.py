"""The entry grid of a test day: athletes × benchmarks, what is expected of each and what was entered."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Count, Max, Q

from athletes.capacity.best import interval
from athletes.capacity.strength import one_rep_max
from athletes.efforts.expectations import expected, of_people
from athletes.estimates.observations import can_be
from athletes.estimates.people import People, known_of
from athletes.models import Athlete, Benchmark, Effort, TestDay, TestSlot
from athletes.trials.read import HeatLines, heats_of, slots_of
from athletes.words import name_order, result_parts, result_text

Place = tuple[int, int]  # athlete id, benchmark id
Measure = Benchmark.Measure
FASTER = (Measure.TIME_FOR_DISTANCE, Measure.TIME_FOR_CALORIES)
TIMED = (*FASTER, Measure.HOLD)
COLUMNS = ("pk", "athlete_id", "benchmark_id", "performed_on", "value", "repetitions", "fixed", "typed", "question")
COLUMNS += ("benchmark__measure", "athlete__load_unit", "entered_by__name", "entered_by__username")


@dataclass(frozen=True)
class GridCell:
    """What stands in a cell: the effort that counts of that day, 0 for none; below 0 stands how the test ended without
    a number."""

    effort: int = 0
    typed: str = ""
    shown: str = ""
    best: bool = False
    by: str = ""


EMPTY = GridCell()
SEEN_AGAIN = timedelta(seconds=10)  # told once more: what was kept just before may have been committed after
UNPLANNED = (None, 0, "")  # heat, lane and machine of a test that is not on the list


@dataclass(frozen=True)
class Cell:
    """A place of the grid; `heat` of the plan, 0 without one, None where nothing is planned; `lane` is its place among
    those of the heat, in the order of their machines."""

    benchmark: Benchmark
    entry: GridCell
    expects: str
    heat: int | None
    lane: int
    machine: str


@dataclass(frozen=True)
class GridRow:
    athlete: Athlete
    cells: list[Cell]


@dataclass(frozen=True)
class Grid:
    benchmarks: list[Benchmark]
    rows: list[GridRow]
    heats: list[HeatLines]

    @property
    def timed(self) -> list[Benchmark]:
        """Benchmarks that a stopwatch can fill in."""
        return [benchmark for benchmark in self.benchmarks if benchmark.measure in TIMED]


def load_grid(test_day: TestDay) -> Grid:
    """The grid of everyone on the day's list; nine queries, however many they are."""
    slots = slots_of(test_day)
    planned = {
        (slot.athlete_id, slot.benchmark_id): (slot.heat, lane, slot.machine_short) for lane, slot in enumerate(slots)
    }
    benchmarks = {slot.benchmark_id: slot.benchmark for slot in slots}
    people = known_of([slot.athlete_id for slot in slots])
    entries = entries_of(test_day, planned)
    expects = {benchmark.pk: _expects(benchmark, people) for benchmark in benchmarks.values()}
    rows = [
        GridRow(
            athlete,
            [
                Cell(b, entries.get(place, EMPTY), expects[b.pk][row], *planned.get(place, UNPLANNED))
                for b in benchmarks.values()
                for place in [(athlete.pk, b.pk)]
            ],
        )
        for row, athlete in enumerate(people.athletes)
    ]
    rows.sort(key=lambda row: (name_order(row.athlete.name), row.athlete.pk))
    return Grid(list(benchmarks.values()), rows, heats_of(slots))


def places_of(test_day: TestDay) -> list[Place]:
    """Athlete and benchmark of every test that is planned; one query."""
    return list(test_day.slots.order_by().values_list("athlete_id", "benchmark_id"))


def entries_of(test_day: TestDay, places: Iterable[Place]) -> dict[Place, GridCell]:
    """What was entered for the day, wherever these athletes and benchmarks meet; three queries, and one more
    where a personal best was questioned."""
    athletes, wanted = ({place[part] for place in places} for part in (0, 1))
    return _entries(test_day, athletes, Benchmark.objects.select_related("movement__machine_type").in_bulk(wanted))


def changed_places(test_day: TestDay, since: datetime) -> list[Place]:
    """Where something was entered or taken back from a moment on, or a little before it; two queries."""
    since -= SEEN_AGAIN
    efforts = Effort.objects.filter(performed_on=test_day.date, benchmark__in=test_day.slots.values("benchmark"))
    changed = efforts.filter(Q(entered_at__gte=since) | Q(voided_at__gte=since)).order_by()
    ended = test_day.slots.filter(outcome_at__gte=since).order_by()
    wanted = ("athlete_id", "benchmark_id")
    return list({*changed.values_list(*wanted), *ended.values_list(*wanted)})


def _entries(test_day: TestDay, athletes: set[int], benchmarks: dict[int, Benchmark]) -> dict[Place, GridCell]:
    efforts = Effort.objects.standing().filter(
        athlete__in=athletes, benchmark__in=benchmarks, performed_on__lte=test_day.date
    )
    found = _outcomes(test_day, athletes)
    before, odd = {}, {}
    # Plain columns: this is asked by every open page every few seconds, and twice for every result.
    for row in efforts.order_by("performed_on", "pk").values_list(*COLUMNS, named=True):
        place = row.athlete_id, row.benchmark_id
        credible = can_be(benchmarks[row.benchmark_id], row.value, row.repetitions, row.fixed)
        if row.performed_on >= test_day.date:
            found[place] = entry = _entry(row, before.get(place) if credible else None)
            odd |= {entry.effort: place} if entry.best and row.question else {}
        elif credible:
            before[place] = max(_merit(row), before.get(place, float("-inf")))
    if odd:  # kept although it was questioned: whoever asked may have been right
        people = Athlete.objects.filter(pk__in={athlete for athlete, _ in odd.values()})
        for effort in {one for own in people.values_list("too_good", flat=True) for one in own} & odd.keys():
            found[odd[effort]] = replace(found[odd[effort]], best=False)
    return found


def _outcomes(test_day: TestDay, athletes: set[int]) -> dict[Place, GridCell]:
    """Tests that ended without a number; one query."""
    slots = test_day.slots.exclude(outcome="").filter(athlete__in=athletes).order_by()
    rows = slots.values_list("pk", "athlete_id", "benchmark_id", "outcome", "outcome_by__name", "outcome_by__username")
    labels = dict(TestSlot.Outcome.choices)
    return {
        (athlete, benchmark): GridCell(-pk, labels[outcome], labels[outcome], by=name or username or "")
        for pk, athlete, benchmark, outcome, name, username in rows
    }


def current(test_day: TestDay, athlete: Athlete, benchmark: Benchmark) -> GridCell:
    """What stands in one cell; two queries or three."""
    entries = _entries(test_day, {athlete.pk}, {benchmark.pk: benchmark})
    return entries.get((athlete.pk, benchmark.pk), EMPTY)


def tag_of(test_day: TestDay) -> str:
    """Changes with every result of the day that is entered or taken back; two queries."""
    efforts = Effort.objects.filter(performed_on=test_day.date, benchmark__in=test_day.slots.values("benchmark"))
    seen = efforts.aggregate(last=Max("pk"), standing=Count("pk", filter=Q(voided_at__isnull=True)))
    said = test_day.slots.aggregate(last=Max("outcome_at"))["last"]
    return f"{seen['last'] or 0}-{seen['standing']}-{said.timestamp() if said else 0:.6f}"


def open_elsewhere(test_day: TestDay, device: UUID | None) -> list[dict]:
    """On which other devices results of the day wait for a second look: by whom, how many; one query."""
    others = test_day.open_cells.filter(count__gt=0).exclude(device=device).order_by("-seen_at")
    return [
        {"by": name or username, "count": count}
        for name, username, count in others.values_list("by__name", "by__username", "count")
    ]


def _entry(row, before: float | None) -> GridCell:
    """`before`: the merit of the best earlier result to be better than; a first one is no personal best."""
    shown = result_text(row.benchmark__measure, row.value, row.repetitions, row.athlete__load_unit)
    best = before is not None and _merit(row) > before
    return GridCell(row.pk, row.typed, shown, best, row.entered_by__name or row.entered_by__username or "")


def _merit(row) -> float:
    """A number that is higher for a better result in the same benchmark."""
    if row.benchmark__measure == Measure.LIFT:
        return float(one_rep_max(row.value, row.repetitions or 1))
    return -row.value if row.benchmark__measure in FASTER else row.value


def _expects(benchmark: Benchmark, people: People) -> list[str]:
    """Between what and what each athlete is expected to come out, in 8 of 10 cases."""
    if not people.athletes:
        return []
    found = expected(benchmark, *of_people(benchmark, people))
    low, high = interval(found.value, found.sd_log)
    return [
        _between(benchmark, least, most, athlete.load_unit)
        for least, most, athlete in zip(low, high, people.athletes, strict=True)
    ]


def _between(benchmark: Benchmark, least: float, most: float, unit: str) -> str:
    """Two ends to the precision at which something is expected: whole seconds, metres, kilograms and repetitions."""
    measure, lift = benchmark.measure, benchmark.measure == Measure.LIFT
    (low, _), (high, word) = (result_parts(measure, round(float(end)), 1, unit) for end in (least, most))
    word = f"{unit} once" if lift else word
    low, high = low.removesuffix(".0"), high.removesuffix(".0")
    return f"{low if low == high else f'{low} to {high}'} {word}".strip()
