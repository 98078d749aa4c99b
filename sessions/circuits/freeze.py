"""From rows, or a checked document, to the definition that is frozen."""

from dataclasses import replace
from typing import Any

from athletes import models
from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H
from athletes.capacity.movements import minute_rate
from athletes.estimates.library import involvement_of
from sessions.circuits.definition import Definition, Machine, Movement, Option, Station
from sessions.models import Circuit, PlannedSession
from sessions.scaling.circuit import equal_dose

# However many more of an easier form people can do, nobody is asked for more than twice what is written (ours).
MOST_TIMES = 2.0
MOST_RUNGS = 8  # of a station, with the library's own


Library = dict[int, models.Movement]


def library() -> Library:
    """All movements that may stand below a coach's last rung, by id. One query."""
    return models.Movement.objects.filter(archived=False).select_related("machine_type", "rack").in_bulk()


def definition_of(circuit: Circuit, easier: Library | None = None) -> Definition:
    """The definition of a saved circuit (prefetched, see `circuits.read.with_stations`).

    `easier` is the `library`, for who freezes several.
    """
    easier = library() if easier is None else easier
    return Definition(
        name=circuit.name,
        interval_s=circuit.interval_s,
        rotations=circuit.rotations,
        headroom=circuit.headroom,
        stations=tuple(
            _station(
                station.position,
                {"work_window_s": station.work_window_s, "note": station.note, "closed": station.closed},
                [
                    {"movement": option.movement, **{name: getattr(option, name) for name in WRITTEN}}
                    for option in station.options.all()
                ],
                easier,
            )
            for station in circuit.stations.all()
        ),
        partners=circuit.partners,
        notes=circuit.notes,
        scaling=circuit.scaling,
        open_last=circuit.open_last,
        format=circuit.format,
        limit_s=circuit.limit_s,
    )


def definition_on_day(circuit: Circuit, planned: PlannedSession, easier: Library | None = None) -> Definition:
    """The definition of a planned session's circuit with the rounds, the dose and the interval of that day."""
    return varied(definition_of(circuit, easier), planned.rotations, planned.dose_percent, planned.interval_s)


def varied(
    definition: Definition, rotations: int | None = None, dose_percent: int | None = None, interval_s: int | None = None
) -> Definition:
    """A circuit with other rounds, another share of its doses or another interval [s]; None leaves it as written."""
    found = replace(
        definition,
        rotations=rotations or definition.rotations,
        interval_s=interval_s or definition.interval_s,
    )
    if not dose_percent:
        return found
    stations = tuple(
        replace(station, options=tuple(_at_dose(option, dose_percent / 100) for option in station.options))
        for station in definition.stations
    )
    return replace(found, stations=stations)


def _at_dose(option: Option, share: float) -> Option:
    least = option.least_dose and equal_dose(option.least_dose, share, option.dose_kind)
    return replace(option, dose=equal_dose(option.dose, share, option.dose_kind), least_dose=least)


WRITTEN = ("dose_kind", "dose", "least_dose", "load_kg", "percent", "reserve")


def definition_of_document(document: dict) -> Definition:
    """The definition of a checked circuit document, saved or not (movements are rows). One query."""
    easier = library()
    return Definition(
        name=document["name"],
        interval_s=document["interval_s"],
        rotations=document["rotations"],
        headroom=document.get("headroom"),
        stations=tuple(
            _station(position, station, station["options"], easier)
            for position, station in enumerate(document["stations"], start=1)
        ),
        partners=document.get("partners", 1),
        notes=document.get("notes", ""),
        scaling=document.get("scaling", "dose"),
        open_last=document.get("open_last", False),
        format=document.get("format", "every"),
        limit_s=document.get("limit_s"),
    )


def _station(position: int, station: dict, options: list[dict], easier: Library) -> Station:
    written = tuple(_option(option) for option in options)
    closed = station.get("closed", False)
    work_s = station["work_window_s"]
    below = () if closed else _easier_forms(options[-1]["movement"].easier_form_id, written, work_s, easier)
    return Station(position, work_s, written + below, station.get("note", ""), closed)


def _option(option: dict) -> Option:
    numbers: dict[str, Any] = {name: option.get(name) for name in WRITTEN}
    return Option(movement_of(option["movement"]), **numbers)


def _easier_forms(
    form_id: int | None, written: tuple[Option, ...], work_s: float, easier: Library
) -> tuple[Option, ...]:
    """The library's own easier forms below the coach's last rung, at the dose that asks as much as the prescription.

    Passed over where not even one repetition fits into the work time.
    """
    first, kind = written[0], written[-1].dose_kind
    rungs: list[Option] = []
    seen = {option.movement.id for option in written}
    while (form := easier.get(form_id or 0)) and len(written) + len(rungs) < MOST_RUNGS and kind == first.dose_kind:
        fits = form.setup_s + form.seconds_per_repetition <= work_s
        if form.pk not in seen and kind in form.dose_kinds and fits:
            rungs.append(_easier_form(first, form))
        seen.add(form.pk)
        form_id = form.easier_form_id
    return tuple(rungs)


def _easier_form(first: Option, form: models.Movement) -> Option:
    """Of a loaded form more kilograms, of a paced one as much of what people do in a minute, else more repetitions."""
    found = replace(first, movement=movement_of(form), least_dose=None, from_library=True)
    if form.paced:
        times = _a_minute(form) / _a_minute(first.movement)
    else:
        times = max(form.typical_best / first.movement.typical_best, 1.0)
    times = min(times, MOST_TIMES)
    if first.loaded:
        return replace(found, load_kg=first.load_kg and first.load_kg * times)
    return replace(found, dose=equal_dose(first.dose, times, first.dose_kind))


def _a_minute(movement: Movement | models.Movement) -> float:
    return minute_rate(movement.typical_best, movement.seconds_per_repetition)


def movement_of(movement: models.Movement) -> Movement:
    """A movement as it is frozen."""
    machine, rack = movement.machine_type, movement.rack
    return Movement(
        id=movement.pk,
        name=movement.name,
        slug=movement.slug,
        kind=movement.kind,
        engine=movement.engine,
        setup_s=movement.setup_s,
        seconds_per_repetition=movement.seconds_per_repetition,
        involvement=involvement_of(movement),
        typical_best=movement.typical_best,
        typical_spread=movement.typical_spread,
        paced=movement.paced,
        needs_skill=movement.needs_skill,
        high_eccentric=movement.high_eccentric,
        introductory=movement.introductory,
        rack=tuple(rack.owned()) if rack else None,
        cues=movement.cues,
        caution=movement.caution,
        machine=Machine(machine.pk, machine.name, machine.setting_advice, machine.lever_most) if machine else None,
        kcal_base=machine.kcal_base if machine else KCAL_BASE_PER_H,
        kcal_slope=machine.kcal_slope if machine else KCAL_SLOPE_PER_W_H,
    )
