from dataclasses import dataclass

from athletes.capacity.loading import bar_loads
from athletes.formatting import number
from athletes.models import Movement, Rack

TIMES = "\u00a0×\u00a0"  # a plate and its pairs stay on one line


@dataclass(frozen=True)
class RackLine:
    """Loads of one kind, what is owned of them in words, and the movements that go by them."""

    rack: Rack
    says: list[str]
    movements: list[Movement]


def rack_lines() -> list[RackLine]:
    """All loads that the gym owns, by name; two queries."""
    racks = Rack.objects.prefetch_related("movements")
    return [RackLine(rack, rack_words(rack), list(rack.movements.all())) for rack in racks]


def rack_words(rack: Rack) -> list[str]:
    """“8, 12, 16 kg”, and of a bar what it weighs, its plates in pairs, and what they make."""
    says = [f"{', '.join(_kg(load) for load in rack.loads)} kg"] if rack.loads else []
    if rack.bar_kg:
        plates = ", ".join(f"{_kg(plate)}{TIMES}{count}" for plate, count in rack.pairs)
        made = bar_loads(rack.bar_kg, dict(rack.pairs))
        says.append(f"Bar {_kg(rack.bar_kg)} kg" + (f" with pairs of plates {plates}" if plates else ""))
        if len(made) > 1:
            says.append(f"{_kg(made[0])} to {_kg(made[-1])} kg in {len(made)} loads")
    return says


def _kg(load: float) -> str:
    return number(load, 2)
