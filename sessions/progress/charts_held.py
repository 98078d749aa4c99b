"""The reliability diagram, from arrays, as in `charts`: no colours, `meta` says what a trace is."""

from collections.abc import Sequence
from typing import Any

from plotly import graph_objects as go

from sessions.progress.charts import LAYOUT
from sessions.progress.charts_progress import ABOVE

SMALLEST, LARGEST = 8.0, 22.0  # of a point [px]: by how many targets it stands for


def reliability(
    *, promised: Sequence[float], held: Sequence[float], counts: Sequence[int], words: Sequence[str]
) -> dict[str, Any]:
    """Shares held against chances promised, both in %, a point a band; on the line they agree."""
    most = max(counts)
    sizes = [SMALLEST + (LARGEST - SMALLEST) * (count / most) ** 0.5 for count in counts]
    even = go.Scatter(
        x=[0, 100], y=[0, 100], mode="lines", meta="level", name="held as often as promised", hoverinfo="skip"
    )
    points = go.Scatter(
        x=list(promised), y=list(held), mode="markers", meta="fresh", name="logged targets",
        marker={"size": sizes}, hoverinfo="text", text=list(words),
    )  # fmt: skip
    axis = {"range": [0, 104], "fixedrange": True, "zeroline": False, "ticksuffix": " %"}
    layout = {
        "xaxis": {**axis, "title": {"text": "promised"}},
        "yaxis": {**axis, "title": {"text": "held to the last round"}},
        **ABOVE,
    }
    figure: dict[str, Any] = go.Figure([even, points], {**LAYOUT, **layout}).to_plotly_json()
    return figure
