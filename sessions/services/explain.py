"""The arithmetic behind one target, for the coach."""

from dataclasses import dataclass

from athletes.formatting import load_text, number, percent
from sessions.models import Target

SHADES = 5  # of the heat table, from hardly to fully


@dataclass(frozen=True)
class Cell:
    """One entry of the demand matrix: its value, and how strongly it is shaded, from 0 to `SHADES`."""

    value: str
    shade: int


@dataclass(frozen=True)
class DemandRow:
    """What tires one station in the last round: an entry for each station of the circuit."""

    station: int
    name: str
    cells: list[Cell]
    here: bool


def arithmetic(target: Target) -> dict:
    """What a coach may want to check: the steps from prescription to dose, and the demand of all on all. One query."""
    detail, stations = target.detail, target.session.circuit["stations"]
    steps = [
        ("wanted on the day", number(detail["wanted"], 1)),
        ("what this station alone allows", number(detail["own_cap"], 1)),
        ("share left after the other stations", number(detail["share"], 2)),
        ("dose, in whole steps", number(target.dose, 1)),
        ("used in the last round, of the capacity", percent(None if target.headroom is None else 1 - target.headroom)),
    ]
    if target.load_kg is not None:
        written = stations[target.station - 1]["options"][max(target.rung, 0)]["load_kg"]
        steps.append(("load, of what is written", f"{load_text(target.load_kg)} of {load_text(written)}"))
    return {"steps": steps, "demand": demand_table(target), "stations": [s["position"] for s in stations]}


def demand_table(target: Target) -> list[DemandRow]:
    """The demand matrix as it was frozen: row by row what tires each station; one query."""
    stations = target.session.circuit["stations"]
    siblings = Target.objects.filter(session=target.session_id, athlete=target.athlete_id).order_by("station")
    rows = [(sibling.station, sibling.detail["demand"]) for sibling in siblings]
    most = max((value for _, row in rows for value in row), default=0.0) or 1.0
    return [
        DemandRow(
            station=station,
            name=stations[station - 1]["options"][0]["movement"]["name"],
            cells=[Cell(number(value, 2), round(SHADES * value / most)) for value in row],
            here=station == target.station,
        )
        for station, row in rows
    ]
