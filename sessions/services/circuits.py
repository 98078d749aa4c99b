from uuid import UUID

from django.db import transaction

from athletes.models import Account
from sessions.models import Circuit, Station, StationOption


@transaction.atomic
def circuit_save(*, document: dict, by: Account, circuit: Circuit | None = None, key: UUID | None = None) -> Circuit:
    """Write a checked circuit document: over `circuit`, or as the circuit with `key`, made once however often sent."""
    if circuit is None:
        circuit = Circuit.objects.filter(key=key).first() if key else None
        circuit = circuit or Circuit(created_by=by, **({"key": key} if key else {}))
    for name in ("name", "interval_s", "rotations", "headroom", "notes"):
        setattr(circuit, name, document.get(name, getattr(circuit, name)))
    circuit.save()
    circuit.stations.all().delete()
    stations = Station.objects.bulk_create(
        Station(circuit=circuit, position=position, work_window_s=station["work_window_s"], note=station["note"])
        for position, station in enumerate(document["stations"], start=1)
    )
    StationOption.objects.bulk_create(
        StationOption(station=row, rung=rung, **option)
        for row, station in zip(stations, document["stations"], strict=True)
        for rung, option in enumerate(station["options"])
    )
    return circuit


def circuit_archive(*, circuit: Circuit, archived: bool) -> Circuit:
    """Take a circuit out of the lists, or back in; weeks that use it keep it."""
    circuit.archived = archived
    circuit.save(update_fields=["archived", "updated_at"])
    return circuit
