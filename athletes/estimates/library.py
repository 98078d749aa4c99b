"""The gym's movements as the estimates need them, with what its own athletes have taught of each."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from athletes.capacity import movements as capacity
from athletes.capacity.constants import ENGINES, METHOD_VERSION, PATTERNS
from athletes.capacity.estimate import Library
from athletes.capacity.priors import PUBLISHED, Centre
from athletes.models import Gym, Movement


class Described(Protocol):
    """What of a movement centres a first guess; a row, and a movement of a frozen circuit, both have it."""

    @property
    def id(self) -> int: ...

    @property
    def kind(self) -> str: ...

    @property
    def paced(self) -> bool: ...

    @property
    def seconds_per_repetition(self) -> float: ...

    @property
    def typical_best(self) -> float: ...

    @property
    def typical_spread(self) -> float: ...


@dataclass(frozen=True)
class Learnt:
    """What the gym's own athletes have taught (`Gym.priors`): the engines' centre, numbers by movement id, the middle
    of the room, and the SDs that the model itself does not know, by the names of `sessions.scaling.scale`."""

    centre: Centre = PUBLISHED
    movements: Mapping[int, dict[str, float]] = field(default_factory=dict)
    fitness: Mapping[str, Any] = field(default_factory=dict)
    model: Mapping[str, float] = field(default_factory=dict)

    def movement(self, movement: Described, involvement: Iterable[float]) -> capacity.Movement:
        """A movement with its first guess."""
        own = self.movements.get(movement.id, {})
        if ("reserve_shift" in own) != movement.paced:  # learnt before it became paced, or no longer was
            own = {}
        if movement.paced:
            median = capacity.minute_rate(movement.typical_best, movement.seconds_per_repetition)
            return capacity.Movement(capacity.PACED, median, capacity.PACED_LOG_SD, tuple(involvement), **own)
        best, spread = movement.typical_best, movement.typical_spread
        return capacity.Movement(movement.kind, best, spread, tuple(involvement), **own)


@dataclass(frozen=True)
class GymLibrary:
    """All movements of the gym beside the engines; `places` gives their place in `library` by id."""

    movements: list[Movement]
    library: Library
    places: dict[int, int]


def learnt() -> Learnt:
    """What the gym has taught so far; nothing where that was by another method. One query."""
    priors = Gym.objects.filter(pk=1).values_list("priors", flat=True).first() or {}
    if priors.get("method_version") != METHOD_VERSION:
        return Learnt()
    log_mean, log_sd = PUBLISHED.log_mean.copy(), PUBLISHED.log_sd.copy()
    for engine, own in priors["engines"].items():
        row = ENGINES.index(engine)
        log_mean[row] += own["shift"]
        log_sd[row] = own["log_sd"]
    movements = {int(pk): own for pk, own in priors.get("movements", {}).items()}
    return Learnt(Centre(log_mean, log_sd), movements, priors.get("fitness", {}), priors.get("model", {}))


def gym_library(taught: Learnt) -> GymLibrary:
    """Every movement that is no engine, archived ones too, for results of old ones still tell of others. One query."""
    rows = list(Movement.objects.exclude(kind=Movement.Kind.ENGINE).order_by("pk"))
    places = {movement.pk: place for place, movement in enumerate(rows)}
    ladders = tuple(
        (places[movement.easier_form_id], places[movement.pk]) for movement in rows if movement.easier_form_id in places
    )
    movements = tuple(taught.movement(movement, involvement_of(movement)) for movement in rows)
    return GymLibrary(rows, Library(movements, ladders), places)


def involvement_of(movement: Movement) -> tuple[float, ...]:
    """Weights in the order of `PATTERNS`."""
    return tuple(float(movement.involvement.get(pattern, 0.0)) for pattern in PATTERNS)


def kin() -> dict[int, set[int]]:
    """Ids of the movements on the same ladder of easier forms as each, itself included. One query."""
    return ladders(Movement.objects.filter(easier_form__isnull=False).values_list("pk", "easier_form_id"))


def ladders(easier_forms: Iterable[tuple[int, int | None]]) -> dict[int, set[int]]:
    """The same from movements, each with its easier form or None."""
    groups: dict[int, set[int]] = {}
    for harder, easier in easier_forms:
        if easier is None:
            continue
        joined = groups.get(harder, {harder}) | groups.get(easier, {easier})
        for movement in joined:
            groups[movement] = joined
    return groups
