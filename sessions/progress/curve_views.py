import numpy as np
from django.http import HttpRequest, JsonResponse
from django.shortcuts import get_object_or_404

from athletes.capacity.constants import ENGINES
from athletes.gym.read import today
from athletes.models import Athlete
from athletes.people.curves import Curve, curve_of
from athletes.words import clock, day
from sessions.progress import charts

TABLE_S = (10, 30, 60, 120, 300, 600, 1200, 1800)


def curve(request: HttpRequest, pk: int, engine: str) -> JsonResponse:
    """The power–duration curve of an athlete on an engine: a figure, and the same values as rows of words."""
    athlete = get_object_or_404(Athlete, pk=pk)
    found = curve_of(athlete, engine, today()) if engine in ENGINES else None
    if found is None:
        message = f"{athlete} has no estimate here yet. It begins with the first effort."
        return JsonResponse({"message": message}, status=404)
    return JsonResponse({"figure": _figure(found), "values": _values(found), "efforts": _efforts(found)})


def _figure(curve: Curve) -> dict:
    lengths = [effort.duration_s for effort in curve.efforts]
    duration_s = charts.durations(lengths)
    best, low, high = curve.at(duration_s)
    return charts.power_duration(
        engine=curve.engine,
        duration_s=duration_s,
        best=best,
        low=low,
        high=high,
        effort_duration_s=lengths,
        effort_power=[effort.power for effort in curve.efforts],
        effort_fresh=[effort.fresh for effort in curve.efforts],
        effort_words=["<br>".join(row) for row in _efforts(curve)],
    )


def _values(curve: Curve) -> list[list[str]]:
    best, low, high = curve.at(np.array(TABLE_S, float))
    return [
        [clock(t, tenths=False), charts.power_words(curve.engine, p), charts.range_words(curve.engine, bottom, top)]
        for t, p, bottom, top in zip(TABLE_S, best, low, high, strict=True)
    ]


def _efforts(curve: Curve) -> list[list[str]]:
    return [
        [e.benchmark, day(e.performed_on), clock(e.duration_s), charts.power_words(curve.engine, e.power)]
        for e in curve.efforts
    ]
