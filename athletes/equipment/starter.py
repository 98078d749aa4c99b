"""What usually stands in a gym: kinds of machines and places to count, and usual sets of loads. Common practice."""

from dataclasses import dataclass

from django.db import transaction

from athletes.models import Machine, MachineType, Rack
from athletes.signals import room_changed


@dataclass(frozen=True)
class StarterMachine:
    """A kind of machine or place; `scale` is how its monitor counts calories: base [kcal/h], slope [kcal/h per W]."""

    slug: str
    name: str
    many: str
    engine: str = ""
    advice: str = ""
    scale: tuple[float, float] | None = None
    lever_most: float | None = None


LEVER = "Lever 4 to 8 serves most, 6 to 6.5 is the middle. Advice, not a rule."
MACHINES = (
    StarterMachine("row", "Rowing ergometer", "rowing ergometers", "row", LEVER, lever_most=10),
    StarterMachine("ski", "Ski ergometer", "ski ergometers", "ski", LEVER, lever_most=10),
    # Its monitor has a formula of its own: no base, and more calories for a watt.
    StarterMachine(
        "bike",
        "Fan bike",
        "fan bikes",
        "bike",
        "No lever: the fan answers to effort alone. Saddle at hip height.",
        scale=(0.0, 3.6),
    ),
    StarterMachine("rig", "Rig place", "places on the rig (bars, rings)"),
    StarterMachine("box", "Box", "boxes", advice="Take the lowest that is still work."),
    StarterMachine(
        "bench",
        "Hip-extension bench",
        "hip-extension benches",
        advice="Pad set so that the hips hang free. Set it before the clock starts.",
    ),
    StarterMachine("lane", "Sled lane", "lanes of 10 m (sled, carries)"),
)
# Fixed loads [kg], the empty bar [kg], and plates [kg] with their pairs.
RACKS: dict[str, tuple[list[float], float | None, list[list[float]]]] = {
    "Kettlebells": ([8, 12, 16, 20, 24, 28, 32], None, []),
    "Dumbbells": ([5, 7.5, 10, 12.5, 15, 17.5, 20, 22.5, 25, 30], None, []),
    "Sandbags": ([20, 30, 40, 50, 60], None, []),
    "Bar": ([], 20, [[20, 4], [15, 2], [10, 2], [5, 2], [2.5, 2], [1.25, 1]]),
    "Light bar": ([], 15, [[10, 3], [5, 2], [2.5, 2], [1.25, 1]]),
}
MOST = 60  # of one kind


def starter_machines(*, keep: bool = True) -> dict[str, MachineType]:
    """The kinds of machines by the library's names: those that the gym has, by name or by engine, and new ones.

    The new ones are kept only where they are to be: to look at the library writes nothing.
    """
    there = list(MachineType.objects.order_by("pk"))
    found = {}
    for kind in MACHINES:
        same = [row for row in there if row.name.casefold() == kind.name.casefold()]
        same += [row for row in there if kind.engine and row.engine == kind.engine]
        found[kind.name] = same[0] if same else _made(kind) if keep else _new(kind)
    return found


def starter_racks() -> dict[str, Rack]:
    """The usual loads by the library's names: those that the gym has, and new ones with usual sets."""
    there = {row.name: row for row in Rack.objects.all()}
    for name, (loads, bar, pairs) in RACKS.items():
        if name not in there:
            there[name] = Rack.objects.create(name=name, loads=loads, bar_kg=bar, pairs=pairs)
    return there


def machine_counts() -> dict[str, int]:
    """How many of each kind stand on the floor, by the slugs above. Two queries."""
    active = list(Machine.objects.filter(active=True).select_related("type"))
    return {kind.slug: sum(_is(kind, machine.type) for machine in active) for kind in MACHINES}


@transaction.atomic
def machines_count(counts: dict[str, int]) -> None:
    """Let so many of each kind stand on the floor. What is too many goes off the floor, the last first; it is kept."""
    types = starter_machines()
    for kind in MACHINES:
        if kind.slug not in counts:
            continue
        rows = list(types[kind.name].machines.order_by("number"))
        off = [row for row in rows if not row.active]
        on = [row for row in rows if row.active]
        wanted = counts[kind.slug]
        for row in on[wanted:] + off[: max(0, wanted - len(on))]:
            row.active = not row.active
            row.save(update_fields=["active"])
        missing = wanted - max(len(on), min(wanted, len(rows)))
        last = max((row.number for row in rows), default=0)
        Machine.objects.bulk_create(Machine(type=types[kind.name], number=last + n) for n in range(1, missing + 1))
    room_changed.send(Machine)


def _is(kind: StarterMachine, type: MachineType) -> bool:
    return type.name.casefold() == kind.name.casefold() or bool(kind.engine and type.engine == kind.engine)


def _made(kind: StarterMachine) -> MachineType:
    machine = _new(kind)
    machine.save(force_insert=True)
    return machine


def _new(kind: StarterMachine) -> MachineType:
    scale = dict(zip(("kcal_base", "kcal_slope"), kind.scale or (), strict=False))
    return MachineType(
        name=kind.name, engine=kind.engine, setting_advice=kind.advice, lever_most=kind.lever_most, **scale
    )
