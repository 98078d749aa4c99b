"""The arithmetic behind one target, for the coach."""

from dataclasses import dataclass

from athletes.words import number, percent
from sessions.models import Target
from sessions.words.steps import day_sentence, dose_steps

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
    stations = target.session.definition.stations
    used = "" if target.rung < 0 or target.headroom is None else percent(1 - target.headroom)
    positions = [station.position for station in stations]
    return {
        "day": day_sentence(target),
        "steps": dose_steps(target),
        "used": used,
        "demand": demand_table(target),
        "stations": positions,
    }


def demand_table(target: Target) -> list[DemandRow]:
    """The demand matrix as it was frozen: row by row what tires each station; one query."""
    stations = target.session.definition.stations
    siblings = Target.objects.filter(session=target.session_id, athlete=target.athlete_id).order_by("station")
    rows = [(sibling.station, sibling.detail["demand"]) for sibling in siblings]
    most = max((value for _, row in rows for value in row), default=0.0) or 1.0
    return [
        DemandRow(
            station=station,
            name=stations[station - 1].options[0].movement.name,
            cells=[Cell(number(value, 2), round(SHADES * value / most)) for value in row],
            here=station == target.station,
        )
        for station, row in rows
    ]
