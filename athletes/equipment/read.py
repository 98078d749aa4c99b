"""The air in the room: how dense it is, and how hot for people."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from athletes.capacity.air import density_isa, density_moist, pressure_isa
from athletes.capacity.loading import bar_loads
from athletes.gym.read import gym as this_gym
from athletes.models import AirReading, Gym, Movement, Rack
from athletes.words import number

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


WITHIN = timedelta(days=7)  # weather changes more than that within a week, rooms less (ours)
USUAL_HUMIDITY = 0.5  # of a room; from 20 % to 80 % the density at 20 °C changes by half a percent


def density_for(day: date, gym: Gym | None = None) -> tuple[float, AirReading | None]:
    """Density of the air on a day [kg/m³], and the reading it follows from.

    The latest reading with a temperature, taken on that day or at most a week before it; else (and then None) the
    standard atmosphere at the gym's altitude. One query, and one for the gym where it is not given.
    """
    gym = gym or this_gym()
    latest = datetime.combine(day + timedelta(days=1), time(), gym.zone)
    earliest = datetime.combine(day - WITHIN, time(), gym.zone)
    readings = AirReading.objects.filter(temperature_c__isnull=False, taken_at__gte=earliest, taken_at__lt=latest)
    reading = readings.first()
    return (density_of(reading, gym.altitude_m), reading) if reading else (float(density_isa(gym.altitude_m)), None)


def density_of(reading: AirReading, altitude_m: float) -> float:
    """Density [kg/m³] that a reading with a temperature says; what was not measured is taken as usual here."""
    pressure = pressure_isa(altitude_m) if reading.pressure_hpa is None else 100.0 * reading.pressure_hpa
    humidity = USUAL_HUMIDITY if reading.humidity_percent is None else reading.humidity_percent / 100.0
    return float(density_moist(pressure, reading.temperature_c, humidity))


def air_readings(gym: Gym, most: int = 20) -> list[AirReading]:
    """The latest readings, each with who took it and the `air_density` it says (None without a temperature)."""
    readings = list(AirReading.objects.select_related("entered_by")[:most])
    for reading in readings:
        known = reading.temperature_c is not None
        reading.air_density = density_of(reading, gym.altitude_m) if known else None
    return readings
