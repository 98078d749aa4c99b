"""The room preview: how a circuit scales over everyone, before anything is published."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date
from math import ceil
from uuid import UUID

from athletes.estimates.people import People, load_people
from athletes.gym.read import today
from athletes.models import Athlete, Gym, Machine
from athletes.words import name_order
from sessions.by_hand.read import standing_pins
from sessions.circuits.definition import Definition, Station
from sessions.models import Target
from sessions.targets.history import load_history
from sessions.targets.occasion import Occasion, pins_by_session
from sessions.targets.rows import TARGET_FIELDS, target_values
from sessions.targets.settings import load_settings
from sessions.words.cards import Card, card_of

WAYS = ("full", "scaled", "cautioned", "by_hand", "swapped", "resting")
CAUTIONS = ("return", "exposure", "safety")  # of `sessions.scaling.targets.Bound`; a limitation swaps, or is rest
PREVIEW_FIELDS = ["athlete_id", *TARGET_FIELDS[3:]]


@dataclass(frozen=True)
class Row:
    """One athlete of the room with a card per station."""

    athlete: Athlete
    cards: list[Card]
    targets: list[Target]
    untested: list[bool]

    @property
    def doses(self) -> list[float]:
        return [target.dose for target in self.targets]

    @property
    def never_tested(self) -> bool:
        return all(self.untested)

    @property
    def marks(self) -> str:
        """What the rows of the table can be picked by."""
        found = {
            "swapped": any(card.swap for card in self.cards),
            "rough": any(card.firmness == "rough" for card in self.cards),
            "by-hand": any(card.pinned for card in self.cards),
        }
        return " ".join(mark for mark, holds in found.items() if holds)


@dataclass(frozen=True)
class StationSummary:
    """How one station falls out over the room: everyone counts once, from `full` to `resting`."""

    number: int
    movement: str
    unit: str
    doses: tuple[float, ...]  # least, middle and most of those who do the prescribed movement
    full: int
    scaled: int  # by time, own capacity or another station
    cautioned: int
    by_hand: int
    swapped: int
    resting: int
    carried: int  # known from other machines or movements alone
    untested: int  # nothing is known


@dataclass(frozen=True)
class RoomPreview:
    """Everyone's targets for a circuit on a day, and what stands out."""

    rows: list[Row]
    stations: list[StationSummary]
    shortages: list[str]


def room_preview(
    *, definition: Definition, gym: Gym, day: date, intent: float = 1.0, classes: int = 1, key: UUID | None = None
) -> RoomPreview:
    """Targets of every active athlete; `classes` is how many class times share the room's people that day.

    `key` is that of the planned session, whose hand-set targets then count. Raises ValueError, in words for the coach,
    for a circuit that cannot be scaled. Eighteen queries at most, however many athletes there are.
    """
    people = load_people(list(Athlete.objects.filter(active=True).values_list("pk", flat=True)))
    targets = preview_targets(definition, people, gym=gym, day=day, intent=intent, key=key)
    prescribed = [station.options[0].movement for station in definition.stations]
    rows = [
        Row(
            athlete=athlete,
            cards=[card_of(definition, target) for target in targets[athlete.pk]],
            targets=targets[athlete.pk],
            untested=[not people.tested(row, movement.engine, movement.id) for movement in prescribed],
        )
        for row, athlete in enumerate(people.athletes)
    ]
    rows.sort(key=lambda row: (name_order(row.athlete.name), row.athlete.pk))
    return RoomPreview(
        rows=rows,
        stations=[_summary(station, rows) for station in definition.stations] if rows else [],
        shortages=_shortages(definition, ceil(len(rows) / max(classes, 1))),
    )


def preview_targets(
    definition: Definition, people: People, *, gym: Gym, day: date, intent: float, key: UUID | None
) -> dict[int, list[Target]]:
    """What these people would be asked to do, a target a station, by athlete; nothing is kept."""
    targets = defaultdict(list)
    if people.athletes:
        pins = pins_by_session(standing_pins([key] if key else []))[key]
        settings = load_settings([definition], today())
        occasion = Occasion(day=day, intent=intent, caution=gym.caution, pins=pins, settings=settings)
        for values in target_values(definition, people, load_history(people.athletes), occasion):
            target = Target(**dict(zip(PREVIEW_FIELDS, values, strict=True)))
            targets[target.athlete_id].append(target)
    return targets


def _summary(station: Station, rows: list[Row]) -> StationSummary:
    index, prescribed = station.position - 1, station.options[0]
    targets = [row.targets[index] for row in rows]
    own = sorted(target.dose for target in targets if target.rung == 0)
    ways = Counter(_way(row.cards[index], target) for row, target in zip(rows, targets, strict=True))
    working = [target.detail for target in targets if target.rung >= 0]
    return StationSummary(
        number=station.position,
        movement=prescribed.movement.name,
        unit=prescribed.dose_kind,
        doses=(own[0], own[len(own) // 2], own[-1]) if own else (),
        **{way: ways[way] for way in WAYS},
        carried=sum(bool(detail["benchmarks"]) and not detail["tested"] for detail in working),
        untested=sum(not detail["benchmarks"] for detail in working),
    )


def _way(card: Card, target: Target) -> str:
    """What decided over one target: the one of `WAYS` under which it is counted."""
    if card.rest:
        return "resting"
    if card.pinned:
        return "by_hand"
    if card.swap:
        return "swapped"
    if target.detail["bound"] in CAUTIONS:
        return "cautioned"
    return "scaled" if card.capped else "full"


def _shortages(definition: Definition, class_size: int) -> list[str]:
    """Where machines run short: the most people that each kind of machine lets into one class, if that is too few."""
    stations, partners = definition.stations, definition.partners
    machines = [station.options[0].movement.machine for station in stations]
    used = Counter((machine.id, machine.name) for machine in machines if machine)
    on_the_floor = Counter(Machine.objects.filter(active=True).values_list("type_id", flat=True))
    sentences = []
    for (machine_id, name), places in used.items():
        most = on_the_floor[machine_id] * partners * len(stations) // places
        if most < class_size:
            sentences.append(
                f"{name}: {on_the_floor[machine_id]} on the floor, so {most} athletes at a time; about {class_size} "
                "come to a class. Add a class time, or let a swap take some."
            )
    return sentences
