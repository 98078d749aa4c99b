"""The starter library in one press: kinds of machines, usual loads, movements, and benchmarks for the main ones."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.text import slugify

from athletes.benchmarks.write import benchmarks_add, benchmarks_of
from athletes.equipment.starter import starter_machines, starter_racks
from athletes.models import Benchmark, Movement
from athletes.movements.starter import starter_movements
from athletes.movements.write import starter_missing, starter_movement, starter_movements_add


@dataclass(frozen=True)
class Loaded:
    """How much of the library was new here."""

    movements: int
    benchmarks: int


@transaction.atomic
def starter_load() -> Loaded:
    """Add what the gym has not of the library. Safe to repeat; nothing that is there is written over.

    Benchmarks come only with movements that are new: who took one away does not get it back.
    """
    added = starter_movements_add(machines=starter_machines(), racks=starter_racks())
    ids = dict(Movement.objects.values_list("slug", "pk"))
    keys = [f"{test}:{ids[slugify(entry.name)]}" for entry in added for test in entry.tests]
    return Loaded(len(added), len(benchmarks_add(keys)))


def starter_benchmarks() -> list[Benchmark]:
    """The benchmarks that `starter_load` would add where the gym has none, to be looked at: nothing is written.

    Their ids, and those of their movements, are below zero, so that they are never taken for any that are kept.
    """
    machines = starter_machines(keep=False)
    found: list[Benchmark] = []
    for number, entry in enumerate(starter_missing(), start=1):
        movement = starter_movement(entry, machines, {})
        movement.pk = -number
        found.extend(benchmarks_of(movement, entry.tests))
    for number, benchmark in enumerate(found, start=1):
        benchmark.pk = -number
    return found


def starter_size() -> int:
    """How many movements the library has."""
    return len(starter_movements())
