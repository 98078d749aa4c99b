"""Why, in two sentences at most: codes and key words, not whole sentences."""

import itertools

import pytest

from sessions.scaling.explain import FIRST_TIME, explain
from sessions.scaling.targets import Reason, Swap

AS_WRITTEN = {
    "reason": Reason.AS_WRITTEN, "swap": Swap.NONE, "dose": 13, "written": 13, "unit": "calories", "rounds": 8,
    "of_rounds": 8, "work_s": 45.0, "movement": "Row", "other_movement": "Ski",
}  # fmt: skip


def said(**changes):
    return " ".join(explain(**{**AS_WRITTEN, **changes}))


def test_as_prescribed_needs_no_reason():
    assert explain(**AS_WRITTEN) == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"reason": Reason.TIME, "dose": 11}, "45 s"),
        ({"reason": Reason.OWN, "dose": 11}, "11 instead of 13 calories"),
        ({"reason": Reason.TOGETHER, "dose": 11}, "save something for Ski"),
        ({"reason": Reason.TOGETHER, "dose": 11, "other_movement": ""}, "your limit here"),
        ({"reason": Reason.DAY, "dose": 11, "intent": "easy"}, "an easy day"),
        ({"reason": Reason.DAY, "dose": 11, "intent": "steady"}, "a steady day"),
        ({"reason": Reason.DAY, "dose": 11, "intent": "steady", "hot": True}, "hot day"),
        ({"reason": Reason.UNTESTED, "dose": 8}, FIRST_TIME),
        ({"reason": Reason.NEWCOMER, "rounds": 4}, "Your first 4 of 8 rounds, then stretch."),
        ({"reason": Reason.NEWCOMER, "rounds": 1}, "Only the first of 8 rounds"),
        ({"reason": Reason.UNACCUSTOMED, "rounds": 5}, "used to"),
        ({"reason": Reason.ROUNDS, "rounds": 5}, "5 of 8 rounds"),
        ({"reason": Reason.BY_HAND, "dose": 9}, "Set by your coach"),
        ({"reason": Reason.BY_HAND, "dose": 0}, "set a rest"),
        ({"reason": Reason.NO_TARGET, "dose": 0}, "with you"),
        ({"reason": Reason.REST, "dose": 0}, "ask your coach"),
        ({"swap": Swap.TOO_LITTLE}, "Row, so that you can keep moving"),
        ({"swap": Swap.TOO_LITTLE, "by_library": True}, "easier form"),
        ({"swap": Swap.NEWCOMER}, "first weeks"),
        ({"swap": Swap.UNACCUSTOMED}, "easier on your muscles"),
    ],
)
def test_a_reason_is_said(changes, words):
    assert words in said(**changes)


def test_never_more_than_two_sentences_and_no_limitation_is_named():
    for reason, swap, untested, rounds in itertools.product(Reason, Swap, (False, True), (3, 8)):
        sentences = explain(**{**AS_WRITTEN, "reason": reason, "swap": swap, "rounds": rounds}, untested=untested)
        assert len(sentences) <= 2
        assert all(sentence.endswith(".") for sentence in sentences)
    forbidden = said(swap=Swap.FORBIDDEN).lower()
    assert not any(word in forbidden for word in ("limit", "injur", "pain", "not allowed", "forbidden"))
