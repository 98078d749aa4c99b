"""What the demo gym owns to lift, what its levers gave, and the air of one evening. All of it invented."""

from datetime import date, datetime, time, timedelta

from athletes.models import Account, AirReading, LeverReading, Machine, Rack
from coachhub.demo.gym import ZONE
from coachhub.demo.keys import demo_key

# Fixed loads [kg], the empty bar [kg], and plates [kg] with their pairs.
RACKS = {
    "Kettlebells": ([8, 12, 16, 20, 24, 28, 32], None, []),
    "Sandbags": ([20, 30, 40, 50, 60], None, []),
    "Dumbbells": ([5, 7.5, 10, 12.5, 15, 17.5, 20, 22.5, 25, 30], None, []),
    "Bar": ([], 20, [[20, 4], [15, 2], [10, 2], [5, 2], [2.5, 2], [1.25, 1]]),
    "Light bar": ([], 15, [[10, 3], [5, 2], [2.5, 2], [1.25, 1]]),
}

# Drag factors by lever, machine by machine; the second rower gathers dust, the last ski ergometer was never read.
DRAGS = {
    "Rowing ergometer": [
        {1: 84, 5: 119, 10: 186},
        {1: 77, 5: 108, 10: 168},
        {1: 86, 3: 102, 5: 122, 8: 160, 10: 191},
        {1: 83, 5: 118, 10: 183},
    ],
    "Ski ergometer": [{1: 61, 5: 87, 10: 139}, {1: 63, 4: 82, 7: 108, 10: 142}, {}],
}
READ_BEFORE_DAYS = 38
DENSITY_THEN = 1.121  # kg/m³ at 640 m in a cool room

AIR = {"temperature_c": 19.5, "humidity_percent": 62.0, "pressure_hpa": 941.0, "wbgt_c": 16.3}


def racks_create() -> dict[str, Rack]:
    """The loads by name, as rows."""
    rows = {}
    for name, (loads, bar, pairs) in RACKS.items():
        row = Rack(name=name, loads=loads, bar_kg=bar, pairs=pairs)
        row.full_clean()
        row.save()
        rows[name] = row
    return rows


def levers_create(by: Account, as_of: date) -> None:
    """What each machine's monitor showed on one day before the winter."""
    machines = Machine.objects.filter(type__name__in=DRAGS).select_related("type")
    LeverReading.objects.bulk_create(
        LeverReading(
            key=demo_key("lever", machine, lever),
            machine=machine,
            lever=lever,
            drag=drag,
            density=DENSITY_THEN,
            taken_on=as_of - timedelta(days=READ_BEFORE_DAYS),
            entered_by=by,
        )
        for machine in machines
        for lever, drag in DRAGS[machine.type.name][machine.number - 1].items()
    )


def air_create(by: Account, as_of: date) -> None:
    """The air of the evening before."""
    taken_at = datetime.combine(as_of - timedelta(days=1), time(18, 40), ZONE)
    AirReading.objects.create(key=demo_key("air", as_of), taken_at=taken_at, entered_by=by, **AIR)
