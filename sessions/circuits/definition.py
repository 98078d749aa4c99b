"""A circuit as it is frozen: plain values, complete, readable without any other table.

{"name", "interval_s", "rotations", "partners", "headroom", "notes", "stations": [
    {"position", "work_window_s", "note", "options": [
        {"dose_kind", "dose", "least_dose", "load_kg", "movement": {…}}, …]}, …]}

Definitions that were frozen long ago may lack what came later ("partners"; of a movement "rack" and "introductory").
"""

from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H, PATTERNS
from athletes.models import Movement
from sessions.models import Circuit


def definition_of(circuit: Circuit, *, headroom: float) -> dict:
    """The definition of a saved circuit (prefetched); `headroom` is the gym's, for circuits without their own."""
    stations = [
        {
            "work_window_s": station.work_window_s,
            "note": station.note,
            "options": [
                {
                    "movement": option.movement,
                    "dose_kind": option.dose_kind,
                    "dose": option.dose,
                    "least_dose": option.least_dose,
                    "load_kg": option.load_kg,
                }
                for option in station.options.all()
            ],
        }
        for station in circuit.stations.all()
    ]
    names = ("name", "interval_s", "rotations", "partners", "headroom", "notes")
    return definition_of_document({**{name: getattr(circuit, name) for name in names}, "stations": stations}, headroom)


def definition_of_document(document: dict, headroom: float) -> dict:
    """The definition of a checked circuit document, saved or not (movements are rows)."""
    own = document.get("headroom")
    return {
        "name": document["name"],
        "interval_s": document["interval_s"],
        "rotations": document["rotations"],
        "partners": document.get("partners", 1),
        "headroom": headroom if own is None else own,
        "notes": document.get("notes", ""),
        "stations": [
            {
                "position": position,
                "work_window_s": station["work_window_s"],
                "note": station.get("note", ""),
                "options": [{**option, "movement": _movement(option["movement"])} for option in station["options"]],
            }
            for position, station in enumerate(document["stations"], start=1)
        ],
    }


def duration_s(definition: dict) -> int:
    """Seconds that a circuit lasts, from its definition."""
    places = len(definition["stations"]) * definition.get("partners", 1)
    return places * definition["interval_s"] * definition["rotations"]


def _movement(movement: Movement) -> dict:
    machine = movement.machine_type
    return {
        "id": movement.pk,
        "name": movement.name,
        "slug": movement.slug,
        "kind": movement.kind,
        "engine": movement.engine,
        "setup_s": movement.setup_s,
        "seconds_per_repetition": movement.seconds_per_repetition,
        "involvement": [float(movement.involvement.get(pattern, 0.0)) for pattern in PATTERNS],
        "typical_best": movement.typical_best,
        "typical_spread": movement.typical_spread,
        "high_eccentric": movement.high_eccentric,
        "introductory": movement.introductory,
        "rack": movement.rack and movement.rack.owned(),
        "cues": movement.cues,
        "caution": movement.caution,
        "machine": machine
        and {
            "id": machine.pk,
            "name": machine.name,
            "setting_advice": machine.setting_advice,
            "lever_most": machine.lever_most,
        },
        "kcal_base": machine.kcal_base if machine else KCAL_BASE_PER_H,
        "kcal_slope": machine.kcal_slope if machine else KCAL_SLOPE_PER_W_H,
    }
