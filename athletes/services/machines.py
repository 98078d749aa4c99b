from django.db import transaction
from django.db.models import Max

from athletes.models import Machine, MachineType


@transaction.atomic
def machine_add(*, type: MachineType, number: int) -> Machine:
    """The next machine of a type, by the number that was offered: the same number again changes nothing.

    Numbers are painted on machines, so none is given twice and none is left out.
    """
    MachineType.objects.select_for_update().get(pk=type.pk)
    return type.machines.get_or_create(number=min(number, next_number(type)))[0]


def next_number(type: MachineType) -> int:
    return (type.machines.aggregate(last=Max("number"))["last"] or 0) + 1


def machine_move(*, machine: Machine, active: bool) -> Machine:
    """Put a machine on the floor or take it off, for instance to be mended."""
    machine.active = active
    machine.save(update_fields=["active"])
    return machine
