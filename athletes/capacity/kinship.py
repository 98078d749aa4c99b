"""How much one engine or movement says of another: correlations of the prior.

They hold between athletes of the same sex, mass and age, in the logarithm. No published transfer between machines or
movements was found, so every number here is common practice, on the low side: a correlation that is too low only leaves
an estimate wider than it need be.

The *levels* (critical power, critical rate, an unbroken best, a maximum) hang together as a tree: general fitness bears
families, families bear engines and movements, and on a ladder each form bears the next harder one. The correlation of
two is the product of those on the way between them (a Gaussian tree: Lauritzen 1996, Graphical Models; from memory), so
the matrix is positive definite by construction, and a better result never lowers the expectation of anything else.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from athletes.capacity.arrays import Array
from athletes.capacity.constants import ENGINES, PATTERNS
from athletes.capacity.movements import HOLD, LOADED, PACED, REPETITIONS, Movement

# Of a family with general fitness. A strong engine makes no pull-up, but who has one is seldom a beginner on the bar.
GENERAL_TO_FAMILY = {"ergometers": 0.76, "running": 0.70, "pace": 0.80, "strength": 0.55, "pattern": 0.75}
# Of a member with its family: two ergometers 0.85, an ergometer and running 0.5, two paced movements 0.56, two lifts
# 0.64, two movements that load the same pattern most 0.42 (others 0.24: likeness of patterns alone carries little).
FAMILY_TO_MEMBER = {"ergometers": 0.922, "running": 1.0, "pace": 0.75, "strength": 0.80, "pattern": 0.65}

# Two neighbours on a ladder: SD of the log ratio between them around what the easier form says (common practice).
LADDER_SD = 0.25
LEAST_LADDER_CORRELATION = 0.6  # between movements that hardly differ from one athlete to the next
ORDERED_KINDS = (REPETITIONS, HOLD)  # the easier form has the greater best; kilograms and rates do not say so

# Of log W' and of log k: between two ergometers, two paced movements, an ergometer and running, and any others. The
# ramp is also the habit of starting fast, so it carries less. Sex and mass hold what W' and critical power share.
RESERVE_CORRELATION = (0.6, 0.4, 0.3, 0.2)
RAMP_CORRELATION = (0.5, 0.3, 0.2, 0.1)

Movements = tuple[Movement, ...]
Ladders = tuple[tuple[int, int], ...]
LIBRARIES = 4  # whose correlations are remembered: a gym has one library, and changes it seldom


@lru_cache(LIBRARIES)
def level_correlation(movements: Movements, ladders: Ladders = ()) -> Array:
    """Correlations (1 + 4 + g, 1 + 4 + g) of general fitness, the levels of `ENGINES`, and those of g movements.

    `ladders` are pairs (easier, harder) of places among the movements; a pair of different kinds says nothing.
    What is returned is shared, so it cannot be written to.
    """
    names = ["general", *GENERAL_TO_FAMILY, *ENGINES]
    names[names.index("pattern") : names.index("pattern") + 1] = PATTERNS
    place = {name: at for at, name in enumerate(names)}
    edges: dict[int, tuple[int, float]] = {}  # child: (parent, correlation), parents before their children
    for family, strength in GENERAL_TO_FAMILY.items():
        for name in PATTERNS if family == "pattern" else (family,):
            edges[place[name]] = (0, strength)
    for engine in ENGINES:
        family = "running" if engine == "run" else "ergometers"
        edges[place[engine]] = (place[family], FAMILY_TO_MEMBER[family])
    for parent, child in _forest(movements, ladders):
        if parent is None:
            edges[len(names) + child] = _family_of(movements[child], place)
        else:
            edges[len(names) + child] = (len(names) + parent, ladder_correlation(movements[parent], movements[child]))
    joint = np.eye(len(names) + len(movements))
    known = [0]
    for child, (parent, strength) in edges.items():
        joint[child, known] = joint[known, child] = strength * joint[parent, known]
        known.append(child)
    wanted = [0, *(place[engine] for engine in ENGINES), *range(len(names), len(joint))]
    correlation = joint[np.ix_(wanted, wanted)]
    correlation.flags.writeable = False
    return correlation


def ladder_correlation(easier: Movement, harder: Movement) -> float:
    """Correlation of two neighbours on a ladder, so that one leaves the other a log SD of about `LADDER_SD`.

    It holds for the athlete's place among others, not for the bare ratio: from one athlete to the next the harder form
    differs more, so the ratio of ring rows to pull-ups grows from two in the strong to five in the weak.
    """
    spread = easier.known_sd * harder.known_sd
    return float(np.sqrt(max(1.0 - LADDER_SD**2 / spread, LEAST_LADDER_CORRELATION**2)))


@lru_cache(LIBRARIES)
def easier_forms(movements: Movements, ladders: Ladders) -> tuple[frozenset[int], ...]:
    """Of each movement all easier forms by any way along the ladders, where kind and order allow a comparison."""
    direct: list[set[int]] = [set() for _ in movements]
    for easier, harder in ladders:
        kind = movements[easier].kind
        if kind == movements[harder].kind and kind in ORDERED_KINDS and easier != harder:
            direct[harder].add(easier)
    found = [set(own) for own in direct]
    for _ in movements:
        for own in found:
            own.update(*(direct[easier] for easier in tuple(own)))
    return tuple(frozenset(own - {g}) for g, own in enumerate(found))


def _family_of(movement: Movement, place: dict[str, int]) -> tuple[int, float]:
    if movement.kind in (PACED, LOADED):
        family = "pace" if movement.kind == PACED else "strength"
        return place[family], FAMILY_TO_MEMBER[family]
    if movement.pattern:
        return place[movement.pattern], FAMILY_TO_MEMBER["pattern"]
    return 0, GENERAL_TO_FAMILY["pattern"] * FAMILY_TO_MEMBER["pattern"]


def _forest(movements: Sequence[Movement], ladders: Ladders) -> list[tuple[int | None, int]]:
    """(parent, child) along the ladders, parents first, None for the foot of a ladder.

    Of all pairs the nearest tie first (Kruskal 1956), so that several ladders over the same movements make one tree.
    """
    tie = list(range(len(movements)))
    neighbours: list[list[int]] = [[] for _ in movements]
    usable = [(e, h) for e, h in ladders if movements[e].kind == movements[h].kind]
    for easier, harder in sorted(usable, key=lambda pair: abs(movements[pair[0]].centre - movements[pair[1]].centre)):
        if tie[easier] != tie[harder]:
            old, new = tie[harder], tie[easier]
            tie = [new if own == old else own for own in tie]
            neighbours[easier].append(harder)
            neighbours[harder].append(easier)
    order: list[tuple[int | None, int]] = []
    seen: set[int] = set()
    for foot in sorted(range(len(movements)), key=lambda g: -movements[g].centre):
        waiting: list[tuple[int | None, int]] = [(None, foot)]
        while waiting:
            parent, child = waiting.pop()
            if child not in seen:
                seen.add(child)
                order.append((parent, child))
                waiting += [(child, other) for other in neighbours[child]]
    return order


def curve_correlation(level: Array, paced: int) -> Array:
    """Correlations (3, c, c) of log level, log W' and log k between the four `ENGINES` and `paced` paced movements.

    `level` (c, c) is the part of `level_correlation` that belongs to them.
    """
    names = [*ENGINES, *["paced"] * paced]

    def between(values: tuple[float, float, float, float]) -> Array:
        ergometers, pace, running, others = values
        ergometer = np.array([name in ENGINES and name != "run" for name in names])
        run, is_paced = np.array([name == "run" for name in names]), np.array([name == "paced" for name in names])
        joint = np.full(level.shape, others)
        joint[np.outer(ergometer, ergometer)] = ergometers
        joint[np.outer(is_paced, is_paced)] = pace
        joint[np.outer(run, ergometer) | np.outer(ergometer, run)] = running
        np.fill_diagonal(joint, 1.0)
        return joint

    return np.stack([level, between(RESERVE_CORRELATION), between(RAMP_CORRELATION)])


def joint_covariance(log_sd: Array, correlation: Array) -> Array:
    """Covariance (3·c, 3·c) of the parameters of c curves in turn, from SDs (c, 3) and correlations (3, c, c)."""
    curves, parameters = log_sd.shape
    joint = np.zeros((curves, parameters, curves, parameters))
    for p in range(parameters):
        joint[:, p, :, p] = correlation[p] * np.outer(log_sd[:, p], log_sd[:, p])
    return joint.reshape(curves * parameters, curves * parameters)
