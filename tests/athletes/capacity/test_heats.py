"""Heats against every possible plan of small days, and the rules of the floor on large ones."""

import random
from collections import defaultdict
from itertools import combinations

import pytest

from athletes.capacity.heats import Trial, order_of, plan_heats, whole_step

REST_S, CHANGE_S = 300.0, 60.0


def shortest(trials, places, rest_s, change_s):
    """Length of the shortest of all possible days: every sequence of heats, each as early as what came before lets."""
    order, seconds, place = defaultdict(list), {}, {}
    for trial in sorted(trials, key=lambda t: (t.rank, t.seconds)):
        order[trial.athlete].append(trial.benchmark)
        seconds[trial.athlete, trial.benchmark], place[trial.benchmark] = trial.seconds, trial.place
    best = float("inf")

    def go(done, free, ready, end):
        nonlocal best
        if end >= best:
            return
        waiting = defaultdict(list)
        for athlete, own in order.items():
            if done[athlete] < len(own):
                waiting[own[done[athlete]]].append(athlete)
        if not waiting:
            best = end
        for benchmark, athletes in waiting.items():
            where = place[benchmark]
            for size in range(1, min(len(athletes), places[where]) + 1):
                for group in combinations(athletes, size):
                    start = whole_step(max(free[where], *(ready[a] for a in group)))
                    length = max(seconds[a, benchmark] for a in group)
                    go(
                        {**done, **{a: done[a] + 1 for a in group}},
                        {**free, where: start + length + change_s},
                        {**ready, **{a: start + seconds[a, benchmark] + rest_s for a in group}},
                        max(end, start + length),
                    )

    go(dict.fromkeys(order, 0), dict.fromkeys(places, 0.0), dict.fromkeys(order, 0.0), 0.0)
    return best


def small_day(seed):
    chance = random.Random(seed)
    places = {"row": chance.choice([1, 2]), "rig": chance.choice([1, 2])}
    tests = [("sprint", "row", 1), ("long", "row", 3), ("pulls", "rig", 2)]
    trials = []
    for athlete in range(chance.choice([3, 4])):
        for name, place, rank in chance.sample(tests, chance.choice([1, 2])):
            trials.append(Trial(athlete, name, place, float(chance.randrange(30, 600)), (rank, name)))
    return trials, places


@pytest.mark.parametrize("seed", range(40))
def test_no_other_plan_of_a_small_day_is_shorter(seed):
    trials, places = small_day(seed)
    heats = plan_heats(trials, places, REST_S, CHANGE_S)
    assert max(h.starts_s + h.seconds for h in heats) == shortest(trials, places, REST_S, CHANGE_S)


def large_day(seed=0):
    chance = random.Random(seed)
    places = {"row": 4, "ski": 3, "bike": 2, "rig": 8}
    tests = [("row 2000", "row", 3, 480), ("row 500", "row", 3, 110), ("ski 1000", "ski", 3, 260)]
    tests += [("bike", "bike", 3, 600), ("pulls", "rig", 2, 40)]
    trials = []
    for athlete in range(30):
        for name, place, rank, seconds in chance.sample(tests, chance.choice([1, 2, 3])):
            trials.append(Trial(athlete, name, place, seconds * chance.uniform(0.8, 1.3), (rank, name)))
    return trials, places


def test_the_rules_of_the_floor_hold_on_a_large_day():
    trials, places = large_day()
    heats = plan_heats(trials, places, REST_S, CHANGE_S)
    seconds = {(t.athlete, t.benchmark): t.seconds for t in trials}
    assert sorted((a, h.benchmark) for h in heats for a in h.athletes) == sorted(seconds)
    by_place, by_athlete = defaultdict(list), defaultdict(list)
    for heat in heats:
        assert len(heat.athletes) <= places[heat.place]
        assert heat.starts_s % 60 == 0
        by_place[heat.place].append(heat)
        for athlete in heat.athletes:
            by_athlete[athlete].append((heat.starts_s, heat.benchmark))
    for own in by_place.values():
        for before, after in zip(own, own[1:], strict=False):
            assert after.starts_s >= before.starts_s + before.seconds + CHANGE_S
    rank = {t.benchmark: t.rank for t in trials}
    for athlete, own in by_athlete.items():
        for (start, before), (then, after) in zip(own, own[1:], strict=False):
            assert then >= start + seconds[athlete, before] + REST_S
            assert rank[before] <= rank[after]


def test_a_large_day_is_near_what_no_plan_can_beat():
    trials, places = large_day()
    heats = plan_heats(trials, places, REST_S, CHANGE_S)
    least = 0.0
    for place, count in places.items():
        # In the best case the fastest fill whole heats and nobody waits.
        own = defaultdict(list)
        for trial in trials:
            if trial.place == place:
                own[trial.benchmark].append(trial.seconds)
        lengths = [s for group in own.values() for s in sorted(group, reverse=True)[::count]]
        least = max(least, sum(lengths) + CHANGE_S * (len(lengths) - 1))
    assert max(h.starts_s + h.seconds for h in heats) <= 1.15 * least


def test_the_same_day_gives_the_same_plan():
    assert plan_heats(*large_day(3), REST_S, CHANGE_S) == plan_heats(*large_day(3), REST_S, CHANGE_S)


def test_what_tires_least_comes_first():
    turns = [order_of("lift", 480), order_of("calories_in_time", 40), order_of("repetitions", 30)]
    turns.append(order_of("time_for_distance", 460))
    assert turns == sorted(turns)


def test_nothing_to_plan_and_nothing_to_test_on():
    assert plan_heats([], {}, REST_S, CHANGE_S) == []
    with pytest.raises(ValueError, match="no machine or place"):
        plan_heats([Trial(1, "row 2000", "row", 480.0, (3,))], {"row": 0}, REST_S, CHANGE_S)


def sizes(athletes, tests, places, seed):
    """How many stand in each heat of a day on which everyone does the same tests."""
    chance, trials = random.Random(seed), []
    for athlete in range(athletes):
        for name, place, rank, seconds in tests:
            trials.append(Trial(athlete, name, place, seconds * chance.uniform(0.8, 1.25), (rank, name)))
    found = defaultdict(list)
    for heat in plan_heats(trials, places, 3 * REST_S, 2 * CHANGE_S):
        found[heat.benchmark].append(len(heat.athletes))
    return found


@pytest.mark.parametrize("seed", range(3))
def test_heats_are_few_where_that_makes_the_day_no_longer(seed):
    tests = [("row 2000", "row", 3, 480.0), ("bike", "bike", 1, 60.0), ("pulls", "rig", 2, 40.0)]
    found = sizes(30, tests, {"row": 4, "bike": 2, "rig": 6}, seed)
    assert sum(map(len, found.values())) <= 31  # 28 fill every place each time; all as early as can be makes 38
    assert not [own for own in found.values() if 1 in own]


@pytest.mark.parametrize("seed", range(3))
def test_nobody_goes_all_out_alone_where_another_can_be_beside_them(seed):
    tests = [("row 2000", "row", 3, 480.0), ("ski 1000", "ski", 3, 260.0), ("pulls", "rig", 2, 40.0)]
    found = sizes(10, tests, {"row": 4, "ski": 3, "rig": 6}, seed)
    assert not [own for own in found.values() if 1 in own]  # of ten on three machines, two and two rather than one
