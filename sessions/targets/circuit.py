"""A circuit's definition as the scaling method reads it."""

from sessions.scaling.circuit import Circuit, Option, Station


def circuit_of(definition: dict) -> Circuit:
    return Circuit(
        stations=tuple(
            Station(station["work_window_s"], tuple(_option(option) for option in station["options"]))
            for station in definition["stations"]
        ),
        rotations=definition["rotations"],
        interval_s=float(definition["interval_s"]),
        headroom=definition["headroom"],
        partners=definition.get("partners", 1),
    )


def _option(option: dict) -> Option:
    movement = option["movement"]
    return Option(
        engine=movement["engine"] or None,
        dose_kind=option["dose_kind"],
        dose=option["dose"],
        least_dose=option["least_dose"],
        seconds_per_repetition=movement["seconds_per_repetition"],
        setup_s=movement["setup_s"],
        involvement=tuple(movement["involvement"]),
        kcal_base=movement["kcal_base"],
        kcal_slope=movement["kcal_slope"],
        load_kg=option["load_kg"],
    )
