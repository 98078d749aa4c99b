"""Twenty circuits of common practice × five kinds of athletes, line by line as a coach would read them.

Every line of the golden file was looked at by hand: would a coach write that? A change of the method shows as changed
lines: look at each again, then renew the file with

    python -m tests.sessions.scaling.test_golden_circuits
"""

from pathlib import Path

import pytest

from athletes.capacity.people import People
from sessions.scaling.preview import notes
from sessions.scaling.targets import Reason
from tests.sessions.scaling.catalogue import (
    Athlete,
    Plan,
    Rung,
    asked_of,
    estimates_of,
    targets_by_sex,
)

GOLDEN = Path(__file__).parent / "golden" / "circuits.txt"


def results(row2000, row500, ski, bike, mile, pulls, rings, pushes, sits, jumps, throws, swings, squats, burpees, plank,
           deadlift, squat, press, bell):  # fmt: skip
    return {
        "row": ((2000.0, row2000), (500.0, row500)), "ski": ((1000.0, ski),), "bike": ((bike, 60.0),),
        "run": ((1609.344, mile),), "strict pull-up": (pulls,), "ring row": (rings,), "push-up": (pushes,),
        "sit-up": (sits,), "box jump": (jumps,), "throw": (throws,), "swing": ((bell, swings),),
        "air squat": (squats,), "burpee": ((burpees, 420.0),), "plank": (plank,), "deadlift": ((deadlift, 1),),
        "back squat": ((squat, 1),), "overhead press": ((press, 1),),
    }  # fmt: skip


# Strong, average man, average woman, older and back after a break (second week), newcomer untested (first week)
ATHLETES = [
    Athlete(
        "strong man",
        "male",
        84,
        28,
        results(402, 88, 212, 36, 360, 16, 38, 50, 65, 45, 45, 55, 120, 112, 200, 190, 155, 75, 24),
    ),
    Athlete(
        "average man",
        "male",
        82,
        36,
        results(455, 99, 240, 28, 470, 7, 24, 30, 45, 28, 28, 38, 75, 75, 120, 140, 105, 55, 24),
    ),
    Athlete(
        "average woman",
        "female",
        66,
        35,
        results(510, 114, 275, 17, 540, 1, 15, 12, 38, 20, 22, 26, 65, 60, 100, 88, 65, 31, 16),
    ),
    Athlete(
        "older, returning",
        "female",
        70,
        58,
        results(560, 127, 310, 12, 690, 0, 11, 7, 26, 6, 14, 20, 42, 40, 70, 70, 48, 24, 16),
        week=2,
    ),
    Athlete("newcomer", "male", 80, 32, week=1),
]

PULLS = (Rung("banded pull-up", 8), Rung("ring row", 11))
PUSHES = (Rung("push-up, hands on a box", 14),)
CIRCUITS = [
    Plan(
        "Seven rounds, hard",
        (
            (48, Rung("row", 13), Rung("ski", 12)),
            (45, Rung("strict pull-up", 6), *PULLS),
            (45, Rung("hip-extension sit-up", 12), Rung("sit-up", 16)),
            (45, Rung("box jump", 11), Rung("step-up", 12)),
        ),
        7,
    ),
    Plan(
        "Machines in turn, steady",
        ((50, Rung("row", (12, 15))), (50, Rung("ski", (10, 13))), (50, Rung("bike", (10, 14)))),
        8,
        "steady",
    ),
    Plan(
        "Bar and breath, hard",
        (
            (45, Rung("deadlift", 6, percent=65)),
            (45, Rung("burpee", 9)),
            (45, Rung("row", 200, metres=True)),
            (45, Rung("rope skip", 50)),
        ),
        6,
    ),
    Plan(
        "Runs and bells, hard",
        ((55, Rung("run", 175)), (45, Rung("swing", 15, 24, 16)), (45, Rung("push-up", 12), *PUSHES)),
        8,
        interval_s=75.0,
    ),
    Plan(
        "Easy Sunday",
        ((50, Rung("bike", 12)), (45, Rung("air squat", 15)), (45, Rung("sit-up", 12)), (45, Rung("plank", 40))),
        6,
        "easy",
    ),
    Plan(
        "Goblet and throw, hard",
        (
            (42, Rung("goblet squat", 10, 24, 16)),
            (42, Rung("throw", 12), Rung("air squat", 16)),
            (48, Rung("ski", 12)),
            (42, Rung("ring row", 10)),
        ),
        6,
    ),
    Plan(
        "Squats by the percentage, steady",
        ((50, Rung("back squat", 5, percent=70)), (45, Rung("box jump", 8)), (50, Rung("row", 12))),
        7,
        "steady",
    ),
    Plan(
        "Press in reserve, hard",
        (
            (45, Rung("overhead press", 6, reserve=3)),
            (45, Rung("toes to the bar", 8), Rung("sit-up", 14)),
            (48, Rung("bike", 14)),
        ),
        7,
    ),
    Plan(
        "Open last round, hard",
        ((45, Rung("push-up", (10, 14)), *PUSHES), (45, Rung("air squat", 20)), (45, Rung("sit-up", 15))),
        8,
        open_last=True,
    ),
    Plan(
        "By rounds, hard",
        ((48, Rung("row", 14)), (45, Rung("burpee", 9)), (45, Rung("swing", 16, 24, 16))),
        9,
        scaling="rounds",
    ),
    Plan(
        "Six stations, 36 minutes, steady",
        (
            (48, Rung("row", 13)),
            (45, Rung("push-up", 10), *PUSHES),
            (48, Rung("ski", 11)),
            (45, Rung("walking lunge", 16)),
            (48, Rung("bike", 12)),
            (50, Rung("plank", 45)),
        ),
        6,
        "steady",
    ),
    Plan(
        "Long intervals, hard",
        ((90, Rung("run", 300)), (90, Rung("row", 400, metres=True)), (80, Rung("burpee", (12, 16)))),
        4,
        interval_s=120.0,
    ),
    Plan(
        "Grip and hinge, hard",
        (
            (45, Rung("dead hang", 30)),
            (45, Rung("swing", 14, 24, 16)),
            (45, Rung("strict pull-up", 4), Rung("ring row", 8)),
            (48, Rung("ski", 11)),
        ),
        6,
    ),
    Plan(
        "Cleans, hard",
        ((45, Rung("power clean", 4, 60, 40)), (45, Rung("box jump", 9), Rung("step-up", 14)), (48, Rung("row", 13))),
        8,
    ),
    Plan("Test day", ((50, Rung("row", 16)), (45, Rung("burpee", 12)), (45, Rung("sit-up", 18))), 7, "test"),
    Plan(
        "Steps and skips, easy",
        ((50, Rung("step-up", 20)), (45, Rung("rope skip", 60)), (50, Rung("ski", 10)), (45, Rung("ring row", 8))),
        5,
        "easy",
    ),
    Plan(
        "Bench and row, hard",
        (
            (45, Rung("bench press", 8, 60, 32.5)),
            (48, Rung("row", 14)),
            (45, Rung("ring row", 12)),
            (50, Rung("plank", 45)),
            (45, Rung("shuttle step", 32)),
        ),
        5,
    ),
    Plan(
        "Ranges all round, steady",
        (
            (48, Rung("ski", (8, 13))),
            (45, Rung("strict pull-up", (4, 7)), Rung("ring row", (7, 12))),
            (45, Rung("air squat", (12, 20))),
            (50, Rung("run", (150, 200))),
        ),
        6,
        "steady",
    ),
    Plan(
        "Partners, hard",
        ((50, Rung("bike", 18)), (45, Rung("throw", 16), Rung("air squat", 20)), (45, Rung("push-up", 16), *PUSHES)),
        6,
        partners=2,
    ),
    Plan(
        "Throws and lunges, 40 minutes, hard",
        (
            (42, Rung("throw", 13), Rung("air squat", 16)),
            (45, Rung("walking lunge", 18)),
            (48, Rung("row", 12)),
            (45, Rung("hip-extension sit-up", 10), Rung("sit-up", 14)),
            (48, Rung("bike", 12)),
        ),
        8,
    ),
]
UNITS = {"kcal": " kcal", "metres": " m", "repetitions": "", "load_repetitions": "", "seconds": " s"}


def rung_text(rung):
    dose = f"{rung.dose[0]}–{rung.dose[1]}" if isinstance(rung.dose, tuple) else f"{rung.dose:g}"
    load = f" × {rung.kg:g}/{rung.womens_kg:g} kg" if rung.kg else f" at {rung.percent:g} %" if rung.percent else ""
    load = f" with {rung.reserve:g} left" if rung.reserve else load
    below = " (library)" if rung.from_library else ""
    return f"{rung.name} {dose}{UNITS[rung.kind]}{load}{below}"


def render(plan, estimates):
    asked, session = asked_of(plan, ATHLETES, estimates)
    step_s = plan.interval_s * plan.partners
    minutes = plan.rounds * len(plan.stations) * step_s / 60.0
    lines = [f"# {plan.title}: {plan.rounds} rounds every {step_s:g} s, {minutes:g} min, {plan.intent} day"]
    for s, (window, rungs) in enumerate(plan.ladders):
        lines.append(f"{s + 1}. in {window} s: {' | '.join(map(rung_text, rungs))}")
        for athlete in ATHLETES:
            own = asked[athlete.name, s]
            kind = next((rung.kind for rung in rungs if rung.name == own.name), "repetitions")
            load = "" if own.kg is None else f" × {own.kg:g} kg"
            rounds = "" if own.rounds == plan.rounds else f", {own.rounds} rounds"
            reason = Reason(own.reason).name.lower().replace("_", " ")
            lines.append(
                f"   {athlete.name:17} {own.name} {own.dose:g}{UNITS[kind]}{load}{rounds}"
                f"  (left {own.headroom:.0%}, chance {own.probability:.0%}, {reason})"
            )
    for athlete in ATHLETES:
        rpe, prescribed = session[athlete.name]
        lines.append(f"   {athlete.name:17} RPE {rpe:.1f}, as prescribed {prescribed} of {plan.rounds} rounds")
    for sex, (_, circuit, _, targets, _) in targets_by_sex(plan, ATHLETES, estimates).items():
        names = [[rung.name for rung in rungs] for _, rungs in plan.ladders]
        whom = "women" if sex == "female" else "men"
        lines += [f"   to the coach, of {whom}: {note.says}" for note in notes(circuit, targets, names)]
    return "\n".join(lines)


def golden():
    estimates = estimates_of(ATHLETES)
    return [render(plan, estimates) for plan in CIRCUITS]


@pytest.fixture(scope="module")
def found():
    return golden()


@pytest.mark.parametrize("number", range(len(CIRCUITS)))
def test_every_line_is_the_one_that_was_looked_at(found, number):
    kept = GOLDEN.read_text(encoding="utf-8").rstrip("\n").split("\n\n")
    assert len(kept) == len(found)
    assert found[number].splitlines() == kept[number].splitlines()


def test_circuits_are_of_common_size():
    for plan in CIRCUITS:
        assert 15.0 <= plan.rounds * len(plan.stations) * plan.interval_s * plan.partners / 60.0 <= 40.0, plan.title
    assert len(CIRCUITS) == 20
    assert len(People.of([a.sex for a in ATHLETES], 70.0)) == 5


if __name__ == "__main__":
    GOLDEN.parent.mkdir(exist_ok=True)
    GOLDEN.write_text("\n\n".join(golden()) + "\n", encoding="utf-8")
