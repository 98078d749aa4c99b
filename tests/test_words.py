from datetime import date

import pytest

from athletes import words as formatting


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (462.3, "7:42.3"),
        (59.94, "0:59.9"),
        (59.96, "1:00.0"),
        (59.95, "1:00.0"),
        (3599.97, "1:00:00.0"),
        (3723.4, "1:02:03.4"),
        (0, "0:00.0"),
        (-3.1, "−0:03.1"),
        (-0.04, "0:00.0"),
        (None, "–"),
    ],
)
def test_clock_rounds_before_it_splits(seconds, text):
    assert formatting.clock(seconds) == text


def test_clock_without_tenths():
    assert formatting.clock(41.5, tenths=False) == "0:42"
    assert formatting.clock(59.5, tenths=False) == "1:00"


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(62.5, 1, "62.5"), (70.0, 1, "70"), (100, 0, "100"), (1.25, 1, "1.3"), (-3.04, 1, "−3"), (-0.01, 1, "0")],
)
def test_number_drops_zeros_at_the_end(value, decimals, text):
    assert formatting.number(value, decimals) == text


def test_percent():
    assert formatting.percent(0.15) == "15 %"
    assert formatting.percent(0.125, 1) == "12.5 %"


def test_paces_against_the_trade_reference():
    # 202.5 W is 2:00.0 and 302.3 W is 1:45.0 per 500 m
    assert formatting.pace(202.5) == "2:00.0"
    assert formatting.pace(302.3) == "1:45.0"
    assert formatting.pace(0) == "–"
    assert formatting.run_pace(4.0) == "4:10.0"


def test_hold_by_engine():
    assert formatting.hold_text("ski", 202.5) == "2:00.0 per 500 m"
    assert formatting.hold_text("bike", 244.6) == "245 W"
    assert formatting.hold_text("run", 4.0) == "4:10.0 per km"


def test_loads_in_the_athletes_unit():
    assert formatting.load_text(62.5) == "62.5 kg"
    assert formatting.load_text(1.25) == "1.25 kg"
    assert formatting.load_text(187 * formatting.POUND_KG, "lb") == "187 lb"
    assert formatting.load_text(None) == "– kg"


@pytest.mark.parametrize(
    ("dose", "text"),
    [
        (("kcal", 14), "14 kcal"),
        (("metres", 200), "200 m"),
        (("seconds", 30), "30 s"),
        (("repetitions", 1), "1 repetition"),
        (("repetitions", 8), "8 repetitions"),
        (("load_repetitions", 5, 62.5), "5 × 62.5 kg"),
        (("load_repetitions", 5, 20.412), "5 × 45 lb"),  # a plate of 45 lb, as it is written on it
        (("load_repetitions", 5, 37.5), "5 × 37.5 kg"),
    ],
)
def test_doses(dose, text):
    assert formatting.dose_text(*dose) == text


@pytest.mark.parametrize(
    ("measure", "value", "repetitions", "text"),
    [
        ("time_for_distance", 462.3, None, "7:42.3"),
        ("distance_in_time", 1480, None, "1480 m"),
        ("calories_in_time", 12, None, "12 kcal"),
        ("repetitions", 23, None, "23 repetitions"),
        ("hold", 75, None, "1:15.0"),
        ("lift", 85, 5, "85 kg × 5"),
        ("lift", None, None, "–"),
    ],
)
def test_results(measure, value, repetitions, text):
    assert formatting.result_text(measure, value, repetitions) == text


def test_days_in_words():
    today = date(2026, 11, 25)
    assert formatting.day(date(2026, 11, 3)) == "3 Nov 2026"
    assert formatting.day(date(2026, 11, 3), today) == "3 Nov"
    assert formatting.day(date(2025, 11, 3), today) == "3 Nov 2025"
    assert formatting.day(date(2026, 11, 24), today) == "yesterday"
    assert formatting.day(None) == "–"


@pytest.mark.parametrize(
    ("of", "text"),
    [
        (date(2026, 11, 25), "today"),
        (date(2026, 11, 20), "5 days ago"),
        (date(2026, 11, 4), "3 weeks ago"),
        (date(2026, 5, 25), "6 months ago"),
        (date(2024, 11, 1), "2 years ago"),
        (None, "never"),
    ],
)
def test_how_long_ago(of, text):
    assert formatting.ago(of, date(2026, 11, 25)) == text


def test_names_are_sorted_where_people_look_for_them():
    names = ["Zsófia", "Élise", "ada", "Łukasz", "Eero", "Ben", "Ørjan", "Mina", "Zoë"]
    in_order = ["ada", "Ben", "Eero", "Élise", "Łukasz", "Mina", "Ørjan", "Zoë", "Zsófia"]
    assert sorted(names, key=formatting.name_order) == in_order
