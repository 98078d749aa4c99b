"""From rows, or a checked document, to the definition that is frozen."""

from athletes import models
from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H, PATTERNS
from sessions.circuits.definition import Definition, Machine, Movement, Option, Station
from sessions.models import Circuit


def definition_of(circuit: Circuit, *, headroom: float) -> Definition:
    """The definition of a saved circuit (prefetched); `headroom` is the gym's, for circuits without their own."""
    return Definition(
        name=circuit.name,
        interval_s=circuit.interval_s,
        rotations=circuit.rotations,
        headroom=headroom if circuit.headroom is None else circuit.headroom,
        stations=tuple(
            Station(
                position=station.position,
                work_window_s=station.work_window_s,
                note=station.note,
                options=tuple(
                    Option(_movement(o.movement), o.dose_kind, o.dose, o.least_dose, o.load_kg)
                    for o in station.options.all()
                ),
            )
            for station in circuit.stations.all()
        ),
        partners=circuit.partners,
        notes=circuit.notes,
    )


def definition_of_document(document: dict, headroom: float) -> Definition:
    """The definition of a checked circuit document, saved or not (movements are rows)."""
    own = document.get("headroom")
    return Definition(
        name=document["name"],
        interval_s=document["interval_s"],
        rotations=document["rotations"],
        headroom=headroom if own is None else own,
        stations=tuple(
            Station(
                position=position,
                work_window_s=station["work_window_s"],
                note=station.get("note", ""),
                options=tuple(Option(**{**o, "movement": _movement(o["movement"])}) for o in station["options"]),
            )
            for position, station in enumerate(document["stations"], start=1)
        ),
        partners=document.get("partners", 1),
        notes=document.get("notes", ""),
    )


def _movement(movement: models.Movement) -> Movement:
    machine, rack = movement.machine_type, movement.rack
    return Movement(
        id=movement.pk,
        name=movement.name,
        slug=movement.slug,
        kind=movement.kind,
        engine=movement.engine,
        setup_s=movement.setup_s,
        seconds_per_repetition=movement.seconds_per_repetition,
        involvement=tuple(float(movement.involvement.get(pattern, 0.0)) for pattern in PATTERNS),
        typical_best=movement.typical_best,
        typical_spread=movement.typical_spread,
        high_eccentric=movement.high_eccentric,
        introductory=movement.introductory,
        rack=tuple(rack.owned()) if rack else None,
        cues=movement.cues,
        caution=movement.caution,
        machine=machine and Machine(machine.pk, machine.name, machine.setting_advice, machine.lever_most),
        kcal_base=machine.kcal_base if machine else KCAL_BASE_PER_H,
        kcal_slope=machine.kcal_slope if machine else KCAL_SLOPE_PER_W_H,
    )
