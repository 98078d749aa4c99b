"""Benchmarks from the list of usual tests (athletes.benchmarks.library), for the movements that this gym has."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db import transaction
from django.utils.text import slugify

from athletes.benchmarks.library import ENTRIES, LibraryTest, same_fixed
from athletes.models import Benchmark, Movement

MOST_NAME, MOST_SLUG = 60, 50
PACED = Benchmark.PACED_MEASURES


@dataclass(frozen=True)
class Offer:
    """A test of the list for a movement of the gym; `there` is the benchmark that already is this test."""

    entry: LibraryTest
    movement: Movement
    there: Benchmark | None = None

    @property
    def key(self) -> str:
        return f"{self.entry.key}:{self.movement.pk}"

    @property
    def name(self) -> str:
        """Row 500 m; Pull-up, most unbroken."""
        between = " " if self.entry.engines else ", "
        room = MOST_NAME - len(between) - len(self.entry.title)
        return f"{self.movement.name[:room]}{between}{self.entry.title}"


def offers() -> list[Offer]:
    """The tests that fit the gym's movements, by movement, those that are already there among them. Two queries."""
    there: dict[tuple[int, str], list[Benchmark]] = {}
    for benchmark in Benchmark.objects.order_by("archived", "pk"):  # one that is archived is still the same test
        there.setdefault((benchmark.movement_id, benchmark.measure), []).append(benchmark)
    found = [(movement, entry) for movement in Movement.objects.filter(archived=False) for entry in _fitting(movement)]
    return [
        Offer(entry, movement, _same(entry, there.get((movement.pk, entry.measure), []))) for movement, entry in found
    ]


@transaction.atomic
def benchmarks_add(keys: Iterable[str]) -> list[str]:
    """Add the tests with these keys, but for those that are already there; the names of what was added.

    Safe to repeat: the same keys again add nothing, and of two coaches at once one adds.
    """
    wanted = set(keys)
    chosen = [offer for offer in offers() if offer.key in wanted and offer.there is None]
    names, slugs = (set(Benchmark.objects.values_list(field, flat=True)) for field in ("name", "slug"))
    rows = _rows(chosen, names, slugs)
    Benchmark.objects.bulk_create(rows, ignore_conflicts=True)
    return [row.name for row in rows]


def benchmarks_of(movement: Movement, keys: Collection[str]) -> list[Benchmark]:
    """The tests of the list with these keys, of a movement that need not be kept; no row is."""
    return _rows([Offer(entry, movement) for entry in _fitting(movement) if entry.key in keys], set(), set())


def _rows(chosen: Iterable[Offer], names: set[str], slugs: set[str]) -> list[Benchmark]:
    """Benchmarks to be kept, each with a name and a slug of its own."""
    rows = []
    for offer in chosen:
        name = _free(offer.name, names, MOST_NAME, " ")
        slug = _free(slugify(name)[:MOST_SLUG] or "benchmark", slugs, MOST_NAME, "-")
        rows.append(_row(offer, name, slug))
    return rows


def _row(offer: Offer, name: str, slug: str) -> Benchmark:
    entry = offer.entry
    same = {"movement": offer.movement, "measure": entry.measure, "fixed": entry.fixed}
    return Benchmark(name=name, slug=slug, instructions=entry.instructions, **same)


def _fitting(movement: Movement) -> list[LibraryTest]:
    """Entries of the movement's engine; else those of the first words in its name whose measure fits."""
    if movement.engine:
        return [entry for entry in ENTRIES if movement.engine in entry.engines]
    slug = f"-{slugify(movement.name)}-"
    kinds = Benchmark.KIND_OF_MEASURE
    measures = [m for m, kind in kinds.items() if kind == movement.kind and (movement.paced or m not in PACED)]
    named = [e for e in ENTRIES if e.words and e.measure in measures and f"-{e.words}-" in slug]
    return [entry for entry in named if entry.words == named[0].words]


def _same(entry: LibraryTest, benchmarks: list[Benchmark]) -> Benchmark | None:
    return next((benchmark for benchmark in benchmarks if same_fixed(benchmark.fixed, entry.fixed)), None)


def _free(text: str, taken: set[str], most: int, between: str) -> str:
    """The text, numbered where it is taken; it is taken from now on."""
    free, number = text, 1
    while free in taken:
        number += 1
        end = f"{between}{number}"
        free = text[: most - len(end)] + end
    taken.add(free)
    return free
