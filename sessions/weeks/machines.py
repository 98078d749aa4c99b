"""Machines against people: where a class would stand and wait."""

from collections import Counter

from athletes.models import Machine
from sessions.circuits.definition import Definition


def shortages(definition: Definition, class_size: int) -> list[str]:
    """Where machines run short: the most people that each kind of machine lets into one class, if that is too few."""
    stations, partners = definition.stations, definition.partners
    machines = [station.prescribed.movement.machine for station in stations]
    used = Counter((machine.id, machine.name) for machine in machines if machine)
    on_the_floor = Counter(Machine.objects.filter(active=True).values_list("type_id", flat=True))
    sentences = []
    for (machine_id, name), places in used.items():
        most = on_the_floor[machine_id] * partners * len(stations) // places
        if most < class_size:
            sentences.append(
                f"{name}: {on_the_floor[machine_id]} on the floor, so {most} athletes at a time; about {class_size} "
                "come to a class. Add a class time, or let a swap take some."
            )
    return sentences
