"""What holds for every circuit, with loads set as they are for a room: random circuits, days and members."""

from dataclasses import replace

import numpy as np
import pytest

from tests.sessions.scaling.catalogue import MACHINES, MOVEMENTS, Athlete, Plan, Rung, asked_of, estimates_of

DAYS = ("test", "hard", "steady", "easy")
LIFTS = [name for name, entry in MOVEMENTS.items() if entry.kind == "loaded"]
OTHERS = [name for name, entry in MOVEMENTS.items() if entry.kind != "loaded"]


def members(rng, n=10):
    """Men and women of all levels with a few tests each, and one without any."""
    found = []
    for i in range(n):
        level, woman = float(np.exp(rng.normal(0.0, 0.25))), i % 2
        strong = level * (0.62 if woman else 1.0)
        tests = {
            "row": ((2000.0, 470.0 / level ** (1 / 3) * (1.14 if woman else 1.0)),),
            "back squat": ((100.0 * strong, 1),),
            "push-up": (float(np.floor(25 * strong)),),
            "strict pull-up": (float(np.floor(7 * level * (0.1 if woman else 1.0))),),
            "burpee": ((float(np.floor(70 * level)), 420.0),),
            "swing": ((16 if woman else 24, float(np.floor(28 * level))),),
        }
        keep = rng.random(len(tests)) < 0.7
        own = {name: test for (name, test), kept in zip(tests.items(), keep, strict=True) if kept}
        sex = "female" if woman else "male"
        found.append(Athlete(f"{i}", sex, 66.0 if woman else 82.0, float(rng.integers(20, 65)), own if i else {}))
    return found


def station(rng):
    draw = rng.random()
    if draw < 0.4:
        name = str(rng.choice(LIFTS))
        kg = float(MOVEMENTS[name].best * rng.uniform(0.3, 0.8))
        written = [{"kg": kg, "womens_kg": 0.65 * kg}, {"percent": 65.0}, {"reserve": 3.0}][rng.integers(3)]
        return 50, Rung(name, int(rng.integers(3, 13)), **written)
    if draw < 0.7:
        name = str(rng.choice(OTHERS))
        dose = 30 if MOVEMENTS[name].kind == "hold" else int(rng.integers(4, 18))
        return 50, Rung(name, dose)
    name = str(rng.choice(list(MACHINES)))
    return 50, Rung(name, 150 if name == "run" else int(rng.integers(8, 17)))


def plan(rng):
    stations = tuple(station(rng) for _ in range(rng.integers(2, 6)))
    return Plan("any", stations, int(rng.integers(3, 10)), interval_s=float(rng.choice([60.0, 75.0, 90.0])))


@pytest.fixture(scope="module")
def drawn():
    rng = np.random.default_rng(77)
    people = [members(rng) for _ in range(3)]
    return [(plan(rng), crowd, estimates_of(crowd)) for crowd in people for _ in range(12)]


def test_an_easier_or_hotter_day_is_easier_in_repetitions_and_in_kilograms(drawn):
    """Heat lowers the intent of the day, so a hotter day is an easier one."""
    for circuit, crowd, estimates in drawn:
        days = [asked_of(replace(circuit, intent=day), crowd, estimates)[0] for day in DAYS]
        for harder, easier in zip(days, days[1:], strict=False):
            for cell, before in harder.items():
                after = easier[cell]
                assert after.name == before.name
                if before.kg is None:
                    assert after.dose <= before.dose
                else:
                    assert after.kg <= before.kg
                    # A lighter bar may be lifted as often as is written, and never is more work for it
                    assert after.dose <= before.dose or after.kg < before.kg
                    assert after.dose * after.kg <= before.dose * before.kg * 1.15


def test_fewer_rounds_give_no_easier_movement_and_no_lighter_bar(drawn):
    for circuit, crowd, estimates in drawn:
        longer, _ = asked_of(circuit, crowd, estimates)
        shorter, _ = asked_of(replace(circuit, rounds=circuit.rounds - 2), crowd, estimates)
        for (name, s), before in longer.items():
            after = shorter[name, s]
            rungs = [rung.name for rung in circuit.ladders[s][1]]
            if "rest" in (before.name, after.name):
                continue
            if before.name == after.name and before.kg is not None:
                assert after.kg >= before.kg
            reached = before.own >= 0.5 * circuit.ladders[s][1][rungs.index(before.name)].most
            assert not reached or rungs.index(after.name) <= rungs.index(before.name)


def test_editing_one_station_changes_no_movement_and_no_load_of_another(drawn):
    for circuit, crowd, estimates in drawn:
        window, rung, *rest = circuit.stations[0]
        edited = replace(circuit, stations=((window, replace(rung, dose=rung.most + 2), *rest), *circuit.stations[1:]))
        before, after = (asked_of(one, crowd, estimates)[0] for one in (circuit, edited))
        for (name, s), target in before.items():
            if s > 0:
                assert (after[name, s].name, after[name, s].kg) == (target.name, target.kg)


def test_nobody_stands_about_and_the_load_gives_way_before_the_repetitions(drawn):
    fewer = total = 0
    for circuit, crowd, estimates in drawn:
        asked, _ = asked_of(circuit, crowd, estimates)
        for (name, s), target in asked.items():
            rung = circuit.ladders[s][1][0]
            # Less was written than the lightest that there is: never above it
            too_light = rung.percent or (rung.kg and rung.womens_kg < min(MOVEMENTS[rung.name].owned))
            assert target.name != "rest" or too_light
            if target.kg is not None and crowd[int(name)].tests and target.dose < circuit.ladders[s][1][0].most:
                fewer += target.kg > min(MOVEMENTS[target.name].owned)
            total += target.kg is not None
    assert fewer / total < 0.25
