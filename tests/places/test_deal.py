"""Places in a class: in no minute are more machines asked for than there are, pairs share, and who stands stays."""

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from sessions.places.deal import Floor, Person, Place, Room, deal, seat

ROW, SKI, BIKE = 1, 2, 3


@st.composite
def classes(draw):
    """A room and people, most of whom need what is written at a station, and some what a swap needs."""
    stations = draw(st.integers(1, 8))
    written = draw(st.lists(st.sampled_from([ROW, SKI, BIKE, None]), min_size=stations, max_size=stations))
    machines = {kind: draw(st.integers(0, 5)) for kind in (ROW, SKI, BIKE)}
    partners = draw(st.integers(1, 2))
    swaps = st.sampled_from([ROW, SKI, BIKE, None, "written", "written", "written"])
    people = []
    for number in range(draw(st.integers(0, 40))):
        own = [draw(swaps) for _ in range(stations)]
        people.append(Person(number, tuple(w if o == "written" else o for w, o in zip(written, own, strict=True))))
    return Room(stations, partners, machines), people


def used(room: Room, people: dict[int, Person], places: dict[int, Place]) -> Counter:
    """Machines in use by interval of a round, turn and type, counted minute by minute as people walk round."""
    found = Counter()
    for interval in range(room.stations):
        for number, place in places.items():
            machine = people[number].needs[(place.group + interval) % room.stations]
            if machine is not None:
                found[interval, place.turn, machine] += 1
    return found


def never_too_many(room: Room, people: dict[int, Person], places: dict[int, Place]) -> bool:
    return all(count <= room.machines[machine] for (_, _, machine), count in used(room, people, places).items())


@given(classes())
def test_in_no_minute_is_a_machine_asked_for_twice(drawn):
    room, people = drawn
    known = {person.id: person for person in people}
    places, left = deal(room, people)
    assert set(places) | set(left) == set(known)
    assert not set(places) & set(left)
    assert never_too_many(room, known, places)
    assert len(set(places.values())) == len(places)  # nobody stands where another does
    assert all(0 <= place.group < room.stations and place.turn < room.partners for place in places.values())


@given(classes(), st.randoms(use_true_random=False))
def test_late_comers_move_nobody_and_overfill_nothing(drawn, chance):
    room, people = drawn
    known = {person.id: person for person in people}
    chance.shuffle(people)
    early, late = people[: len(people) // 2], people[len(people) // 2 :]
    places, _ = deal(room, early)
    floor = Floor(room, [(known[number], place) for number, place in places.items()])
    for person in late:
        place = seat(floor, person, places.get(person.id))
        if place is not None:
            floor.put(person, place)
    assert {number: floor.places[number] for number in places} == places
    assert never_too_many(room, known, floor.places)
    assert not floor.crowded()


@given(classes())
def test_who_is_left_out_could_really_begin_nowhere(drawn):
    room, people = drawn
    known = {person.id: person for person in people}
    places, left = deal(room, people)
    floor = Floor(room, [(known[number], place) for number, place in places.items()])
    for number in left:
        assert all(floor.short(known[number], place) for place in floor.free())


@given(st.integers(1, 8), st.integers(0, 50), st.integers(1, 2))
def test_where_nothing_is_short_groups_differ_by_one_pair_at_most(stations, count, partners):
    people = [Person(number, (None,) * stations) for number in range(count)]
    places, left = deal(Room(stations, partners), people)
    assert not left
    pairs = Counter(group for group, _ in {(place.group, place.pair) for place in places.values()})
    assert max(pairs.values(), default=0) - min((pairs[g] for g in range(stations)), default=0) <= 1
    lonely = Counter((place.group, place.pair) for place in places.values())
    assert sum(n < partners for n in lonely.values()) <= 1  # partners come together before a new pair begins


def test_four_ski_ergometers_take_four_of_a_group_and_a_swap_takes_one_more():
    """Three ski ergometers: the fourth of a group finds none; on a bike there, they fit."""
    room = Room(2, 1, {SKI: 3, BIKE: 1})
    skiers = [Person(number, (SKI, None)) for number in range(6)]
    places, left = deal(room, skiers)
    assert not left
    seventh = Person(7, (SKI, None))
    floor = Floor(room, [(person, places[person.id]) for person in skiers])
    assert seat(floor, seventh) is None
    assert floor.short(seventh, floor.free()[0]) == [0]
    assert seat(floor, Person(7, (BIKE, None))) is not None


def test_one_may_move_so_that_another_finds_a_place():
    """Only one bike: whoever may begin anywhere gives way to the one for whom the bike is free in one minute alone."""
    room = Room(2, 1, {BIKE: 1})
    first, second = Person(1, (BIKE, None)), Person(2, (BIKE, None))
    third = Person(3, (None, None))
    places, left = deal(room, [first, third, second])
    assert not left
    assert places[1].group != places[2].group
