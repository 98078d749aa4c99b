"""A circuit's definition as the scaling method reads it."""

from sessions.circuits.definition import Definition, Option
from sessions.scaling import circuit as method


def circuit_of(definition: Definition) -> method.Circuit:
    return method.Circuit(
        stations=tuple(
            method.Station(station.work_window_s, tuple(_option(option) for option in station.options))
            for station in definition.stations
        ),
        rotations=definition.rotations,
        interval_s=float(definition.interval_s),
        headroom=definition.headroom,
        partners=definition.partners,
    )


def _option(option: Option) -> method.Option:
    movement = option.movement
    return method.Option(
        engine=movement.engine or None,
        dose_kind=option.dose_kind,
        dose=option.dose,
        least_dose=option.least_dose,
        seconds_per_repetition=movement.seconds_per_repetition,
        setup_s=movement.setup_s,
        involvement=movement.involvement,
        kcal_base=movement.kcal_base,
        kcal_slope=movement.kcal_slope,
        load_kg=option.load_kg,
    )
