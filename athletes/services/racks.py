from django.db import transaction

from athletes.models import Movement, Rack


@transaction.atomic
def rack_remove(*, rack: Rack) -> list[str]:
    """Remove loads that the gym no longer owns; the names of the movements that went by them, now in steps again."""
    movements = list(Movement.objects.filter(rack=rack).values_list("name", flat=True))
    rack.delete()
    return movements
