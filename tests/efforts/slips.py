"""Are sound results let through, and slips asked about? Simulated athletes with honest noise, judged as on a test day.

    .venv/bin/python -m tests.efforts.slips [athletes] [seed]

What athletes can really do is drawn from the spread that the method assumes of strangers; each has one to four earlier
tests of each kind, up to a year old, and changes at random meanwhile as the method says that people do. A trial
scatters by `trial_sd`, nobody is quite the curve (`MISFIT_SD`, the same in each test of one kind), monitors show whole
calories, stopwatches tenths, and bars are loaded in steps of 2.5 kg.
"""

import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

DRIFT_PER_YEAR = {"engine": 0.12, "other": 0.15}
MEANT = 0.25  # a slip that moves a result by less looks like one of the athlete's own: nobody could tell
CHARACTERS = "0123456789"


@dataclass(frozen=True)
class Case:
    """What was typed of a sound result."""

    athlete: object
    benchmark: object
    typed: str


def simulate(count: int, seed: int) -> list[Case]:
    """Athletes with earlier efforts and estimates, and one more sound result of each in each benchmark."""
    from athletes.capacity.constants import MISFIT_SD
    from athletes.capacity.movements import movement_prior
    from athletes.capacity.priors import engine_prior
    from athletes.efforts.write import understand
    from athletes.estimates.library import involvement_of, learnt
    from athletes.estimates.people import facts_of
    from athletes.estimates.write import estimates_refresh
    from athletes.gym.read import today
    from athletes.models import Athlete, Benchmark, Effort

    random = np.random.default_rng(seed)
    sexes = random.choice(["female", "male"], count)
    athletes = Athlete.objects.bulk_create(
        Athlete(
            name=f"Simulated {n}", board_name=f"S{n}", sex=sex, born=date(1960 + int(random.integers(0, 45)), 5, 5),
            body_mass_kg=round(float(random.normal(64 if sex == "female" else 80, 9)), 1),
        )
        for n, sex in enumerate(sexes)
    )  # fmt: skip
    facts, taught, efforts, cases = facts_of(athletes, today()), learnt(), [], []
    truths: dict = {}
    for benchmark in Benchmark.objects.select_related("movement__machine_type").order_by("pk"):
        movement = benchmark.movement
        subject = movement.engine or movement.pk
        if subject not in truths:
            if movement.engine:
                mean, cov = engine_prior(movement.engine, facts, taught.centre)
                root = np.linalg.cholesky(np.broadcast_to(cov, (count, 3, 3)))
                truths[subject] = np.broadcast_to(mean, (count, 3)) + np.einsum(
                    "nij,nj->ni", root, random.normal(size=(count, 3))
                )
            else:
                mean, sd = movement_prior(taught.movement(movement, involvement_of(movement)), facts)
                truths[subject] = (mean + sd * random.normal(size=count))[:, None]
        for row, athlete in enumerate(athletes):
            ages = sorted(random.integers(14, 366, random.integers(1, 5)), reverse=True)
            drift = DRIFT_PER_YEAR["engine" if movement.engine else "other"]
            misfit = random.normal() * MISFIT_SD
            # A random walk that ends at what the athlete can do today.
            past = np.cumsum([0.0, *(random.normal() * drift * np.sqrt(d / 365) for d in np.diff([0, *ages[::-1]]))])
            for age, off in [(0, 0.0), *zip(ages[::-1], past[1:], strict=True)]:
                typed = _result(benchmark, truths[subject][row], off + misfit, random)
                if age:
                    says = understand(typed, benchmark)
                    efforts.append(
                        Effort(
                            athlete=athlete, benchmark=benchmark, value=says.value, repetitions=says.repetitions,
                            fixed=benchmark.fixed, typed=typed, performed_on=today() - timedelta(days=int(age)),
                        )
                    )  # fmt: skip
                else:
                    cases.append(Case(athlete, benchmark, typed))
    Effort.objects.bulk_create(efforts)
    estimates_refresh()
    return cases


def _result(benchmark, truth, off: float, random) -> str:
    """A trial as it would be typed."""
    from athletes.capacity import best
    from athletes.capacity.strength import one_rep_max
    from athletes.estimates.observations import trial_sd
    from athletes.models import Benchmark

    measure = benchmark.measure
    repetitions = int(random.choice([1, 3, 5])) if measure == "lift" else None
    scatter = off + random.normal() * trial_sd(benchmark, repetitions)
    if len(truth) == 1:
        value = float(np.exp(truth[0] + scatter))
        if measure == "lift":
            return f"{max(2.5 * round(value / float(one_rep_max(1.0, repetitions)) / 2.5), 2.5):g}x{repetitions}"
        return str(int(value))
    theta = np.asarray(truth) + np.array([scatter, scatter, 0.0])
    machine = benchmark.movement.machine_type
    scale = (machine.kcal_base, machine.kcal_slope) if machine else ()
    if measure == Benchmark.Measure.CALORIES_IN_TIME:
        return str(int(best.best_kcal(benchmark.fixed, theta, *scale)))
    seconds = float(best.best_time_for_distance(benchmark.movement.engine, benchmark.fixed, theta))
    return (
        f"{int(seconds // 60)}:{seconds % 60:04.1f}"
        if round(seconds % 60, 1) < 60
        else f"{int(seconds // 60) + 1}:00.0"
    )


def slips_of(case: Case) -> Iterator[str]:
    """Every result with one digit wrong."""
    for place, character in enumerate(case.typed):
        if character in CHARACTERS and "x" not in case.typed[:place]:
            yield from (case.typed[:place] + d + case.typed[place + 1 :] for d in CHARACTERS if d != character)


def judged(pairs: list[tuple[Case, str]]) -> list[bool]:
    """Whether each text is questioned or refused when it is typed for its case's athlete."""
    from django.core.exceptions import ValidationError

    from athletes.efforts.write import understand
    from athletes.gym.read import today
    from athletes.importing.doubts import Candidate, doubts
    from athletes.importing.sheets.rows import ReadCell
    from athletes.models import Benchmark

    benchmarks = Benchmark.objects.select_related("movement__machine_type").in_bulk()
    asked, candidates, places = [True] * len(pairs), [], []
    for place, (case, typed) in enumerate(pairs):
        try:
            says = understand(typed, case.benchmark)
        except ValidationError:
            continue
        entry = ReadCell(place, "", case.benchmark.pk, typed, today(), says.value, says.repetitions)
        candidates.append(Candidate(entry, case.athlete))
        places.append(place)
    for place, answer in zip(places, doubts(candidates, benchmarks), strict=True):
        asked[place] = bool(answer.refused or answer.question)
    return asked


def shares(cases: list[Case], seed: int) -> dict[str, dict[str, float]]:
    """Of each benchmark, the shares that are asked about: of sound results, of slips, and of slips that move the result
    by `MEANT` or more."""
    from django.core.exceptions import ValidationError

    from athletes.efforts.write import understand

    random = np.random.default_rng(seed)
    pairs, kinds = [], []
    for case in cases:
        pairs.append((case, case.typed))
        kinds.append("sound")
        value = understand(case.typed, case.benchmark).value
        slips = list(slips_of(case))
        for slip in random.permutation(slips)[:6]:
            try:
                moved = abs(understand(str(slip), case.benchmark).value / max(value, 0.9) - 1.0)
            except ValidationError:
                moved = np.inf
            pairs.append((case, str(slip)))
            kinds.append("slips" if moved >= MEANT else "small slips")
    found: dict = defaultdict(lambda: defaultdict(list))
    for (case, _), kind, asked in zip(pairs, kinds, judged(pairs), strict=True):
        for name in (case.benchmark.name, "all"):
            found[name][kind].append(asked)
    return {name: {kind: float(np.mean(asked)) for kind, asked in kinds.items()} for name, kinds in found.items()}


def main(count: int, seed: int) -> None:
    from tests import gym

    gym.furnish()
    for name, kinds in shares(simulate(count, seed), seed).items():
        print(f"{name:24}", *(f"{kind} {share:6.1%}" for kind, share in sorted(kinds.items())), sep="   ")


if __name__ == "__main__":
    import os
    import tempfile

    os.environ["DJANGO_SETTINGS_MODULE"] = "coachhub.settings"
    os.environ.setdefault("DATA_DIR", tempfile.mkdtemp())
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
