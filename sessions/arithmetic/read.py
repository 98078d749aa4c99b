"""The arithmetic behind one target, for the coach."""

from dataclasses import dataclass

from athletes.words import number
from sessions.arithmetic.steps import day_sentence, dose_steps
from sessions.models import Target
from sessions.targets.detail import Detail, detail_of

SHADES = 5  # of the heat table, from hardly to fully


@dataclass(frozen=True)
class Cell:
    """One entry of the demand matrix: its value, and how strongly it is shaded, from 0 to `SHADES`."""

    value: str
    shade: int


@dataclass(frozen=True)
class DemandRow:
    """What tires one station in the last round: an entry for each station of the circuit, and their sum."""

    station: int
    name: str
    cells: list[Cell]
    total: str
    here: bool


def arithmetic(target: Target) -> dict:
    """What a coach may want to check: the steps from prescription to dose, and the demand of all on all. One query."""
    definition = target.session.definition
    siblings = list(Target.objects.filter(session=target.session_id, athlete=target.athlete_id).order_by("station"))
    details = {sibling.station: detail_of(sibling) for sibling in siblings}
    sets = {station: max(detail.cost - detail.free, 0.0) for station, detail in details.items()}
    return {
        "day": day_sentence(target),
        "detail": details.get(target.station, detail_of(target)),
        "steps": dose_steps(target),
        "demand": _demand_table(target, details, sets),
        "sets": [number(sets.get(station.position, 0.0), 2) for station in definition.stations],
        "stations": [station.position for station in definition.stations],
    }


def _demand_table(target: Target, details: dict[int, Detail], sets: dict[int, float]) -> list[DemandRow]:
    """The demand matrix as it was frozen: row by row what tires each station."""
    stations = target.session.definition.stations
    rows = [(station, detail.demand) for station, detail in details.items()]
    most = max((value for _, row in rows for value in row), default=0.0) or 1.0
    return [
        DemandRow(
            station=station,
            name=stations[station - 1].prescribed.movement.name,
            cells=[Cell(number(value, 2), round(SHADES * value / most)) for value in row],
            total=number(sum(value * sets.get(place, 0.0) for place, value in enumerate(row, start=1)), 2),
            here=station == target.station,
        )
        for station, row in rows
    ]
