import pytest

from sessions.scaling.explain import explain
from sessions.scaling.targets import Bound, Swap

RESULT = {
    "dose": 12.0,
    "wanted_dose": 15.0,
    "unit": "calories",
    "bound": Bound.OWN,
    "swap": Swap.NONE,
    "movement": "Row",
    "prescribed": "Row",
    "work_s": 42.0,
    "benchmarks": ("2000 m row",),
    "firmness": "firm",
}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bound": Bound.PRESCRIPTION, "dose": 15.0}, "whole dose: 15 calories"),
        ({"bound": Bound.TIME}, "42 seconds of work have room for 12 calories, out of 15"),
        ({}, "keep up 12 calories to the last round; 15 would not last"),
        ({"bound": Bound.OTHER_STATION, "other_station": "station 3, ski"}, "enough left for station 3, ski"),
        ({"bound": Bound.SAFETY}, "You do 12 calories out of 15: 70 % is the most for someone untested"),
        ({"bound": Bound.EXPOSURE}, "You do 12 calories out of 15: so much of it would be new to you"),
        ({"bound": Bound.RETURN}, "You do 12 calories: while you are new or come back after a break, the work grows"),
        ({"bound": Bound.PINNED}, "Your coach set 12 calories for you by hand."),
        ({"bound": Bound.PINNED, "dose": 0.0}, "Your coach set a rest"),
        ({"bound": Bound.REST}, "Rest at this station"),
        ({"swap": Swap.TOO_LITTLE, "movement": "Ring row", "prescribed": "pull-up"}, "Ring row stands in for pull-up"),
        ({"dose": 1.0, "unit": "repetitions"}, "1 repetition "),
        ({"benchmarks": ("2000 m row", "10 kcal row")}, "2000 m row and 10 kcal row"),
        ({"firmness": "rough"}, "new benchmark"),
        ({"benchmarks": ()}, "No benchmark of yours"),
    ],
)
def test_it_says_why_in_plain_words(change, words):
    assert words in " ".join(explain(**{**RESULT, **change}))


@pytest.mark.parametrize("bound", Bound)
@pytest.mark.parametrize("swap", Swap)
def test_at_most_three_sentences_without_jargon_or_private_reasons(bound, swap):
    sentences = explain(**{**RESULT, "bound": bound, "swap": swap, "other_station": "station 2"})
    assert 1 <= len(sentences) <= 3
    for word in ("W'", "W′", "CP", "quantile", "injur", "limitation", "fatigue matrix"):
        assert word not in " ".join(sentences)
