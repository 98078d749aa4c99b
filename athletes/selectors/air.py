"""The air in the room: how dense it is, and how hot for people."""

from datetime import date, datetime, time, timedelta

from athletes.capacity.air import density_isa, density_moist, pressure_isa
from athletes.models import AirReading, Gym
from athletes.selectors.gym import gym as this_gym

WITHIN = timedelta(days=7)  # weather changes more than that within a week, rooms less (ours)
WBGT_WITHIN = timedelta(hours=3)  # heat rises and falls within a morning (ours)
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


def latest_wbgt(now: datetime) -> AirReading | None:
    """The latest wet-bulb globe temperature, unless it is older than three hours; one query."""
    taken = {"taken_at__gte": now - WBGT_WITHIN, "taken_at__lte": now}
    return AirReading.objects.filter(wbgt_c__isnull=False, **taken).first()


def air_readings(gym: Gym, most: int = 20) -> list[AirReading]:
    """The latest readings, each with who took it and the `air_density` it says (None without a temperature)."""
    readings = list(AirReading.objects.select_related("entered_by")[:most])
    for reading in readings:
        known = reading.temperature_c is not None
        reading.air_density = density_of(reading, gym.altitude_m) if known else None
    return readings
