"""Figures of progress, from arrays, as in `charts`: no colours, `meta` says what a trace is."""

from datetime import date

import numpy as np
from plotly import graph_objects as go

from athletes.words import clock, number
from sessions.progress.charts import LAYOUT

TIME_STEPS_S = (0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600)
MOST_TICKS = 7
ABOVE = {"legend": {"x": 0, "xanchor": "left", "y": 1.02, "yanchor": "bottom", "orientation": "h", "itemclick": False}}
BINS = 10
LEAST_PX, NAME_PX = 384, 26


def with_earlier(figure: dict, duration_s, best, low, high, name: str) -> dict:
    """The figure of `charts.power_duration` with an earlier curve and the ends of its likely range, (n,) each."""
    lines = [("then-low", "", low), ("then-high", "", high), ("then", name, best)]
    earlier = go.Figure([_line(meta, words, duration_s, power, hoverinfo="skip") for meta, words, power in lines])
    layout = {**figure["layout"], **ABOVE}  # so many lines are named that on a phone they would cover the curve
    return {"data": [*earlier.to_plotly_json()["data"], *figure["data"]], "layout": layout}


def history(*, days, values, best, words, expected, references, timed: bool, unit: str, today: date) -> dict:
    """Results (m,) of a benchmark over their days, personal bests apart, and what is expected today.

    `expected` is (value, low, high) or None; `references` holds (low, high, words) of published figures. Times have
    their small values on top: better is always higher.
    """
    best = np.asarray(best, bool)
    traces = [_line("result-line", "", days, values, hoverinfo="skip")]
    for meta, name, chosen in (("result", "results", ~best), ("best", "personal best on its day", best)):
        if chosen.any():
            traces.append(_points(meta, name, days, values, words, chosen))
    if expected:
        traces.append(_expected(today, *expected, timed, unit))
    ends = [min(days, default=today), today]
    traces += [_line("reference", text, ends, [at, at]) for low, high, text in references for at in (low, high)]
    for trace in traces[-2 * len(references) :][1::2] if references else ():
        trace.showlegend = False
    shown = [*values, *(expected or ()), *(at for low, high, _ in references for at in (low, high))]
    axis = _value_axis(shown, timed, unit)
    layout = {"xaxis": {"type": "date", "fixedrange": True}, "yaxis": axis, **ABOVE}
    return go.Figure(traces, {**LAYOUT, **layout}).to_plotly_json()


def bars(*, names, values, words, unit: str, level: float | None = None, level_name: str = "", top=None) -> dict:
    """A bar for each of n names; None where there is no value. `level` is a line to compare them with."""
    own = go.Bar(
        x=list(names), y=list(values), meta="bar", showlegend=False, hoverinfo="text", text=list(words),
        textposition="none", width=min(0.75, 0.06 * len(names)),
    )  # fmt: skip
    traces = [own]
    if level is not None and len(names):
        traces.append(_line("level", level_name, [names[0], names[-1]], [level, level]))
    yaxis = {"title": {"text": unit}, "rangemode": "tozero", "fixedrange": True, **({"range": [0, top]} if top else {})}
    layout = {"xaxis": {"type": "category", "nticks": MOST_TICKS, "fixedrange": True}, "yaxis": yaxis, **ABOVE}
    return go.Figure(traces, {**LAYOUT, **layout}).to_plotly_json()


def lying_bars(*, names, series, unit: str) -> dict:
    """Bars from left to right, the first name on top; `series` holds (meta, name, values (n,), words (n,))."""
    traces = [
        go.Bar(
            y=list(names), x=list(values), orientation="h", meta=meta, name=name, showlegend=bool(name),
            hoverinfo="text", text=list(words), textposition="none",
        )
        for meta, name, values, words in series
    ]  # fmt: skip
    xaxis = {"title": {"text": unit}, "rangemode": "tozero", "fixedrange": True}
    yaxis = {"type": "category", "autorange": "reversed", "dtick": 1, "fixedrange": True, "automargin": True}
    height = max(LEAST_PX, NAME_PX * len(names) + LEAST_PX // 3)  # every name has its line
    return go.Figure(traces, {**LAYOUT, "height": height, "xaxis": xaxis, "yaxis": yaxis, **ABOVE}).to_plotly_json()


def spread(
    *, values, earlier, earlier_name: str, references, timed: bool, unit: str
) -> tuple[dict, list[tuple[float, float, int, int]]]:
    """How often results (n,) lie where, beside `earlier` ones (m,), m may be 0: a histogram, and its bins as (from, to,
    earlier count, count) for a table."""
    every = [*values, *earlier]
    whole = not timed and all(float(value).is_integer() for value in every)
    edges = _whole_edges(every) if whole else np.histogram_bin_edges(every, min(BINS, len(set(every))))
    counts, before = (np.histogram(found, edges)[0] for found in (values, earlier))
    inside = 0.5 if whole else 0.0  # from 12 to 15 repetitions, not from 11.5 to 15.5
    bins = [
        (float(a + inside), float(b - inside), int(was), int(n))
        for a, b, was, n in zip(edges[:-1], edges[1:], before, counts, strict=True)
    ]
    step = float(edges[1] - edges[0])
    width = step / (2.2 if earlier else 1.0)  # side by side, with a gap to the next two
    shown = [(a, b, n) for a, b, _, n in bins]
    middle = (edges[:-1] + edges[1:]) / 2
    left = middle if earlier else edges[:-1]
    traces = [_bin_bars("bar", "today" if earlier else "", left, width, shown, timed)]
    if earlier:
        was = [(a, b, n) for a, b, n, _ in bins]
        traces.insert(0, _bin_bars("before", earlier_name, middle - width, width, was, timed))
    top = float(max(*counts, *before))
    lines = [
        _line("reference", text, [low, high], [top * (1.08 + 0.1 * n)] * 2)
        for n, (low, high, text) in enumerate(references)
    ]
    axis = _value_axis([*edges, *(at for low, high, _ in references for at in (low, high))], timed, unit)
    xaxis = {key: value for key, value in axis.items() if key != "autorange"}
    yaxis = {"title": {"text": "athletes"}, "rangemode": "tozero", "fixedrange": True, "tickformat": "d"}
    figure = go.Figure([*traces, *lines], {**LAYOUT, "xaxis": xaxis, "yaxis": yaxis, **ABOVE}).to_plotly_json()
    return figure, bins


def _bin_bars(meta: str, name: str, left: np.ndarray, width: float, bins, timed: bool) -> go.Bar:
    """A bar from `left` (b,) for each of the bins (from, to, count)."""
    words = [f"{_text(a, timed)} to {_text(b, timed)}: {n}{f' {name}' if name else ''}" for a, b, n in bins]
    return go.Bar(
        x=(left + width / 2).tolist(), y=[n for *_, n in bins], width=[width] * len(bins),
        offset=[-width / 2] * len(bins),
        meta=meta, name=name, showlegend=bool(name), hoverinfo="text", text=words, textposition="none",
    )  # fmt: skip


def _whole_edges(values) -> np.ndarray:
    """Edges half-way between whole numbers, for at most `BINS` bins."""
    low, high = min(values), max(values)
    step = np.ceil((high - low + 1) / BINS)
    return np.arange(low, high + step + 1, step) - 0.5


def _line(meta: str, name: str, x, y, **more) -> go.Scatter:
    x, y = [value.item() if hasattr(value, "item") else value for value in x], [float(value) for value in y]
    more = {"hoverinfo": "name", **more}
    return go.Scatter(x=x, y=y, mode="lines", meta=meta, name=name, showlegend=bool(name), **more)


def _points(meta: str, name: str, days, values, words, chosen) -> go.Scatter:
    own = [(d, float(v), w) for d, v, w, wanted in zip(days, values, words, chosen, strict=True) if wanted]
    x, y, text = (list(column) for column in zip(*own, strict=True))
    return go.Scatter(x=x, y=y, text=text, mode="markers", name=name, meta=meta, hoverinfo="text")


def _expected(today: date, value: float, low: float, high: float, timed: bool, unit: str) -> go.Scatter:
    words = f"expected today: {_text(value, timed)} ({_text(low, timed)} to {_text(high, timed)}) {unit}".rstrip()
    reach = {"type": "data", "symmetric": False, "array": [high - value], "arrayminus": [value - low]}
    name = "expected today, in 8 of 10 cases"
    return go.Scatter(
        x=[today], y=[value], error_y=reach, mode="markers", name=name, meta="expected", hoverinfo="text", text=[words]
    )


def _text(value: float, timed: bool) -> str:
    return clock(value) if timed else number(value)


def _value_axis(values, timed: bool, unit: str) -> dict:
    axis = {"title": {"text": "min:s" if timed else unit}, "fixedrange": True, "zeroline": False, "automargin": True}
    if not timed:
        return axis
    low, high = float(min(values)), float(max(values))
    step = next((step for step in TIME_STEPS_S if (high - low) / step < MOST_TICKS), TIME_STEPS_S[-1])
    ticks = np.arange(np.floor(low / step) * step, high + step, step)
    words = [clock(tick, tenths=step < 1) for tick in ticks]
    return {**axis, "autorange": "reversed", "tickvals": ticks.tolist(), "ticktext": words}
