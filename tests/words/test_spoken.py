"""What a screen reader says is the number that the eye sees, in words."""

import re

import pytest

from athletes.words import clock, dose_parts, hold_parts, result_parts
from sessions.words.spoken import said, said_amounts, words


def test_a_pace_is_said_in_words():
    assert said("1:48.0", "per 500 m") == "one minute forty-eight point zero per five hundred metres"
    assert said(*hold_parts("row", 302.3)) == "one minute forty-five point zero per five hundred metres"
    assert said(*hold_parts("run", 4.0)) == "four minutes ten point zero per kilometre"
    assert said("0:59.4", "per km") == "fifty-nine point four per kilometre"


def test_a_time_names_its_seconds():
    assert said("7:42.3") == "seven minutes forty-two point three seconds"
    assert said("0:40.0") == "forty point zero seconds"
    assert said("1:02:03.5") == "one hour two minutes three point five seconds"
    assert said(*result_parts("hold", 61.0)) == "one minute one point zero seconds"


def test_units_are_words_and_one_is_one():
    assert said(*hold_parts("bike", 250)) == "250 watts"
    assert said(*dose_parts("kcal", 14)) == "14 calories"
    assert said(*dose_parts("kcal", 1)) == "1 calorie"
    assert said(*dose_parts("metres", 205)) == "205 metres"
    assert said(*dose_parts("seconds", 30)) == "30 seconds"
    assert said(*dose_parts("repetitions", 1)) == "1 repetition"
    assert said(*dose_parts("load_repetitions", 10, 24)) == "10 repetitions with 24 kilograms"
    assert said(*dose_parts("load_repetitions", 10, 24.948)) == "10 repetitions with 55 pounds"
    assert said(*result_parts("lift", 62.5, 3)) == "62.5 kilograms, 3 repetitions"
    assert said_amounts("1256 kcal/h · 278 W") == "1256 calories an hour, 278 watts"


@pytest.mark.parametrize("seconds", [0.1, 9.9, 59.96, 60, 61.25, 119.99, 600, 3599.97, 3600, 5025.5])
def test_nothing_is_left_as_digits_and_colons_in_a_time(seconds):
    assert re.fullmatch(r"[a-z -]+", said(clock(seconds)))


def test_words_of_all_that_a_clock_shows():
    assert [words(n) for n in (0, 7, 12, 19, 20, 21, 40, 99)] == [
        "zero", "seven", "twelve", "nineteen", "twenty", "twenty-one", "forty", "ninety-nine",
    ]  # fmt: skip
    assert len({words(n) for n in range(100)}) == 100
