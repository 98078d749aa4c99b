"""The room preview: how a circuit scales over everyone, before anything is published."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date
from math import ceil
from uuid import UUID

from athletes.formatting import name_order
from athletes.models import Athlete, Gym, Machine
from athletes.selectors.capacity import load_people
from athletes.selectors.gym import today
from sessions.boards.cards import Card, card_of
from sessions.models import Target
from sessions.selectors.history import load_history
from sessions.selectors.pins import standing_pins
from sessions.targets.occasion import Occasion, pins_by_session
from sessions.targets.rows import TARGET_FIELDS, target_values
from sessions.targets.settings import load_settings

PREVIEW_FIELDS = ["athlete_id", *TARGET_FIELDS[3:]]


@dataclass(frozen=True)
class Row:
    """One athlete of the room with a card per station."""

    athlete: Athlete
    cards: list[Card]
    doses: list[float]
    untested: list[bool]

    @property
    def never_tested(self) -> bool:
        return all(self.untested)


@dataclass(frozen=True)
class StationSummary:
    """How one station falls out over the room."""

    number: int
    movement: str
    unit: str
    doses: tuple[float, ...]  # least, middle and most of those who do the prescribed movement
    full: int
    capped: int
    swapped: int
    resting: int
    untested: int


@dataclass(frozen=True)
class RoomPreview:
    """Everyone's targets for a circuit on a day, and what stands out."""

    rows: list[Row]
    stations: list[StationSummary]
    shortages: list[str]


def room_preview(
    *, definition: dict, gym: Gym, day: date, intent: float = 1.0, classes: int = 1, key: UUID | None = None
) -> RoomPreview:
    """Targets of every active athlete; `classes` is how many class times share the room's people that day.

    `key` is that of the planned session, whose hand-set targets then count. Raises ValueError, in words for the coach,
    for a circuit that cannot be scaled. Eighteen queries at most, however many athletes there are.
    """
    people = load_people(list(Athlete.objects.filter(active=True).values_list("pk", flat=True)))
    targets = defaultdict(list)
    if people.athletes:
        pins = pins_by_session(standing_pins([key] if key else []))[key]
        settings = load_settings([definition], today())
        occasion = Occasion(day=day, intent=intent, caution=gym.caution, pins=pins, settings=settings)
        for values in target_values(definition, people, load_history(people.athletes), occasion):
            target = Target(**dict(zip(PREVIEW_FIELDS, values, strict=True)))
            targets[target.athlete_id].append(target)
    prescribed = [station["options"][0]["movement"] for station in definition["stations"]]
    rows = [
        Row(
            athlete=athlete,
            cards=[card_of(definition, target) for target in targets[athlete.pk]],
            doses=[target.dose for target in targets[athlete.pk]],
            untested=[not people.tested(row, movement["engine"], movement["id"]) for movement in prescribed],
        )
        for row, athlete in enumerate(people.athletes)
    ]
    rows.sort(key=lambda row: (name_order(row.athlete.name), row.athlete.pk))
    return RoomPreview(
        rows=rows,
        stations=[_summary(station, rows) for station in definition["stations"]] if rows else [],
        shortages=_shortages(definition, ceil(len(rows) / max(classes, 1))),
    )


def _summary(station: dict, rows: list[Row]) -> StationSummary:
    index, prescribed = station["position"] - 1, station["options"][0]
    cards = [row.cards[index] for row in rows]
    own = sorted(row.doses[index] for row in rows if row.cards[index].rung == 0)
    return StationSummary(
        number=station["position"],
        movement=prescribed["movement"]["name"],
        unit=prescribed["dose_kind"],
        doses=(own[0], own[len(own) // 2], own[-1]) if own else (),
        full=sum(not (card.capped or card.swap or card.rest) for card in cards),
        capped=sum(card.capped and not card.swap for card in cards),
        swapped=sum(card.swap for card in cards),
        resting=sum(card.rest for card in cards),
        untested=sum(row.untested[index] for row in rows),
    )


def _shortages(definition: dict, class_size: int) -> list[str]:
    """Where machines run short: the most people that each kind of machine lets into one class, if that is too few."""
    stations, partners = definition["stations"], definition.get("partners", 1)
    machines = [station["options"][0]["movement"]["machine"] for station in stations]
    used = Counter((machine["id"], machine["name"]) for machine in machines if machine)
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
