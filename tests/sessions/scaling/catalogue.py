"""A gym's movements and circuits as a coach writes them, for the checks of judgement: from tests to targets.

Medians and spreads are common practice for a mixed gym, as are seconds a repetition. A swing is written by its bell and
scaled by it; so it stands here as a lift, whose maximum is read from repetitions at a bell by Epley's equation.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from athletes.capacity.constants import (
    ENGINES,
    LOAD_SET_TRIAL_SD,
    LOAD_TRIAL_SD,
    POWER_TRIAL_SD,
    REPETITIONS_TRIAL_SD,
)
from athletes.capacity.engines import Efforts
from athletes.capacity.ergometer import watts_for_kcal, watts_for_metres
from athletes.capacity.estimate import Library, Trials, estimate
from athletes.capacity.fitness import general_fitness, quantities, reference
from athletes.capacity.movements import Movement
from athletes.capacity.observations import UNBROKEN_RATE_SD, rate_in_time, rate_of_unbroken
from athletes.capacity.people import People
from sessions.scaling.cautions import rounds_share
from sessions.scaling.circuit import Circuit, Option, Station, equal_dose
from sessions.scaling.constants import HEADROOMS
from sessions.scaling.loads import load_for, most_repetitions
from sessions.scaling.room import Room
from sessions.scaling.scale import scale

MOST_TIMES = 3.0  # an easier form from the library asks at most so many times the repetitions


@dataclass(frozen=True)
class Entry:
    """`best` unbroken repetitions, seconds, kilograms once; of what is paced the most in one minute."""

    kind: str
    best: float
    spread: float
    involvement: dict
    seconds: float = 2.0
    setup_s: float = 2.0
    sore: bool = False
    skill: bool = False
    easier: str = ""
    owned: tuple = ()

    @property
    def weights(self):
        names = ("pull", "push", "hinge", "squat", "trunk", "grip", "whole_body")
        return tuple(float(self.involvement.get(name, 0.0)) for name in names)

    @property
    def movement(self):
        return Movement(self.kind, self.best, self.spread, self.weights)


BELLS = (4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 28, 32)
BAR = tuple(np.arange(15.0, 220.0, 2.5))
SWING = {"hinge": 0.8, "grip": 0.5, "trunk": 0.3, "whole_body": 0.4}
MACHINES = {
    "row": Entry(
        "engine", 1, 1, {"pull": 0.6, "hinge": 0.5, "squat": 0.25, "trunk": 0.3, "grip": 0.3, "whole_body": 0.8}
    ),
    "ski": Entry("engine", 1, 1, {"pull": 0.6, "hinge": 0.5, "trunk": 0.6, "grip": 0.3, "whole_body": 0.7}),
    "bike": Entry("engine", 1, 1, {"pull": 0.25, "push": 0.25, "squat": 0.25, "whole_body": 0.8}),
    "run": Entry("engine", 1, 1, {"squat": 0.25, "whole_body": 0.7}, setup_s=4.0),
}
MOVEMENTS = {
    "strict pull-up": Entry(
        "repetitions", 5, 0.8, {"pull": 1.0, "grip": 0.7, "trunk": 0.3}, 2.4, sore=True, easier="banded pull-up"
    ),
    # By Epley's equation who does 5 at his own mass does 16 at three quarters of it, and bests spread less
    "banded pull-up": Entry(
        "repetitions", 16, 0.45, {"pull": 0.8, "grip": 0.6, "trunk": 0.2}, 2.2, 4.0, skill=True, easier="ring row"
    ),
    # Walking the feet makes it easier: no form of its own
    "ring row": Entry("repetitions", 17, 0.5, {"pull": 0.7, "grip": 0.4, "trunk": 0.3}, 1.9),
    "push-up": Entry("repetitions", 18, 0.6, {"push": 0.8, "trunk": 0.5}, 1.8, easier="push-up, hands on a box"),
    # 64 % of the mass in a push-up, about 45 % with hands on a box (Ebben et al. 2011, from memory): by the same
    "push-up, hands on a box": Entry("repetitions", 34, 0.45, {"push": 0.6, "trunk": 0.4}, 1.7),
    "sit-up": Entry("repetitions", 36, 0.45, {"trunk": 0.7}, 1.9),
    "hip-extension sit-up": Entry(
        "repetitions", 20, 0.6, {"trunk": 1.0, "squat": 0.3}, 2.6, 4.0, sore=True, easier="sit-up"
    ),
    "toes to the bar": Entry(
        "repetitions", 8, 0.9, {"trunk": 0.8, "grip": 0.6, "pull": 0.4}, 2.4, skill=True, easier="sit-up"
    ),
    "throw": Entry("repetitions", 22, 0.5, {"squat": 0.7, "push": 0.5, "whole_body": 0.7}, 2.1),
    "plank": Entry("hold", 95, 0.45, {"trunk": 0.6}, 1.0),
    "dead hang": Entry("hold", 50, 0.5, {"grip": 1.0, "pull": 0.3}, 1.0),
    "swing": Entry("loaded", 45, 0.4, SWING, 1.7, skill=True, easier="kettlebell deadlift", owned=BELLS),
    "kettlebell deadlift": Entry("loaded", 75, 0.4, {"hinge": 0.7, "grip": 0.5, "trunk": 0.3}, 2.2, owned=BELLS),
    "goblet squat": Entry("loaded", 46, 0.4, {"squat": 0.7, "trunk": 0.3}, 2.4, owned=BELLS),
    "deadlift": Entry(
        "loaded", 105, 0.45, {"hinge": 1.0, "grip": 0.6, "trunk": 0.5, "whole_body": 0.5}, 3.2, 4.0, owned=BAR
    ),
    "back squat": Entry("loaded", 80, 0.45, {"squat": 1.0, "trunk": 0.4, "hinge": 0.4}, 3.4, 4.0, owned=BAR),
    "front squat": Entry("loaded", 66, 0.45, {"squat": 1.0, "trunk": 0.5}, 3.4, 4.0, owned=BAR),
    "overhead press": Entry("loaded", 38, 0.45, {"push": 0.9, "trunk": 0.4}, 2.8, 4.0, owned=BAR),
    "bench press": Entry("loaded", 58, 0.45, {"push": 0.9}, 2.8, 4.0, owned=BAR),
    "power clean": Entry(
        "loaded",
        55,
        0.45,
        {"hinge": 0.8, "pull": 0.4, "squat": 0.3, "grip": 0.5, "whole_body": 0.9},
        3.6,
        4.0,
        skill=True,
        easier="deadlift",
        owned=BAR,
    ),
    "box jump": Entry(
        "paced", 22, 0.3, {"squat": 0.6, "hinge": 0.4, "whole_body": 0.5}, 2.6, sore=True, skill=True, easier="step-up"
    ),
    "step-up": Entry("paced", 33, 0.25, {"squat": 0.5, "whole_body": 0.3}, 2.3),
    "air squat": Entry("paced", 42, 0.3, {"squat": 0.6}, 1.6),
    "walking lunge": Entry("paced", 32, 0.3, {"squat": 0.6, "hinge": 0.3}, 2.0, sore=True),
    "burpee": Entry(
        "paced", 14, 0.3, {"push": 0.5, "squat": 0.3, "whole_body": 0.9}, 3.4, skill=True, easier="step-back burpee"
    ),
    "step-back burpee": Entry("paced", 12, 0.3, {"push": 0.4, "squat": 0.3, "whole_body": 0.7}, 4.0),
    "rope skip": Entry("paced", 98, 0.3, {"squat": 0.25, "whole_body": 0.4}, 0.6, skill=True, easier="step-up"),
    "shuttle step": Entry("paced", 52, 0.3, {"squat": 0.2, "whole_body": 0.5}, 1.2),
}
PLACE = {name: g for g, name in enumerate(MOVEMENTS)}
LIBRARY = Library(
    tuple(entry.movement for entry in MOVEMENTS.values()),
    tuple((PLACE[entry.easier], PLACE[name]) for name, entry in MOVEMENTS.items() if entry.easier),
)
# At a bell: repetitions for the reading of swings beyond what the equation is for are no news of strength
MOST_COUNTED = 30.0


def entry_of(name):
    return MACHINES[name] if name in MACHINES else MOVEMENTS[name]


def kin_of(name):
    """The movements of a ladder, easier and harder, as far as it goes."""
    kin = {name}
    for _ in MOVEMENTS:
        kin |= {entry.easier for other, entry in MOVEMENTS.items() if other in kin and entry.easier}
        kin |= {other for other, entry in MOVEMENTS.items() if entry.easier in kin}
    return kin


# --- Tests ---


@dataclass(frozen=True)
class Athlete:
    """Tests by subject: of an ergometer or run (metres, seconds) pairs; of the bike (kcal, seconds); of a movement
    unbroken repetitions or seconds; (repetitions, seconds) in a time where it is paced; (kg, repetitions) of a lift.
    """

    name: str
    sex: str
    mass: float
    age: float
    tests: dict = field(default_factory=dict)
    week: int = 0


def estimates_of(athletes: Sequence[Athlete]):
    people = People.of([a.sex for a in athletes], [a.mass for a in athletes], [a.age for a in athletes])
    efforts, trials = {}, {}
    for subject in {subject for a in athletes for subject in a.tests}:
        rows = [[_reduced(subject, test) for test in a.tests.get(subject, ())] for a in athletes]
        table = np.full((len(athletes), max(map(len, rows)), 3), np.nan)
        for i, row in enumerate(rows):
            if row:
                table[i, : len(row)] = row
        value, seconds, sd = np.moveaxis(table, -1, 0)
        if subject in ENGINES or MOVEMENTS[subject].kind == "paced":
            efforts[PLACE.get(subject, subject)] = Efforts(value, seconds, sd)
        else:
            trials[PLACE[subject]] = Trials(value, sd)
    return estimate(LIBRARY, people, efforts, trials)


def _reduced(subject, test):
    """(power, rate or best; seconds; SD of the log)."""
    if subject in ENGINES:
        amount, seconds = test
        if subject == "run":
            return amount / seconds, seconds, POWER_TRIAL_SD
        power = watts_for_kcal(amount, seconds) if subject == "bike" else watts_for_metres(amount, seconds)
        return float(power), seconds, POWER_TRIAL_SD
    entry = MOVEMENTS[subject]
    if entry.kind == "paced":
        if isinstance(test, tuple):
            return *map(float, rate_in_time(*test)), POWER_TRIAL_SD
        return *map(float, rate_of_unbroken(test, entry.seconds)), UNBROKEN_RATE_SD
    if entry.kind == "loaded":
        kg, repetitions = test
        most = kg if repetitions == 1 else kg * (1.0 + min(repetitions, MOST_COUNTED) / 30.0)
        return most, 1.0, LOAD_TRIAL_SD if repetitions == 1 else LOAD_SET_TRIAL_SD
    return float(test), 1.0, REPETITIONS_TRIAL_SD


# --- Circuits ---


@dataclass(frozen=True)
class Rung:
    """`dose` may be a range (low, high); `kg` of women may differ."""

    name: str
    dose: float | tuple
    kg: float | None = None
    womens_kg: float | None = None
    percent: float | None = None
    reserve: float | None = None
    metres: bool = False
    from_library: bool = False

    @property
    def most(self):
        return float(self.dose[1] if isinstance(self.dose, tuple) else self.dose)

    @property
    def kind(self):
        if self.name in MACHINES:
            return "metres" if self.metres or self.name == "run" else "kcal"
        return {"hold": "seconds", "loaded": "load_repetitions"}.get(MOVEMENTS[self.name].kind, "repetitions")

    def option(self, sex):
        entry = entry_of(self.name)
        return Option(
            self.name if self.name in MACHINES else None, self.kind, self.most,
            float(self.dose[0]) if isinstance(self.dose, tuple) else None,
            entry.seconds, entry.setup_s, entry.weights,
            load_kg=self.womens_kg if sex == "female" and self.womens_kg else self.kg,
            percent=self.percent, reserve=self.reserve, paced=entry.kind == "paced",
            makes_sore=entry.sore, needs_skill=entry.skill, from_library=self.from_library,
        )  # fmt: skip


@dataclass(frozen=True)
class Plan:
    """Stations are (work window [s], rung, rung, …)."""

    title: str
    stations: tuple
    rounds: int
    intent: str = "hard"
    interval_s: float = 60.0
    scaling: str = "dose"
    open_last: bool = False
    partners: int = 1

    @property
    def ladders(self):
        return [(window, [*rungs, *_below(rungs)]) for window, *rungs in self.stations]

    def circuit(self, sex):
        return Circuit(
            tuple(Station(window, tuple(rung.option(sex) for rung in rungs)) for window, rungs in self.ladders),
            self.rounds, self.interval_s, HEADROOMS[self.intent], self.partners, self.scaling, self.open_last,
        )  # fmt: skip


def _below(rungs):
    """The library's own easier forms below the coach's last rung, at the dose that asks as much."""
    found, last = [], rungs[-1]
    names = {rung.name for rung in rungs}
    name = last.name
    while name in MOVEMENTS and (easier := MOVEMENTS[name].easier):
        name = easier
        if name in names:
            continue
        harder, form = MOVEMENTS[last.name].movement, MOVEMENTS[name].movement
        ratio = form.median / harder.median  # of what is paced below 1 too: 50 skips are 17 step-ups
        times = min(ratio if form.kind == "paced" else max(ratio, 1.0), MOST_TIMES)
        if form.kind == "loaded":  # the kilograms rise, not the repetitions
            kg, womens = (load and load * times for load in (last.kg, last.womens_kg))
            found.append(replace(last, name=name, kg=kg, womens_kg=womens, from_library=True))
        elif form.kind == harder.kind:
            found.append(Rung(name, equal_dose(last.most, times, last.kind), from_library=True))
    return found


# --- Targets ---


@dataclass(frozen=True)
class Asked:
    """What one athlete is asked at one station."""

    name: str
    dose: float
    kg: float | None
    rounds: int
    headroom: float
    probability: float
    own: float
    reason: int


def room_of(plan, circuit, athletes, estimates, rows, fitness, at=None):
    """The `Room` of athletes of one sex, and their loads (n, S, L), at full intent or, at known rungs, the day's."""
    ladders = plan.ladders
    shape = (len(rows), len(ladders), max(len(rungs) for _, rungs in ladders))
    mean, sd, kg = (np.full(shape, np.nan) for _ in range(3))
    paced_mean, paced_cov = np.full((*shape, 3), np.nan), np.full((*shape, 3, 3), np.nan)
    allowed, unknown, untested = (np.zeros(shape, bool) for _ in range(3))
    week = np.array([athletes[row].week for row in rows])
    headroom = HEADROOMS["hard"] if at is None else HEADROOMS[plan.intent]
    headroom = np.where(week > 0, np.maximum(headroom, HEADROOMS["steady"]), headroom)
    own = [athletes[row].tests for row in rows]
    tested_here = {name for athlete in athletes for name in athlete.tests}
    for s, (_, rungs) in enumerate(ladders):
        for r, rung in enumerate(rungs):
            cell = (slice(None), s, r)
            near = set(ENGINES[:3]) if rung.name in ENGINES[:3] else {other.name for other in rungs} | kin_of(rung.name)
            near = {"run"} if rung.name == "run" else near
            allowed[cell] = True
            unknown[cell] = rung.name not in MACHINES and not near & tested_here
            known = np.array([bool(near & set(tests)) for tests in own])
            untested[cell] = ~known & ~(unknown[cell] & np.array([len(tests) >= 3 for tests in own]))
            if rung.name in MACHINES:
                continue
            entry, place = MOVEMENTS[rung.name], PLACE[rung.name]
            if entry.kind == "paced":
                curve, cov = estimates.curve(place)
                paced_mean[cell], paced_cov[cell] = curve[rows], cov[rows]
                continue
            best, best_sd = (array[rows] for array in estimates.best(place))
            if entry.kind == "loaded":
                option = circuit.stations[s].options[r]
                kg[cell] = load_for(
                    option.load_kg, max(1.0, np.floor(option.dose)), best, entry.owned,
                    rotations=circuit.rotations, rotation_s=circuit.rotation_s, headroom=headroom,
                    percent=option.percent, reserve=option.reserve, share=rounds_share(week), log_sd=best_sd,
                )  # fmt: skip
                allowed[cell] &= ~np.isnan(kg[cell])
                lightest = np.where(np.isnan(kg[cell]), min(entry.owned), kg[cell])
                best, best_sd = most_repetitions(best, best_sd, lightest)
            mean[cell], sd[cell] = best, best_sd
    if at is not None:
        allowed &= np.arange(shape[2]) >= np.maximum(at, 0)[..., None]
    engines = {engine: estimates.curve(engine) for engine in ENGINES}
    return Room(
        {engine: curve[rows] for engine, (curve, _) in engines.items()},
        {engine: cov[rows] for engine, (_, cov) in engines.items()},
        mean, sd, allowed, paced_mean=paced_mean, paced_cov=paced_cov, fitness=fitness[rows], unknown=unknown,
        untested=untested, newcomer_week=week,
    ), kg  # fmt: skip


def fitness_of(estimates):
    values, weight = quantities(estimates)
    return general_fitness(values, weight, reference(values, weight, len(values)))


def targets_by_sex(plan, athletes, estimates):
    """{sex: (rows, circuit, room, targets, kg)}: what is written for women may weigh less."""
    fitness, found = fitness_of(estimates), {}
    for sex in sorted({athlete.sex for athlete in athletes}):
        rows = np.flatnonzero([athlete.sex == sex for athlete in athletes])
        circuit = plan.circuit(sex)
        room, kg = room_of(plan, circuit, athletes, estimates, rows, fitness)
        targets = scale(circuit, room)
        if not np.isnan(kg).all():
            room, kg = room_of(plan, circuit, athletes, estimates, rows, fitness, targets.rung)
            targets = scale(circuit, room)
        found[sex] = rows, circuit, room, targets, kg
    return found


def asked_of(plan, athletes, estimates):
    """{(athlete's name, station from 0): `Asked`}, and what is expected of each session {name: (RPE, rounds as
    prescribed)}."""
    asked, session = {}, {}
    for rows, _, _, targets, kg in targets_by_sex(plan, athletes, estimates).values():
        for i, row in enumerate(rows):
            name = athletes[row].name
            session[name] = float(targets.expected_rpe[i]), int(targets.rounds_as_prescribed[i])
            for s, (_, rungs) in enumerate(plan.ladders):
                r = int(targets.rung[i, s])
                load = kg[i, s, max(r, 0)]
                asked[name, s] = Asked(
                    rungs[r].name if r >= 0 else "rest", float(targets.dose[i, s]),
                    None if np.isnan(load) else float(load), int(targets.rounds[i, s]),
                    float(targets.headroom[i, s]), float(targets.probability[i, s]),
                    float(targets.own_dose[i, s]), int(targets.reason[i, s]),
                )  # fmt: skip
    return asked, session
