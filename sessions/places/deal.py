"""Who begins where in a class, so that no machine is ever asked for twice in a minute. Knows neither Django nor models.

Everyone goes the same way round, so a place to begin at says where somebody is in every interval. Of two partners one
works while the other rests: they share a machine.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Room:
    """Stations of a circuit, how many share one, and how many machines there are of each type.

    What needs no machine has room for everyone.
    """

    stations: int
    partners: int = 1
    machines: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Person:
    """Somebody by their id, with the machine type that they need at each station in order, None where none."""

    id: int
    needs: tuple[int | None, ...]


@dataclass(frozen=True)
class Place:
    """Where somebody begins: the group of a station, the pair in it and the turn of two partners, all from 0."""

    group: int
    pair: int = 0
    turn: int = 0


class Floor:
    """Who stands where so far, and what they need in each interval of a round."""

    def __init__(self, room: Room, taken: Iterable[tuple[Person, Place]] = ()):
        self.room = room
        self.places: dict[int, Place] = {}
        self.people: dict[int, Person] = {}
        self._used: Counter[tuple[int, int, int]] = Counter()  # by interval, turn and machine type
        self._turns: list[dict[int, set[int]]] = [{} for _ in range(room.stations)]  # taken, by pair, of each group
        for person, place in taken:
            self.put(person, place)

    def put(self, person: Person, place: Place) -> None:
        self.places[person.id], self.people[person.id] = place, person
        self._used.update(self._asked(person, place))
        self._turns[place.group].setdefault(place.pair, set()).add(place.turn)

    def take(self, person: Person) -> Place:
        place = self.places.pop(person.id)
        del self.people[person.id]
        self._used.subtract(self._asked(person, place))
        pairs = self._turns[place.group]
        pairs[place.pair].discard(place.turn)
        if not pairs[place.pair]:
            del pairs[place.pair]
        return place

    def taken(self, place: Place) -> bool:
        return place.turn in self._turns[place.group].get(place.pair, ())

    def short(self, person: Person, place: Place) -> list[int]:
        """The stations, from 0, at which somebody who begins at `place` would find no machine free."""
        return sorted({s for s, key in self._at(person, place) if self._used[key] >= self.room.machines.get(key[2], 0)})

    def fits(self, person: Person, place: Place) -> bool:
        return not self.short(person, place)

    def crowded(self) -> list[tuple[int, int, int]]:
        """(interval, turn, machine type) where more is asked for than there is; never, of who was dealt a place."""
        return sorted(key for key, used in self._used.items() if used > self.room.machines.get(key[2], 0))

    def free(self) -> list[Place]:
        """Places to begin at in each group, a partner's before a new pair's, in smaller groups first."""
        places = [place for group in range(self.room.stations) for place in self._free_in(group)]
        return sorted(
            places, key=lambda place: (not self.joins(place), self.pairs(place.group), place.group, place.turn)
        )

    def joins(self, place: Place) -> bool:
        """Whether somebody stands there alone of a pair."""
        return place.pair in self._turns[place.group]

    def pairs(self, group: int) -> int:
        """How many pairs a group has; of those who work alone, how many people."""
        return len(self._turns[group])

    def _free_in(self, group: int) -> list[Place]:
        """The free turns of its pairs, and those of a new one."""
        turns, both = self._turns[group], set(range(self.room.partners))
        begun = [Place(group, pair, turn) for pair, taken in sorted(turns.items()) for turn in sorted(both - taken)]
        new = next(n for n in range(len(turns) + 1) if n not in turns)
        return [*begun, *(Place(group, new, turn) for turn in sorted(both))]

    def _at(self, person: Person, place: Place) -> list[tuple[int, tuple[int, int, int]]]:
        """(station, (interval, turn, machine type)) of everything that somebody who begins at `place` needs."""
        stations = self.room.stations
        return [
            (station, ((station - place.group) % stations, place.turn, machine))
            for station, machine in enumerate(person.needs)
            if machine is not None
        ]

    def _asked(self, person: Person, place: Place) -> list[tuple[int, int, int]]:
        return [key for _, key in self._at(person, place)]


def seat(floor: Floor, person: Person, wish: Place | None = None) -> Place | None:
    """A place for one more, while everyone else stays where they are; None where the machines do not allow any.

    The one they `wish` for, where it is free and no other group is smaller; else one in the smallest group.
    """
    free = floor.free()
    smallest = min(floor.pairs(place.group) for place in free)
    if wish is not None and wish.group < floor.room.stations and not floor.taken(wish):
        joins = floor.joins(wish) or floor.pairs(wish.group) == smallest
        if joins and floor.fits(person, wish):
            return wish
    return next((place for place in free if floor.fits(person, place)), None)


def deal(
    room: Room, people: Sequence[Person], fixed: Sequence[tuple[Person, Place]] = ()
) -> tuple[dict[int, Place], list[int]]:
    """Places by id for everyone in order, and the ids of those for whom the machines do not suffice.

    Who is `fixed` stays where they are. One of the others may move, so that one more finds a place.
    """
    floor = Floor(room, fixed)
    movable: list[Person] = []
    left: list[int] = []
    hopeless: set[tuple[int | None, ...]] = set()  # needs for which there is no room as everyone stands now
    for person in people:
        place = None
        if person.needs not in hopeless:
            place = seat(floor, person) or _make_room(floor, person, movable)
        if place is None:
            left.append(person.id)
            hopeless.add(person.needs)
            continue
        floor.put(person, place)
        movable.append(person)
        hopeless.clear()
    return floor.places, left


def _make_room(floor: Floor, person: Person, movable: Sequence[Person]) -> Place | None:
    """A place that becomes free when one person of those who may move goes elsewhere."""
    for other in movable:
        before = floor.take(other)
        if floor.fits(person, before):
            floor.put(person, before)
            elsewhere = seat(floor, other)
            floor.take(person)
            if elsewhere is not None:
                floor.put(other, elsewhere)
                return before
        floor.put(other, before)
    return None
