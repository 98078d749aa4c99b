"""Arrays → Plotly figures, as plain dictionaries. Knows neither models nor pages.

Figures carry no colours: `meta` says what a trace is, and the page paints it in its own, light or dark.
"""

import numpy as np
from plotly import graph_objects as go

from athletes.words import clock, hold_text, number, run_pace

SHORTEST_S, LONGEST_S = 10.0, 1800.0
POINTS = 61  # evenly on the logarithm: smooth at any width
TICKS_S = (1, 3, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200)  # as many as a phone has room for
PACE_STEPS_S = (5, 10, 15, 20, 30, 60, 120)
MOST_PACES = 8
CURVE, LOW, HIGH, FRESH, OLD = "curve", "low", "high", "fresh", "old"

# A picture to read, not to drag about: on a phone a finger on it must still scroll the page.
LAYOUT = {
    "template": "none",
    "dragmode": False,
    "hovermode": "closest",
    "autosize": True,
    "margin": {"l": 56, "r": 20, "t": 16, "b": 56},
    # The curve falls, so the upper right is free.
    "legend": {"x": 1, "xanchor": "right", "y": 1, "itemclick": False, "itemdoubleclick": False},
}


def durations(effort_duration_s) -> np.ndarray:
    """Where to draw a curve [s]: 10 s to 30 min, and as far as the efforts (m,) reach."""
    reach = [SHORTEST_S, LONGEST_S, *effort_duration_s]
    return np.geomspace(min(reach), max(reach), POINTS)


def power_words(engine: str, power: float) -> str:
    """A power as people on that engine speak of it: 210 W (1:58.5 per 500 m); in runs, which have speeds, the pace."""
    if engine == "run":
        return hold_text(engine, power)
    watts = f"{number(power, 0)} W"
    return watts if engine == "bike" else f"{watts} ({hold_text(engine, power)})"


def power_duration(
    *, engine: str, duration_s, best, low, high, effort_duration_s, effort_power, effort_fresh, effort_words
) -> dict:
    """Best even power against duration, with its likely range and the efforts as points.

    `best`, `low` and `high` are (n,) over `duration_s` (n,) [s]; the four of the efforts are (m,), m may be 0. Powers
    are watts, in runs m/s; `effort_fresh` says which efforts count fully, `effort_words` names each.
    """
    name = "best even pace" if engine == "run" else "best even power"
    words = _curve_words(engine, duration_s, best, low, high)
    lines = [
        _line(LOW, "", duration_s, low, hoverinfo="skip"),
        _line(HIGH, "68 % likely range", duration_s, high, hoverinfo="skip", fill="tonexty"),
        _line(CURVE, name, duration_s, best, hoverinfo="text", text=words),
    ]
    fresh = np.asarray(effort_fresh, bool)
    points = [
        _points(meta, name, chosen, effort_duration_s, effort_power, effort_words)
        for meta, name, chosen in ((FRESH, "efforts", fresh), (OLD, "older efforts, which count less", ~fresh))
        if chosen.any()
    ]
    powers = np.concatenate([low, high, np.asarray(effort_power, float)])
    layout = {"xaxis": _duration_axis(duration_s), "yaxis": _power_axis(engine, powers)}
    return go.Figure([*lines, *points], {**LAYOUT, **layout}).to_plotly_json()


def _line(meta: str, name: str, x, y, **more) -> go.Scatter:
    x, y = np.asarray(x, float).tolist(), np.asarray(y, float).tolist()
    return go.Scatter(x=x, y=y, mode="lines", meta=meta, name=name, showlegend=bool(name), **more)


def _points(meta: str, name: str, chosen, x, y, words) -> go.Scatter:
    x, y = np.asarray(x, float)[chosen], np.asarray(y, float)[chosen]
    text = [word for word, wanted in zip(words, chosen, strict=True) if wanted]
    return go.Scatter(x=x.tolist(), y=y.tolist(), mode="markers", name=name, meta=meta, hoverinfo="text", text=text)


def _curve_words(engine: str, duration_s, best, low, high) -> list[str]:
    rows = zip(duration_s, best, low, high, strict=True)
    return [f"{clock(t)}: {power_words(engine, p)}<br>{range_words(engine, *ends)}" for t, p, *ends in rows]


def range_words(engine: str, low: float, high: float) -> str:
    """The likely range of a power in the first unit of its engine."""
    if engine == "run":
        return f"{run_pace(low)} to {run_pace(high)} per km"
    return f"{number(low, 0)} to {number(high, 0)} W"


def _duration_axis(duration_s) -> dict:
    shortest, longest = float(duration_s[0]), float(duration_s[-1])
    ticks = [tick for tick in TICKS_S if shortest <= tick <= longest]
    return {
        "type": "log",
        "range": [np.log10(shortest).item() - 0.03, np.log10(longest).item() + 0.03],
        "title": {"text": "duration, min:s"},
        "tickangle": 0,
        "tickvals": ticks,
        "ticktext": [clock(tick, tenths=False) for tick in ticks],
        "fixedrange": True,
        "zeroline": False,
    }


def _power_axis(engine: str, powers) -> dict:
    axis = {"fixedrange": True, "zeroline": False, "title": {"text": "W"}}
    if engine != "run":
        return axis
    # Speeds are drawn, so that faster is higher; the marks are round paces.
    slowest, fastest = 1000 / powers.min(), 1000 / powers.max()
    step = next((step for step in PACE_STEPS_S if (slowest - fastest) / step < MOST_PACES), PACE_STEPS_S[-1])
    paces = np.arange(np.ceil(fastest / step) * step, slowest, step)
    words = [clock(pace, tenths=False) for pace in paces]
    return {**axis, "title": {"text": "min:s per km"}, "tickvals": (1000 / paces).tolist(), "ticktext": words}
