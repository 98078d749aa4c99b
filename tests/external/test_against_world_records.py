"""A file of real results through import, estimate and prediction: each record foretold from the others.

Data: men's track running records as of 9 August 2006, set `worldRecords` of the R package DAAG (times are facts;
retyped from there). All are dated on that day, on which they stood: what is old would count for less. It is the one
open set found with several timed efforts of one kind; rowing, ski and fan-bike results, or athletes with more than two
tests, were in none.
"""

from datetime import date
from uuid import uuid4

import numpy as np
import pytest

from athletes.capacity.best import best_time_for_distance
from athletes.estimates.write import estimates_refresh
from athletes.importing.run import run
from athletes.importing.write import import_begin, import_check, import_keep
from athletes.models import Athlete, Benchmark, Effort, Estimate, Movement
from athletes.words import clock

# Metres, and minutes as given there.
RECORDS = [
    (800, 1.685167),
    (1000, 2.199333),
    (1500, 3.433333),
    (2000, 4.746500),
    (3000, 7.344500),
    (5000, 12.622500),
    (10_000, 26.292167),
]
STOOD_ON = date(2006, 8, 9)


@pytest.fixture
def imported(gym_row, coach) -> Athlete:
    run_movement = Movement.objects.create(name="Run", slug="run", kind="engine", engine="run")
    Benchmark.objects.bulk_create(
        Benchmark(
            name=f"{metres} m run",
            slug=f"run-{metres}",
            movement=run_movement,
            measure="time_for_distance",
            fixed=metres,
        )
        for metres, _ in RECORDS
    )
    lines = [f"Holder,{metres / 1000:g} km run,{minutes},{STOOD_ON}" for metres, minutes in RECORDS]
    content = "Athlete,Event,Time (min),Date\n" + "\n".join(lines) + "\n"
    source = import_begin(key=uuid4(), filename="records.csv", content=content.encode(), by=coach)
    import_check(source=source)
    run(source.pk)
    source.refresh_from_db()
    asked = source.remarks.filter(kind="questioned").values_list("pk", flat=True)  # nobody here runs like that
    import_keep(source=source, create_athletes=True, wanted=asked)
    run(source.pk)
    return Athlete.objects.get()


def test_every_record_is_imported_as_it_was_run(imported):
    kept = imported.efforts.order_by("fixed").values_list("fixed", "value")
    assert list(kept) == [(metres, pytest.approx(60 * minutes, rel=1e-5)) for metres, minutes in RECORDS]
    # Far beyond a gym's athletes, and said so.
    assert Effort.objects.filter(question__contains="far better than expected").exists()


def test_each_record_is_foretold_from_the_others(imported, capsys):
    errors = []
    for metres, minutes in RECORDS[1:-1]:
        left_out = imported.efforts.get(fixed=metres)
        Effort.objects.filter(pk=left_out.pk).update(voided_at="2006-08-09T00:00Z", void_reason="Left out.")
        estimates_refresh(athletes=[imported.pk], as_of=STOOD_ON)
        Effort.objects.filter(pk=left_out.pk).update(voided_at=None, void_reason="")
        theta = np.array(Estimate.objects.get(engine="run").mean)
        seconds = float(best_time_for_distance("run", metres, theta))
        errors.append(seconds / (60 * minutes) - 1)
        with capsys.disabled():
            print(f"\n{metres:6} m: foretold {clock(seconds)}, run in {clock(60 * minutes)}, {errors[-1]:+.1%}", end="")
    rms = float(np.sqrt(np.mean(np.square(errors))))
    with capsys.disabled():
        print(f"\nroot of the mean square: {rms:.1%}")
    assert rms < 0.02
    assert max(map(abs, errors)) < 0.03
