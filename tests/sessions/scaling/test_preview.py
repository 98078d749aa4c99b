"""What the coach is told before publishing: one sentence each, with what would mend it."""

from dataclasses import replace

import numpy as np

from sessions.scaling.preview import notes, room_curve
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import NOTHING_SHARED, PULL, circuit, movement_option, room

NAMES = (("pull-ups",), ("ring rows",))


def told(plan, people, names=NAMES, headroom=None):
    return [note.says for note in notes(plan, scale(plan, people), names, headroom)]


def pair(involvement=PULL, dose=8.0, **more):
    return circuit(movement_option(dose), movement_option(dose, involvement=involvement), **more)


def test_a_circuit_that_everybody_can_do_needs_no_word():
    plan = pair(NOTHING_SHARED[1])
    assert told(plan, room(plan, n=5, most=60.0)) == []


def test_a_ladder_that_ends_and_one_with_nothing_allowed():
    plan = pair(NOTHING_SHARED[1])
    most = np.full((8, 2, 1), 60.0)
    most[:1, 0] = 3.0
    found = told(plan, room(plan, n=8, most=most))
    assert len(found) == 1
    assert "pull-ups: under half of the dose for 1 person; add an easier form" in found[0]
    allowed = np.ones((8, 2, 1), bool)
    allowed[:2, 1] = False
    found = told(plan, room(plan, n=8, most=60.0, allowed=allowed))
    assert "ring rows: nothing on the ladder for 2 people" in found[0]


def test_two_stations_that_fight_for_the_same_muscles():
    plan = pair(rotations=6)
    found = told(plan, room(plan, n=5, most=17.0))
    assert any("pull-ups and ring rows use the same muscles" in sentence for sentence in found)


def test_too_much_for_many():
    plan = pair(rotations=30)
    found = told(plan, room(plan, n=5, most=4.0))
    assert any("too much for 5 people" in sentence for sentence in found)


def test_longer_and_more_than_a_class_does():
    plan = pair(NOTHING_SHARED[1], rotations=40, interval=150.0)
    found = told(plan, room(plan, n=2, most=500.0))
    assert any("200 minutes" in sentence for sentence in found)
    assert any("320 pull-ups in all" in sentence for sentence in found)


def test_what_is_done_is_named_on_a_swap_too_and_counted_at_all_stations():
    ladder = (movement_option(8.0), movement_option(12.0))
    plan = circuit(ladder, movement_option(8.0, involvement=NOTHING_SHARED[1]), rotations=20, interval=90.0)
    names = (("double skips", "skips"), ("push-ups",))
    allowed = np.array([[[False, True], [True, False]]])
    people = room(plan, n=2, most=500.0, allowed=allowed)
    assert [s.split(" in all")[0] for s in told(plan, people, names)] == ["240 skips"]
    twice = pair(NOTHING_SHARED[1], rotations=20, interval=90.0)
    found = told(twice, room(twice, most=500.0), (("pull-ups",), ("pull-ups",)))
    assert [s.split(" in all")[0] for s in found] == ["320 pull-ups"]


def test_the_rooms_curve_falls_and_agrees_with_the_targets():
    plan = pair(rotations=9, interval=90.0)
    people = room(plan, n=30, most=np.linspace(8.0, 50.0, 30).reshape(30, 1, 1) * np.ones((1, 2, 1)))
    curve = room_curve(plan, people, 0.10)
    assert (np.diff(curve) <= 0).all()
    assert 0 < curve[2] < 30
    for minutes, count in ((15, curve[0]), (27, curve[3])):
        exact = scale(replace(plan, rotations=minutes // 3), people, "hard")
        assert abs((exact.dose >= exact.written).all(-1).sum() - count) <= 1


def test_the_curve_is_by_the_numbers_of_the_gym_and_agrees_with_the_column():
    plan = pair(rotations=5, interval=90.0)  # 15 minutes
    most = np.linspace(8.0, 50.0, 30).reshape(30, 1, 1) * np.ones((1, 2, 1))
    people = room(plan, n=30, most=most)
    counts = []
    for sd, hard in ((0.15, 0.10), (0.30, 0.10), (0.15, 0.30)):
        gym = {"headrooms": {"test": 0.0, "hard": hard, "steady": 0.35, "easy": 0.5}, "repetitions_model_sd": sd}
        column = scale(plan, people, "hard", **gym).rounds_as_prescribed
        counts.append(room_curve(plan, people, hard, (15,), **gym)[0])
        assert abs((column >= 5).sum() - counts[-1]) <= 1
    assert counts[0] > max(counts[1:])


def test_a_caution_takes_nobody_off_the_column():
    plan = pair(rotations=5, interval=90.0)
    strong = {"n": 3, "most": 200.0}
    for caution in (
        {"newcomer_week": np.array([1, 0, 2])},
        {"untested": np.ones((3, 2, 1), bool)},
        {"pinned_rung": np.array([[0, -2]] * 3), "pinned_dose": np.array([[3.0, 0.0]] * 3)},
    ):
        people = room(plan, **strong, **caution)
        assert (scale(plan, people).rounds_as_prescribed == 5).all()
        assert room_curve(plan, people, minutes=(15,)).tolist() == [3]
