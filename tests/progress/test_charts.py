import json

import numpy as np
import pytest

from sessions.progress import charts

LENGTHS = [60.0, 420.0]


def figure(engine: str = "row", **changes) -> dict:
    duration_s = charts.durations(changes.get("effort_duration_s", LENGTHS))
    best = (200 + 20000 / (duration_s + 20)) * (0.015 if engine == "run" else 1)
    values = {
        "duration_s": duration_s,
        "best": best,
        "low": best * 0.9,
        "high": best * 1.1,
        "effort_duration_s": LENGTHS,
        "effort_power": [400.0, 240.0],
        "effort_fresh": [True, False],
        "effort_words": ["1 min row", "2000 m row"],
    }
    return charts.power_duration(engine=engine, **{**values, **changes})


def traces(drawn: dict) -> dict:
    return {trace["meta"]: trace for trace in drawn["data"]}


def test_it_is_plain_json_without_a_colour():
    written = json.dumps(figure())
    assert "color" not in written
    assert "bdata" not in written


def test_the_curve_lies_inside_its_band_from_ten_seconds_to_half_an_hour():
    drawn = traces(figure())
    assert drawn["curve"]["x"][0] == pytest.approx(10)
    assert drawn["curve"]["x"][-1] == pytest.approx(1800)
    low, best, high = (np.array(drawn[meta]["y"]) for meta in ("low", "curve", "high"))
    assert (low < best).all()
    assert (best < high).all()
    assert drawn["high"]["fill"] == "tonexty"


def test_a_longer_effort_makes_the_axis_longer():
    drawn = figure(effort_duration_s=[60.0, 2700.0])
    assert traces(drawn)["curve"]["x"][-1] == pytest.approx(2700)
    assert drawn["layout"]["xaxis"]["range"][1] > np.log10(2700)


def test_efforts_that_count_less_are_drawn_apart():
    drawn = traces(figure())
    assert (drawn["fresh"]["x"], drawn["old"]["x"]) == ([60.0], [420.0])
    assert drawn["old"]["text"] == ["2000 m row"]
    none = {"effort_power": [], "effort_fresh": [], "effort_words": []}
    assert set(traces(figure(effort_duration_s=[], **none))) == {"low", "high", "curve"}


def test_ticks_of_a_run_are_round_paces_at_their_speeds():
    axis = figure("run", effort_power=[5.0, 4.0])["layout"]["yaxis"]
    assert 3 <= len(axis["tickvals"]) <= charts.MOST_PACES
    for speed, words in zip(axis["tickvals"], axis["ticktext"], strict=True):
        minutes, seconds = words.split(":")
        assert 60 * int(minutes) + int(seconds) == pytest.approx(1000 / speed)


def test_words_name_what_people_on_that_engine_speak_of():
    assert charts.power_words("row", 203.0) == "203 W (1:59.9 per 500 m)"
    assert charts.power_words("bike", 203.0) == "203 W"
    assert charts.power_words("run", 4.0) == "4:10.0 per km"
    assert charts.range_words("run", 4.0, 5.0) == "4:10.0 to 3:20.0 per km"
