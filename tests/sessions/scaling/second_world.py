"""A gym whose athletes work by another physiology than the method's: what is asked of them, second by second.

Whatever the method believes of hyperbolas, demand matrices and lognormal doubts is not true here. Its parameters were
chosen before the first run, from the science reference and from floor practice, and not moved afterwards:

- Breath: oxygen uptake rises and falls with a time constant of its own (25 to 40 s; common practice) towards what is
  asked, at most the critical power. What it does not cover is drawn from two stores, a quick one first.
- Two stores with unlike refill (Chorley et al. 2022 see two speeds of recovery; Bogdanis et al. 1995: phosphocreatine
  comes back within minutes, from memory): the quick one with about 30 s of full rest, the slow one with about 6
  minutes, both individual (log-SD 0.25 and 0.35) and slower the harder the work in between. How much each can give in a
  second falls with its level, so nobody empties them: an all-out effort is no hyperbola.
- Muscle: a set draws on a quick part (about 80 %, time constant about 80 s) and a slow part (about 25 minutes), in
  proportion to what is left in each.
- A third of what one station takes is taken from the others that share its muscles, and a little from all.
- Day form: log-SD 0.03 in breath and 0.06 in muscle (retests repeat within 2 to 3 % and 5 to 10 %: section 11 there),
  fresh on every day, on test days too. Everybody starts every effort a little too fast, by a habit of his own.
- Repetitions at a load by another equation (Brzycki 1993) and an individual factor (log-SD 0.12).
- Athletes: men and women from 20 to 62; general ability, family and own scatter of unbroken bests and critical powers
  with log-SDs near 0.3 in all (section 10: "log-normal with log-SD 0.30 to 0.35"), 10 % a decade from 35 on.

Run with  python -m tests.sessions.scaling.second_world
"""

from dataclasses import dataclass, replace

import numpy as np

from athletes.capacity.constants import ENGINES, KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H
from tests.sessions.scaling.catalogue import (
    MOVEMENTS,
    Athlete,
    Plan,
    Rung,
    entry_of,
    estimates_of,
    targets_by_sex,
)

COUNTS = (0, 1, 2, 4, 9, 18)  # benchmarks
MORE = (1.15, 1.3)  # times what is asked, to see that this world is no feather bed
PULLS = (Rung("banded pull-up", 8), Rung("ring row", 11))
PUSHES = (Rung("push-up, hands on a box", 14),)
CIRCUITS = [
    Plan(
        "pulls",
        (
            (48, Rung("row", 13)),
            (45, Rung("strict pull-up", 6), *PULLS),
            (45, Rung("box jump", 11), Rung("step-up", 12)),
        ),
        7,
    ),
    Plan(
        "pushes",
        (
            (48, Rung("ski", 11)),
            (45, Rung("push-up", 10), *PUSHES),
            (45, Rung("air squat", 18)),
            (45, Rung("sit-up", 14)),
        ),
        6,
    ),
    Plan(
        "five",
        (
            (45, Rung("bike", 13)),
            (42, Rung("swing", 15, 24, 16)),
            (42, Rung("throw", 12), Rung("air squat", 16)),
            (45, Rung("burpee", 9)),
            (45, Rung("plank", 35)),
        ),
        4,
    ),
    Plan("breath", ((55, Rung("run", 175)), (50, Rung("row", 13)), (50, Rung("burpee", 9))), 6, interval_s=75.0),
    Plan("bar", ((45, Rung("back squat", 5, percent=65)), (48, Rung("row", 12)), (45, Rung("ring row", 10))), 7),
    Plan(
        "long",
        ((55, Rung("step-up", 18)), (55, Rung("ski", 12)), (50, Rung("sit-up", 14)), (45, Rung("plank", 35))),
        6,
        interval_s=75.0,
    ),
]
# In the order in which a gym tests; what is paced as the most in a time
TESTS = (
    ("row", 480.0),
    ("ring row", None),
    ("burpee", 420.0),
    ("push-up", None),
    ("back squat", None),
    ("ski", 270.0),
    ("sit-up", None),
    ("strict pull-up", None),
    ("bike", 60.0),
    ("run", 480.0),
    ("row", 100.0),
    ("box jump", 60.0),
    ("swing", None),
    ("air squat", 120.0),
    ("plank", None),
    ("throw", None),
    ("deadlift", None),
    ("overhead press", None),
)
# Medians of (men, women) of 35: critical power [W, m/s, rep/min]; seconds of it in the stores; unbroken bests; maxima
CRITICAL = {
    "row": (172, 118),
    "ski": (140, 95),
    "bike": (178, 116),
    "run": (3.25, 2.9),
    "burpee": (9.5, 7.8),
    "step-back burpee": (8.5, 7.2),
    "box jump": (14.5, 12.0),
    "step-up": (22.0, 20.0),
    "air squat": (27.0, 26.0),
}
STORES_S = {"run": 50.0, "bike": 85.0}
USUAL_STORES_S = 72.0
BESTS = {
    "strict pull-up": (7, 0.9),
    "banded pull-up": (17, 9),
    "ring row": (22, 13),
    "push-up": (28, 11),
    "push-up, hands on a box": (42, 23),
    "sit-up": (40, 35),
    "throw": (27, 20),
    "plank": (115, 100),
}
MAXIMA = {
    "back squat": (105, 62),
    "deadlift": (138, 84),
    "overhead press": (52, 28),
    "swing": (52, 34),
    "kettlebell deadlift": (95, 60),
}
SCATTER = {"strict pull-up": 0.75}
QUICK_W_PER_J, SLOW_W_PER_J = 1.0 / 9.0, 1.0 / 28.0  # at a full store: what it can give in a second


@dataclass
class People:
    """n athletes as they truly are; arrays (n,) or by name (n,)."""

    athletes: list
    ability: np.ndarray
    critical: dict
    stores: dict
    best: dict
    load_factor: np.ndarray
    quick_share: np.ndarray
    quick_s: np.ndarray
    slow_s: np.ndarray
    breath_s: np.ndarray
    habit: np.ndarray
    muscle_share: np.ndarray
    muscle_quick_s: np.ndarray
    muscle_slow_s: np.ndarray


def people(n, rng):
    woman = np.arange(n) % 2
    sex = np.where(woman == 1, "female", "male")
    age = rng.uniform(20.0, 62.0, n)
    mass = np.where(woman == 1, 67.0, 81.0) * np.exp(rng.normal(0.0, 0.14, n))
    ability = rng.normal(size=n)
    years = np.maximum(age - 35.0, 0.0)
    heavy = np.log(mass / np.where(woman == 1, 67.0, 81.0))
    machine, bars, carried = (rng.normal(size=n) for _ in range(3))

    def of(pair, family, scatter, by_mass):
        return np.where(woman == 1, pair[1], pair[0]) * np.exp(
            0.18 * ability + 0.14 * family + scatter * rng.normal(size=n) + by_mass * heavy - 0.010 * years
        )

    critical, stores = {}, {}
    for name, pair in CRITICAL.items():
        ergometer = name in ("row", "ski", "bike")
        critical[name] = of(pair, machine if name in ENGINES else carried, 0.07, 0.5 if ergometer else -0.2)
        stores[name] = critical[name] * STORES_S.get(name, USUAL_STORES_S) * np.exp(rng.normal(0.0, 0.22, n))
    best = {
        name: of(pair, carried, SCATTER.get(name, 0.22), -0.2) * np.exp(0.1 * ability) for name, pair in BESTS.items()
    }
    best["banded pull-up"] = np.maximum(best["banded pull-up"], 2.0 * best["strict pull-up"])
    best |= {name: of(pair, bars, 0.10, 0.5) for name, pair in MAXIMA.items()}
    found = [Athlete(f"{i}", str(sex[i]), float(mass[i]), float(age[i])) for i in range(n)]
    return People(
        found, ability, critical, stores, best, np.exp(rng.normal(0.0, 0.12, n)), rng.uniform(0.25, 0.45, n),
        np.exp(rng.normal(np.log(30.0), 0.25, n)), np.exp(rng.normal(np.log(360.0), 0.35, n)),
        rng.uniform(25.0, 40.0, n), rng.uniform(0.0, 0.08, n), rng.uniform(0.72, 0.88, n),
        np.exp(rng.normal(np.log(80.0), 0.2, n)), np.exp(rng.normal(np.log(1500.0), 0.2, n)),
    )  # fmt: skip


def at_load(maximum, kg, factor):
    """Unbroken repetitions at a load: Brzycki's equation inverted, at most 45, and an individual factor."""
    part = np.minimum(kg / maximum, 1.2)
    return np.clip((1.0278 - part) / 0.0278, 0.3, 45.0) * np.where(part < 0.9, factor, 1.0)


def second_of_breath(wanted, critical, uptake, quick, slow, full_quick, full_slow, who):
    """One second at a wanted power: what is given, and the stores and the uptake (of the critical power) after it."""
    uptake = uptake + (np.minimum(wanted / critical, 1.0) - uptake) / who.breath_s
    missing = np.maximum(wanted - uptake * critical, 0.0)
    from_quick = np.minimum(missing, QUICK_W_PER_J * quick)
    from_slow = np.minimum(missing - from_quick, SLOW_W_PER_J * slow)
    given = np.minimum(wanted, uptake * critical + from_quick + from_slow)
    rest = np.clip(1.0 - wanted / critical, 0.0, 1.0)
    quick = quick - from_quick + rest * (full_quick - quick) / who.quick_s
    slow = slow - from_slow + rest * (full_slow - slow) / who.slow_s
    return given, uptake, quick, slow


def best_power(who, name, seconds):
    """The best even power over so many seconds, (n,), by halving."""
    critical, stores = who.critical[name], who.stores[name]
    low, high = 0.5 * critical, 4.0 * critical
    for _ in range(11):
        power = np.sqrt(low * high)
        uptake, quick, slow = 0.1 + 0.0 * critical, who.quick_share * stores, (1.0 - who.quick_share) * stores
        full, holds = (quick, slow), np.ones(len(critical), bool)
        for _ in range(int(seconds)):
            given, uptake, quick, slow = second_of_breath(power, critical, uptake, quick, slow, *full, who)
            holds &= given >= 0.995 * power
        low, high = np.where(holds, power, low), np.where(holds, high, power)
    return low


def tested(who, rng):
    """All tests of everybody, [(subject, test)] by athlete, in the order of `TESTS`."""
    n = len(who.athletes)
    rows = [[] for _ in range(n)]
    for name, seconds in TESTS:
        breath, muscle = np.exp(rng.normal(0.0, 0.03, n)), np.exp(rng.normal(0.0, 0.06, n))
        if seconds is None and MOVEMENTS[name].kind == "loaded":
            if name == "swing":
                kg = np.array([24.0 if athlete.sex == "male" else 16.0 for athlete in who.athletes])
                most = np.floor(at_load(who.best[name], kg, who.load_factor) * muscle)
                values = [(float(w), float(m)) if m >= 1 else None for w, m in zip(kg, most, strict=True)]
            else:
                values = [(float(np.floor(x / 2.5) * 2.5), 1) for x in who.best[name] * np.exp(rng.normal(0, 0.02, n))]
        elif seconds is None:
            values = [float(x) for x in np.floor(who.best[name] * muscle)]
        else:
            power = best_power(who, name, seconds) * breath
            if name == "bike":
                kcal = (KCAL_BASE_PER_H + KCAL_SLOPE_PER_W_H * power) * seconds / 3600.0
                values = [(float(np.floor(x)), seconds) for x in kcal]
            elif name in ("row", "ski"):
                values = [(float(x), seconds) for x in seconds * (power / 2.80) ** (1.0 / 3.0)]
            elif name == "run":
                values = [(float(x), seconds) for x in seconds * power]
            else:
                values = [(float(np.floor(x)), seconds) for x in power * seconds / 60.0]
        for row, value in zip(rows, values, strict=True):
            if value is not None:
                row.append((name, value))
    return rows


def with_tests(who, rows, count):
    athletes = []
    for athlete, row in zip(who.athletes, rows, strict=True):
        tests = {}
        for name, value in row[:count]:
            tests.setdefault(name, []).append(value)
        athletes.append(Athlete(athlete.name, athlete.sex, athlete.mass, athlete.age, tests))
    return athletes


@dataclass
class Asked:
    """Targets of n athletes at S stations, (n, S)."""

    names: list
    dose: np.ndarray
    share: np.ndarray  # of what is written there
    whole: np.ndarray  # as prescribed
    hold: np.ndarray
    finish_s: np.ndarray
    kg: np.ndarray
    promised: np.ndarray


def asked_of(plan, athletes):
    n, ladders = len(athletes), plan.ladders
    shape = (n, len(ladders))
    found = Asked([[""] * shape[1] for _ in range(n)], *(np.full(shape, np.nan) for _ in range(7)))
    for rows, _, _, targets, kg in targets_by_sex(plan, athletes, estimates_of(athletes)).values():
        found.dose[rows], found.hold[rows], found.finish_s[rows] = targets.dose, targets.hold, targets.finish_by_s
        found.share[rows] = targets.dose / np.where(targets.written > 0, targets.written, np.nan)
        found.whole[rows] = (targets.rung == 0) & (targets.dose >= targets.written)
        found.promised[rows] = targets.probability
        found.kg[rows] = np.take_along_axis(kg, np.maximum(targets.rung, 0)[..., None], 2)[..., 0]
        for i, row in enumerate(rows):
            found.names[row] = [ladders[s][1][max(targets.rung[i, s], 0)].name for s in range(shape[1])]
    return found


def more(asked, times):
    """So many times as much asked of everybody, in the same windows."""
    return replace(asked, dose=asked.dose * times, hold=asked.hold * times)


def held(plan, who, asked, rng):
    """Whether each target was done in every round, (n, S): the circuit second by second."""
    n, stations = asked.dose.shape
    breath, muscle = np.exp(rng.normal(0.0, 0.03, (n, 1))), np.exp(rng.normal(0.0, 0.06, (n, 1)))
    steady = ~np.isnan(asked.hold)
    critical, stores, best = np.ones((n, stations)), np.ones((n, stations)), np.ones((n, stations))
    setup, pace, weights = np.zeros((n, stations)), np.ones((n, stations)), np.zeros((n, stations, 7))
    for i in range(n):
        for s, name in enumerate(asked.names[i]):
            entry = entry_of(name)
            setup[i, s], pace[i, s], weights[i, s] = entry.setup_s, entry.seconds, entry.weights
            if steady[i, s]:
                critical[i, s], stores[i, s] = who.critical[name][i], who.stores[name][i]
            elif entry.kind == "loaded":
                best[i, s] = at_load(who.best[name][i], asked.kg[i, s], who.load_factor[i])
            else:
                best[i, s] = who.best[name][i]
    pace = np.where([[entry_of(name).kind == "hold" for name in row] for row in asked.names], 1.0, pace)
    critical, stores, best = critical * breath, stores * breath, best * muscle
    common = (weights[:, :, None] * weights[:, None]).max(-1)
    shared = 0.05 + 0.30 * common  # of what a set takes of its own capacity
    shared[:, range(stations), range(stations)] = 1.0
    quick_full, slow_full = who.quick_share[:, None] * stores, (1.0 - who.quick_share[:, None]) * stores
    quick, slow, uptake = quick_full.copy(), slow_full.copy(), np.full(n, 0.1)
    muscle_full = np.stack([who.muscle_share, 1.0 - who.muscle_share], -1)[:, None].repeat(stations, 1)
    fresh = muscle_full.copy()
    muscle_s = np.stack([who.muscle_quick_s, who.muscle_slow_s], -1)[:, None]
    ok = np.ones((n, stations), bool)
    for _ in range(plan.rounds):
        for s, (window, _) in enumerate(plan.ladders):
            done, goal = np.zeros(n), asked.hold[:, s] * (np.maximum(asked.finish_s[:, s] - setup[:, s], 1.0))
            goal = np.where(steady[:, s], goal, asked.dose[:, s])
            noise = 1.0 + rng.normal(0.0, 0.01, n)
            for second in range(int(plan.interval_s)):
                working = (second >= setup[:, s]) & (second < window) & (done < goal)
                # Too fast at first, by habit, and slower later; then whatever it takes to finish in time
                left_s = np.maximum(window - second, 1.0)
                early = second < setup[:, s] + 0.35 * (window - setup[:, s])
                needed = (goal - done) / left_s
                power = np.where(early, asked.hold[:, s] * (1.0 + who.habit) * noise, needed)
                power = np.where(working & steady[:, s], np.minimum(power, goal - done), 0.0)
                light = np.where(working & ~steady[:, s], 0.55, 0.0)
                before = quick[:, s] + slow[:, s]
                wanted = np.where(steady[:, s], power, light * critical[:, s])
                given, uptake, quick[:, s], slow[:, s] = second_of_breath(
                    wanted, critical[:, s], uptake, quick[:, s], slow[:, s], quick_full[:, s], slow_full[:, s], who
                )
                taken = np.where(steady[:, s], np.maximum(before - quick[:, s] - slow[:, s], 0.0) / stores[:, s], 0.0)
                count = working & ~steady[:, s]
                able = fresh[:, s].sum(-1)
                rate = np.minimum(np.where(count, 1.0 / pace[:, s], 0.0), np.maximum(goal - done, 0.0))
                rate = np.where(able >= 1.0 / best[:, s], rate, 0.0)  # what is left must be good for one more
                cost = rate / best[:, s]
                done = done + np.where(steady[:, s], given, rate)
                # What this takes from the other stations, and what comes back to them meanwhile
                loss = shared[:, s] * (taken + cost)[:, None]
                loss_breath = loss.copy()
                loss_breath[:, s] = 0.0
                ease = (1.0 - 0.5 * np.minimum(uptake, 1.0))[:, None]
                quick, slow = (
                    np.maximum(store - loss_breath * store, 0.0)
                    + np.where(np.arange(stations) == s, 0.0, ease * (full - store) / tau[:, None])
                    for store, full, tau in ((quick, quick_full, who.quick_s), (slow, slow_full, who.slow_s))
                )
                level = np.maximum(fresh.sum(-1, keepdims=True), 1e-9)
                fresh = np.maximum(fresh - loss[..., None] * fresh / level, 0.0)
                fresh = fresh + (muscle_full - fresh) / muscle_s
            ok[:, s] &= done >= goal * 0.985
    return ok


def groups(who):
    sex = np.array([athlete.sex for athlete in who.athletes])
    age = np.array([athlete.age for athlete in who.athletes])
    mass = np.array([athlete.mass for athlete in who.athletes])
    heavy = np.where(sex == "male", mass > np.median(mass[sex == "male"]), mass > np.median(mass[sex == "female"]))
    thirds = np.quantile(who.ability, [1 / 3, 2 / 3])
    return {
        "men": sex == "male",
        "women": sex == "female",
        "to 40": age <= 40,
        "over 40": age > 40,
        "light": ~heavy,
        "heavy": heavy,
        "weak": who.ability < thirds[0],
        "middle": (who.ability >= thirds[0]) & (who.ability <= thirds[1]),
        "strong": who.ability > thirds[1],
    }


def run(n=60, seed=2027):
    """{count: {"held", "asked", "whole", "promised", "circuit", groups …: held}}, means over targets."""
    rng = np.random.default_rng(seed)
    who = people(n, rng)
    rows = tested(who, rng)
    found = {count: {"ok": [], "more": [], "asked": [], "whole": [], "promised": []} for count in COUNTS}
    for plan in CIRCUITS:
        for count in COUNTS:
            asked = asked_of(plan, with_tests(who, rows, count))
            here = found[count]
            here["ok"].append(held(plan, who, asked, np.random.default_rng(seed + len(here["ok"]))))
            if count == COUNTS[-1]:
                here["more"].append([held(plan, who, more(asked, t), np.random.default_rng(seed)).mean() for t in MORE])
            here["asked"].append(asked.share)
            here["whole"].append(asked.whole)
            here["promised"].append(asked.promised)
    for here in found.values():
        here["circuit"] = np.mean([ok.all(-1) for ok in here["ok"]])
        here["groups"] = {name: np.mean([ok[rows].mean() for ok in here["ok"]]) for name, rows in groups(who).items()}
        here["rest"] = {name: np.mean([ok[~rows].mean() for ok in here["ok"]]) for name, rows in groups(who).items()}
        here["stations"] = [
            [(rungs[0].name, float(ok[:, s].mean())) for s, (_, rungs) in enumerate(plan.ladders)]
            for plan, ok in zip(CIRCUITS, here["ok"], strict=True)
        ]
        for name in ("asked", "whole", "promised"):
            here[name] = float(np.nanmean(np.concatenate([array.ravel() for array in here[name]])))
        here["held"] = float(np.mean(np.concatenate([ok.ravel() for ok in here["ok"]])))
    return found


def report(found):
    lines = ["benchmarks  held  asked  as prescribed  promised  whole circuits held"]
    for count, here in found.items():
        lines.append(
            f"{count:10}  {here['held']:4.0%}  {here['asked']:5.0%}  {here['whole']:13.0%}  {here['promised']:8.0%}"
            f"  {here['circuit']:.0%}"
        )
    for times, share in zip(MORE, np.mean(found[COUNTS[-1]]["more"], 0), strict=True):
        lines.append(f"{times:g} times as much of those with {COUNTS[-1]} benchmarks: held {share:.0%}")
    for count, here in found.items():
        lines.append(f"{count:3} held: " + ", ".join(f"{name} {value:.0%}" for name, value in here["groups"].items()))
    for count in (4, 18):
        for plan, stations in zip(CIRCUITS, found[count]["stations"], strict=True):
            lines.append(f"{count:3} {plan.title}: " + ", ".join(f"{name} {share:.0%}" for name, share in stations))
    return "\n".join(lines)


if __name__ == "__main__":
    print(report(run()))
