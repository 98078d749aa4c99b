import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.efforts.parsing import NotUnderstood, Reading, Result, read, result
from athletes.words import clock


@pytest.mark.parametrize(
    ("typed", "reading"),
    [
        ("7:42.3", Reading(seconds=462.3)),
        ("  7:42,3 ", Reading(seconds=462.3)),
        ("1:02:03.4", Reading(seconds=3723.4)),
        ("45s", Reading(seconds=45)),
        ("1:52.4/500", Reading(pace_s=112.4, pace_metres=500)),
        ("1:52.4 per 500 m", Reading(pace_s=112.4, pace_metres=500)),
        ("4:10/km", Reading(pace_s=250, pace_metres=1000)),
        ("12 in 0:40", Reading(amount=12, seconds=40)),
        ("12/0:40", Reading(amount=12, seconds=40)),
        ("12 kcal in 40s", Reading(amount=12, unit="kcal", seconds=40)),
        ("2000 m in 7:42.3", Reading(amount=2000, unit="m", seconds=462.3)),
        ("85x5", Reading(load_kg=85, repetitions=5)),
        ("85 kg × 5", Reading(load_kg=85, repetitions=5)),
        ("110 kg", Reading(load_kg=110, repetitions=1)),
        ("5x70kg", Reading(load_kg=70, repetitions=5)),
        ("1m58s", Reading(seconds=118)),
        ("8 min 5 s", Reading(seconds=485)),
        ("8'45", Reading(seconds=525)),
        ("8’45.3”", Reading(seconds=525.3)),
        ("23", Reading(amount=23)),
        ("5 km", Reading(amount=5000, unit="m")),
    ],
)
def test_it_reads_what_staff_type(typed, reading):
    assert read(typed) == reading


def test_pounds_are_the_international_pound():
    # 1 lb = 0.45359237 kg exactly: international yard and pound agreement, 1959 (also NIST Handbook 44, appendix C).
    assert read("187 lb x 5").load_kg == pytest.approx(187 * 0.45359237)


@pytest.mark.parametrize("typed", ["", "   ", "fast", "7:75", "7:42.3.1", "x5", "12 in", "85x", "7:4", "-5", "½"])
def test_it_says_what_to_type_instead(typed):
    with pytest.raises(NotUnderstood, match=r"[Tt]ype"):
        read(typed)


@pytest.mark.parametrize(
    ("typed", "why"), [("DNF", "stopped"), ("stopped early", "stopped"), ("can't", "could not do it")]
)
def test_what_stands_for_no_result_is_told_so(typed, why):
    with pytest.raises(NotUnderstood, match=f"No number: {why}"):
        read(typed)


@given(st.integers(1, 36_000).map(lambda tenths: tenths / 10))
def test_every_time_that_is_shown_is_understood(seconds):
    assert read(clock(seconds)).seconds == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("typed", "measure", "fixed", "expected"),
    [
        ("7:42.3", "time_for_distance", 2000, Result(462.3)),
        ("1:55.6/500", "time_for_distance", 2000, Result(pytest.approx(462.4))),
        ("2000 in 7:42.3", "time_for_distance", 2000, Result(462.3)),
        ("4:00/km", "time_for_distance", 5000, Result(1200)),
        ("38.4", "time_for_calories", 15, Result(38.4)),
        ("15 in 0:38.4", "time_for_calories", 15, Result(38.4)),
        ("12", "calories_in_time", 40, Result(12)),
        ("12 in 0:40", "calories_in_time", 40, Result(12)),
        ("1480", "distance_in_time", 360, Result(1480)),
        ("2:00/500", "distance_in_time", 360, Result(1500)),
        ("23", "repetitions", None, Result(23)),
        ("1:15", "hold", None, Result(75)),
        ("75", "hold", None, Result(75)),
        ("85x5", "lift", None, Result(85, 5)),
    ],
)
def test_it_means_a_result_of_the_benchmark(typed, measure, fixed, expected):
    assert result(read(typed), measure, fixed) == expected


@pytest.mark.parametrize(
    ("typed", "measure", "fixed", "says"),
    [
        ("1000 in 3:20", "time_for_distance", 2000, "fixed at 2000 m"),
        ("442", "time_for_distance", 2000, "Type the time"),
        ("12 in 0:30", "calories_in_time", 40, "fixed at 40 s"),
        ("85x5", "repetitions", None, "whole number"),
        ("7.5", "repetitions", None, "whole number"),
        ("85", "lift", None, "load and repetitions"),
        ("85x0", "lift", None, "at least one"),
        ("12 kcal", "distance_in_time", 60, "counts m"),
    ],
)
def test_it_refuses_what_does_not_fit_the_benchmark(typed, measure, fixed, says):
    with pytest.raises(NotUnderstood, match=says):
        result(read(typed), measure, fixed)


@pytest.mark.parametrize("typed", ["9" * 400, f"85x{'9' * 400}", f"{'9' * 400}:00:00"])
def test_what_is_longer_than_any_result_is_refused(typed):
    with pytest.raises(NotUnderstood, match="at most 60 characters"):
        read(typed)


def test_a_pace_of_no_time_at_all_gives_no_distance():
    with pytest.raises(NotUnderstood):
        result(read("0:00/500"), "distance_in_time", 60)
