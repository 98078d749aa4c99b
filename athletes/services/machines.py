from django.db import transaction
from django.db.models import Max

from athletes.models import Machine, MachineType


@transaction.atomic
def machine_add(*, type: MachineType) -> Machine:
    """The next machine of a type: numbers are painted on machines, so none is ever given twice."""
    MachineType.objects.select_for_update().get(pk=type.pk)
    last = type.machines.aggregate(last=Max("number"))["last"] or 0
    return Machine.objects.create(type=type, number=last + 1)


def machine_move(*, machine: Machine, active: bool) -> Machine:
    """Put a machine on the floor or take it off, for instance to be mended."""
    machine.active = active
    machine.save(update_fields=["active"])
    return machine
