"""Ten circuits to begin with, and how each fits what stands in this gym: `starter.toml`."""

import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

from django.utils.text import slugify

from athletes.models import Account, Machine, Movement
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.read import with_stations
from sessions.circuits.text.reading import read
from sessions.circuits.text.saying import clock_words
from sessions.circuits.whiteboard import known_names
from sessions.circuits.write import circuit_archive, circuit_create
from sessions.models import Circuit

WRITTEN = Path(__file__).with_name("starter.toml")
KEYS = UUID("b0c6f3a2-6d0e-5b6e-8f55-0f2f7c1a9d33")  # of the circuits made here: any constant one


@dataclass(frozen=True)
class StarterCircuit:
    """A circuit as it stands on the whiteboard, the intent of its day, and in a sentence what it is for."""

    text: str
    intent: str
    says: str
    first: bool = False

    @property
    def name(self) -> str:
        return self.text.split("\n", 1)[0].removeprefix("name: ")

    @property
    def lines(self) -> list[str]:
        """Its stations as they are written."""
        return self.text.splitlines()[2:]

    @property
    def slug(self) -> str:
        return slugify(self.name)

    @property
    def key(self) -> UUID:
        """The same in every gym, so that it is made once."""
        return uuid5(KEYS, self.name)


@dataclass(frozen=True)
class Offer:
    """A circuit for this gym: its `checked` document without what does not stand here, None where a station would be
    empty; `lacks` names what is missing for it, `without` in whose place a swap is written. `stations` are its lines in
    words; `most` people can be in one class before a machine runs short, None where none is used."""

    circuit: StarterCircuit
    checked: dict[str, Any] | None
    stations: list[str]
    clock: str
    lacks: list[str]
    without: list[str]
    most: int | None = None

    @property
    def fits(self) -> bool:
        return self.checked is not None


@cache
def starter_circuits() -> tuple[StarterCircuit, ...]:
    """All of them, in the order in which they are offered."""
    entries = tomllib.loads(WRITTEN.read_text(encoding="utf-8"))["circuit"]
    return tuple(StarterCircuit(**{**entry, "text": entry["text"].strip()}) for entry in entries)


def offers() -> list[Offer]:
    """Each of them as this gym could do it today. Three queries."""
    floor = Counter(Machine.objects.filter(active=True).values_list("type_id", flat=True))
    context: dict[str, Any] = {}
    return [_offer(entry, floor, context) for entry in starter_circuits()]


def starter_circuit_add(*, offer: Offer, by: Account | None) -> Circuit:
    """The circuit of an offer that fits; the one that is there already, as the gym has it now, out of the archive."""
    kept = with_stations(Circuit.objects.filter(key=offer.circuit.key)).first()
    if kept:
        return circuit_archive(circuit=kept, archived=False) if kept.archived else kept
    assert offer.checked is not None, "only what fits is taken"
    return circuit_create(document=offer.checked, by=by, key=offer.circuit.key)


def _offer(entry: StarterCircuit, floor: Counter[int], context: dict[str, Any]) -> Offer:
    names = known_names_of(context)
    reading = read(entry.text, names)
    document = reading.document
    clock = clock_words(document)
    unknown = [word for station in document["stations"] for word in _unknown(station)]
    serializer = CircuitSerializer(data=document, context=context)
    if unknown or not serializer.is_valid():
        return Offer(entry, None, [], clock, ["the starter library"], [])
    checked = dict(serializer.validated_data)
    stations, lacks, without = [], [], []
    for station in checked["stations"]:
        here = _one_machine([option for option in station["options"] if _stands_here(option["movement"], floor)])
        if not here:
            lacks.append(_machine(station["options"][0]["movement"]))
        elif here[0] is not station["options"][0]:
            without.append(_machine(station["options"][0]["movement"]))
        stations.append({**station, "options": here})
    fitting = None if lacks else {**checked, "stations": stations}
    most = None if lacks else _most(stations, floor, checked["partners"])
    return Offer(entry, fitting, entry.lines, clock, _once(lacks), _once(without), most)


def _most(stations: list[dict[str, Any]], floor: Counter[int], partners: int) -> int | None:
    """How many people the machines let into one class, as `weeks.machines` counts it."""
    first = [station["options"][0]["movement"].machine_type_id for station in stations]
    used = Counter(machine for machine in first if machine)
    return min((floor[m] * partners * len(stations) // places for m, places in used.items()), default=None)


def known_names_of(context: dict[str, Any]) -> Any:
    """The gym's names, read once for all offers."""
    if "names" not in context:
        context["names"] = known_names()
    return context["names"]


def _unknown(station: dict[str, Any]) -> list[str]:
    return [str(option["movement"]) for option in station["options"] if not option["movement"]]


def _stands_here(movement: Movement, floor: Counter[int]) -> bool:
    return movement.machine_type_id is None or floor[movement.machine_type_id] > 0


def _one_machine(options: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Without the machines behind the first: written in its place where it is not here, they are no easier form."""
    first = next((option for option in options if option["movement"].engine), None)
    return [option for option in options if option is first or not option["movement"].engine]


def _machine(movement: Movement) -> str:
    return str(movement.machine_type).lower()


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))
