"""The clock itself: every phase and every press, against cases written by hand and against counting by seconds."""

import ast
import json
import random
from dataclasses import astuple
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from sessions.circuits.definition import read
from sessions.clock import moment as clock
from sessions.clock.moment import Change, Shape, moment, over_ms, shape_from, shape_of

DOCUMENT = json.loads((Path(__file__).parent / "clock_cases.json").read_text())
START = DOCUMENT["start_ms"]
SHAPES = {name: shape_from(kept) for name, kept in DOCUMENT["shapes"].items()}


def changes(rows):
    return [Change(START + at, kind, value) for at, kind, value in rows]


@pytest.mark.parametrize("case", DOCUMENT["cases"], ids=[case["name"] for case in DOCUMENT["cases"]])
def test_where_a_class_stands(case):
    found = moment(SHAPES[case["shape"]], START, changes(case["changes"]), START + case["now"])
    assert list(astuple(found)) == case["expect"]


@pytest.mark.parametrize("case", DOCUMENT["over"])
def test_when_it_is_over_if_nothing_more_is_pressed(case):
    shape, pressed = SHAPES[case["shape"]], changes(case["changes"])
    end = over_ms(shape, START, pressed)
    assert end - START == case["expect"]
    assert moment(shape, START, pressed, end).state == "over"
    if pressed[-1:] != [Change(end, "end", 0)]:
        assert moment(shape, START, pressed, end - 1).state != "over"


def second_by_second(shape: Shape, pressed: list[Change], until_s: int) -> tuple:
    """(step, second of it, paused) by counting: a hand that moves on by one each second, unless it is held."""
    by_second = {}
    for change in pressed:
        by_second.setdefault(change.at_ms // 1000, []).append(change)
    hand, held, rounds = 0, False, shape.rounds
    for second in range(until_s + 1):
        if second and not held:
            hand += 1
        for change in by_second.get(second, []):
            if change.kind == "jump":
                hand = change.value * shape.interval_s
            elif change.kind == "rounds":
                rounds = change.value
            else:
                held = change.kind == "pause"
    return *divmod(hand, shape.interval_s), held, rounds


def random_class(chance: random.Random) -> tuple[Shape, list[Change], int]:
    """A class with presses on whole seconds that never reaches its end."""
    stations, partners = chance.randint(1, 6), chance.choice([1, 2])
    interval = chance.randint(30, 90)
    windows = tuple(chance.randint(5, interval) for _ in range(stations))
    shape = Shape(windows, interval, 20, partners, 10)
    steps = stations * partners
    pressed, second = [], 0
    for _ in range(chance.randint(0, 8)):
        second += chance.randint(1, 60)
        kind = chance.choice(["pause", "resume", "jump", "rounds"])
        value = {"jump": chance.randint(0, 4 * steps - 1), "rounds": chance.randint(20, 40)}.get(kind, 0)
        pressed.append(Change(1000 * second, kind, value))
    return shape, pressed, second + chance.randint(0, 30)


@pytest.mark.parametrize("seed", range(60))
def test_it_is_what_counting_second_by_second_gives(seed):
    shape, pressed, now = random_class(random.Random(seed))
    step, second, held, rounds = second_by_second(shape, pressed, now)
    found = moment(shape, 0, pressed, 1000 * now)
    assert (found.step, found.second, found.state == "paused", found.rounds) == (step, second, held, rounds)
    assert found.left_ms == 1000 * (shape.interval_s - second)


@pytest.mark.parametrize("seed", range(20))
def test_the_order_in_which_presses_arrive_does_not_matter(seed):
    chance = random.Random(seed)
    shape, pressed, now = random_class(chance)
    mixed = chance.sample(pressed, len(pressed))
    assert moment(shape, 0, mixed, 1000 * now) == moment(shape, 0, pressed, 1000 * now)
    assert over_ms(shape, 0, mixed) == over_ms(shape, 0, pressed)


@pytest.mark.parametrize("night", [datetime(2026, 3, 29, 0, 59, 30), datetime(2026, 10, 25, 1, 59, 30)])
def test_a_night_in_which_clocks_are_changed_is_like_any_other(night):
    begin = night.replace(tzinfo=ZoneInfo("Europe/Lisbon"))
    start = round(begin.timestamp() * 1000)
    later = begin.astimezone(ZoneInfo("UTC")) + timedelta(seconds=100)
    assert later.astimezone(begin.tzinfo).utcoffset() != begin.utcoffset()
    found = moment(SHAPES["one"], start, [], round(later.timestamp() * 1000))
    assert (found.step, found.second) == (1, 40)


def test_the_shape_of_a_definition_from_before_partners():
    stations = [{"position": s, "work_window_s": window, "options": []} for s, window in ((1, 45), (2, 40))]
    kept = {"name": "Old", "stations": stations, "interval_s": 60, "rotations": 5, "headroom": 0.1}
    assert shape_of(read(kept)) == Shape((45, 40), 60, 5, 1, 10)
    assert shape_of(read({**kept, "partners": 2}), ready_s=20) == Shape((45, 40), 60, 5, 2, 20)


def test_the_clock_needs_the_standard_library_only():
    tree = ast.parse(Path(clock.__file__).read_text())
    modules = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert modules <= {"collections.abc", "dataclasses", "math", "typing", "sessions.circuits.definition"}
    assert not any(isinstance(node, ast.Import) for node in ast.walk(tree))
