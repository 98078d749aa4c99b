from itertools import pairwise
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F

from athletes.models import Account, Movement
from sessions.circuits.read import with_stations
from sessions.models import Circuit, Station, StationOption

FIELDS = (
    "name",
    "format",
    "limit_s",
    "interval_s",
    "rotations",
    "partners",
    "headroom",
    "scaling",
    "open_last",
    "notes",
)
OF_OPTION = ("dose_kind", "dose", "least_dose", "load_kg", "percent", "reserve")


def circuit_create(*, document: dict, by: Account | None, key: UUID | None = None, text: str = "") -> Circuit:
    """Write a checked circuit document as a new circuit.

    The same document with the same `key`, at once or later, gives the circuit that is there; another document with
    that key raises ValidationError and overwrites nothing.
    """
    if kept := _with_key(key):
        return _same(kept, document, text)
    try:
        with transaction.atomic():
            circuit = Circuit(created_by=by, **({"key": key} if key else {}))
            return _write(circuit, document, text)
    except IntegrityError:  # the same request in the same moment came first
        if kept := _with_key(key):
            return _same(kept, document, text)
        raise


class CircuitChanged(Exception):
    """Somebody saved the circuit since: `kept` is how it stands now. Nothing was written."""

    def __init__(self, kept: Circuit) -> None:
        super().__init__(f"{kept} was saved by somebody else since you opened it.")
        self.kept = kept


@transaction.atomic
def circuit_change(*, circuit: Circuit, document: dict, version: int | None = None, text: str = "") -> Circuit:
    """Write a checked document over a circuit; weeks that are published keep what they froze.

    `version` is the one that the writer began from, None for whoever writes over any: where another was saved since,
    and says something else, CircuitChanged is raised. `text` is what was typed, empty where fields were filled in.
    """
    began = circuit.version if version is None else version
    asked = Circuit.objects.filter(pk=circuit.pk)
    if not (asked if version is None else asked.filter(version=began)).update(version=F("version") + 1):
        kept = with_stations(asked).get()
        try:
            return _same(kept, document, text)
        except ValidationError:
            raise CircuitChanged(kept) from None
    circuit.refresh_from_db(fields=["version"])
    return _write(circuit, document, text)


def circuit_archive(*, circuit: Circuit, archived: bool) -> Circuit:
    """Take a circuit out of the lists, or back in; weeks that use it keep it."""
    circuit.archived = archived
    circuit.save(update_fields=["archived", "updated_at"])
    return circuit


def _write(circuit: Circuit, document: dict, text: str) -> Circuit:
    circuit.text = text
    for name in FIELDS:
        setattr(circuit, name, document.get(name, getattr(circuit, name)))
    circuit.save()
    circuit.stations.all().delete()
    stations = Station.objects.bulk_create(
        Station(
            circuit=circuit, position=position, **{name: station[name] for name in ("work_window_s", "note", "closed")}
        )
        for position, station in enumerate(document["stations"], start=1)
    )
    StationOption.objects.bulk_create(
        StationOption(station=row, rung=rung, **option)
        for row, station in zip(stations, document["stations"], strict=True)
        for rung, option in enumerate(station["options"])
    )
    for station in document["stations"]:
        _keep_ladder([option["movement"] for option in station["options"]])
    return circuit


def _keep_ladder(movements: list[Movement]) -> None:
    """What a swap ladder says of easier forms, kept where nothing is said yet and both are of one kind.

    Another machine is no easier form, and neither is what closes a circle.
    """
    for harder, easier in pairwise(movements):
        alike = (harder.kind, harder.paced) == (easier.kind, easier.paced) and not harder.engine
        if harder.easier_form_id or not alike:
            continue
        harder.easier_form = easier
        try:
            harder.clean()
        except ValidationError:
            harder.easier_form = None
        else:
            harder.save(update_fields=["easier_form"])


def _with_key(key: UUID | None) -> Circuit | None:
    return with_stations(Circuit.objects.filter(key=key)).first() if key else None


def _same(kept: Circuit, document: dict, text: str) -> Circuit:
    """The kept circuit, if it says what the document says; words of `text` that are in no document are kept as well."""
    stations = [
        (
            station.work_window_s,
            station.note,
            station.closed,
            [_option(vars(option)) for option in station.options.all()],
        )
        for station in kept.stations.all()
    ]
    sent = [
        (
            station["work_window_s"],
            station["note"],
            station["closed"],
            [_option({**option, "movement_id": option["movement"].pk}) for option in station["options"]],
        )
        for station in document["stations"]
    ]
    fields_agree = all(document.get(name, getattr(kept, name)) == getattr(kept, name) for name in FIELDS)
    if not (fields_agree and stations == sent):
        raise ValidationError(
            f"This page was already used for the circuit “{kept}”, which is saved. Reload it to write another one."
        )
    if text and text != kept.text:
        kept.text, kept.version = text, kept.version + 1
        kept.save(update_fields=["text", "version", "updated_at"])
    return kept


def _option(values: dict) -> tuple:
    return tuple(values.get(name) for name in ("movement_id", *OF_OPTION))
