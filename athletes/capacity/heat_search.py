"""Makes a plan of heats shorter by trying changes: threshold accepting (Dueck & Scheuer 1990, J Comput Phys 90:161–175,
from memory). The day that is planned says what a plan costs (`heats`)."""

import random
from collections.abc import Mapping
from itertools import permutations
from typing import Any, Protocol

Plan = list[tuple[Any, list[Any]]]  # benchmark and its athletes, heat by heat
Cost = tuple[float, float]


class Day(Protocol):
    """A day to be planned (see `heats`)."""

    @property
    def places(self) -> Mapping[Any, int]: ...

    @property
    def place(self) -> Mapping[Any, Any]: ...

    def cost(self, plan: Plan) -> Cost | None: ...


TRIES = 6000  # changes tried; about half a second for thirty athletes
FIRST_SLACK = 0.05  # of the day's length by which a change may make it longer at first


def improved(day: Day, plan: Plan, seed: int) -> Plan:
    """The best plan met while changing it at random: worse ones are gone on with too, less and less."""
    chance = random.Random(seed)
    here = cost_of(day, plan)
    best, best_plan = here, plan
    for tried in range(TRIES if len(plan) > 1 else 0):
        changed = _changed(day, plan, chance)
        cost = day.cost(changed) if changed else None
        slack = FIRST_SLACK * best[0] * (1.0 - tried / TRIES)
        if changed and cost and (cost <= here or cost[0] <= here[0] + slack * chance.random()):
            plan, here = changed, cost
            if here < best:
                best, best_plan = here, plan
    return _merged(day, best, best_plan)


def cost_of(day: Day, plan: Plan) -> Cost:
    """The cost of a plan that keeps everybody's order."""
    cost = day.cost(plan)
    if cost is None:
        raise ValueError("This plan breaks somebody's order of tests.")
    return cost


def _merged(day: Day, cost: Cost, plan: Plan) -> Plan:
    """The plan with any two heats made one that fit together and cost less so: chance has tried only some."""
    for one, other in permutations(range(len(plan)), 2):
        if together := _joined(day, plan, one, other):
            found = day.cost(together)
            if found and found < cost:
                return _merged(day, found, together)
    return plan


def _joined(day: Day, plan: Plan, one: int, other: int) -> Plan | None:
    """A copy with heat `one` taken into heat `other`, where that has the places and tests the same; None elsewhere."""
    (benchmark, athletes), (theirs, there) = plan[one], plan[other]
    if benchmark != theirs or len(athletes) + len(there) > day.places[day.place[benchmark]]:
        return None
    plan = list(plan)
    plan[other] = (benchmark, [*there, *athletes])
    del plan[one]
    return plan


def _changed(day: Day, plan: Plan, chance: random.Random) -> Plan | None:
    """A copy with one change: a heat elsewhere in the list, an athlete in another or a heat of their own, two swapped,
    two heats made one.

    None where the change drawn does not fit.
    """
    plan = [(benchmark, list(athletes)) for benchmark, athletes in plan]
    one, other = chance.randrange(len(plan)), chance.randrange(len(plan))
    benchmark, athletes = plan[one]
    kind = chance.random()
    if kind < 0.3:
        plan.insert(other, plan.pop(one))
        return plan
    if kind > 0.9:
        return _joined(day, plan, one, other) if one != other else None
    who = chance.choice(athletes)
    if kind < 0.5:
        athletes.remove(who)
        plan.insert(other, (benchmark, [who]))
    else:
        same = [b for b, (name, _) in enumerate(plan) if name == benchmark and b != one]
        if not same:
            return None
        target = plan[chance.choice(same)][1]
        athletes.remove(who)
        if kind > 0.75 or len(target) >= day.places[day.place[benchmark]]:
            back = target.pop(chance.randrange(len(target)))
            athletes.append(back)
        target.append(who)
    return [heat for heat in plan if heat[1]]
