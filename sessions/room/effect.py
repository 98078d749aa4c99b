"""What the gym's settings do to a circuit that the coaches know, for a strong, a middling and a weak athlete."""

from dataclasses import dataclass
from datetime import date

from athletes.estimates.people import load_people
from athletes.models import Athlete, Gym
from sessions.circuits.freeze import definition_of
from sessions.circuits.library import library, written_parts
from sessions.circuits.read import with_stations
from sessions.models import Circuit
from sessions.targets.compute import Computed, compute
from sessions.targets.history import load_history
from sessions.weeks.days import occasion_on
from sessions.words.cards import rung_mark

DAYS = ("hard", "steady", "easy")
PLACES = {"strong": 0.9, "middling": 0.5, "weak": 0.1}


@dataclass(frozen=True)
class Effect:
    """Doses of three athletes in the circuit that was used last, for the settings as they are typed."""

    circuit: Circuit
    stations: list[str]
    days: list[tuple[str, list[tuple[str, list[str]]]]]


def effect_of(gym: Gym, day: date) -> Effect | None:
    """None where there is no circuit or nobody yet. The number of queries does not grow with athletes."""
    known = library()
    ids = list(Athlete.objects.filter(active=True).values_list("pk", flat=True))
    if not known or not ids:
        return None
    usual = next((one for one in known if one.circuit.scaling == "dose"), known[0])
    circuit = with_stations(Circuit.objects.all()).get(pk=usual.circuit.pk)
    definition = definition_of(circuit)
    people = load_people(ids, definition.movements)
    history = load_history(people.athletes)
    hard = list(compute(definition, people, history, occasion_on(day, gym, definition, "hard")))
    chosen = _three(hard, {station.position: station.prescribed.dose for station in definition.stations})
    few = load_people(list(chosen.values()), definition.movements)
    own_history = load_history(few.athletes)
    days = []
    for intent in DAYS:
        found = list(compute(definition, few, own_history, occasion_on(day, gym, definition, intent)))
        days.append((intent, [(group, _doses(found, pk)) for group, pk in chosen.items()]))
    return Effect(circuit, [written_parts(station.prescribed)[1] for station in definition.stations], days)


def _three(found: list[Computed], written: dict[int, float]) -> dict[str, int]:
    """The athletes at three places of the room, by how much of what is written they are asked for."""
    share: dict[int, float] = {}
    for one in found:
        part = one.dose / written[one.station] if one.rung == 0 else 0.5 * (one.rung > 0)
        share[one.athlete] = share.get(one.athlete, 0.0) + part * one.rounds
    order = sorted(share, key=lambda pk: (share[pk], pk))
    return {group: order[round(at * (len(order) - 1))] for group, at in PLACES.items()}


def _doses(found: list[Computed], athlete: int) -> list[str]:
    own = sorted((one for one in found if one.athlete == athlete), key=lambda one: one.station)
    return [f"{one.dose:g}{rung_mark(one.rung)}" if one.rung >= 0 else "–" for one in own]
