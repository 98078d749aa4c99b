"""A circuit on a day: what holds for everyone there, and what was set by hand."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from athletes.estimates.people import Restriction
from sessions.circuits.definition import Definition, Station
from sessions.models import Pin
from sessions.scaling.constants import HEADROOMS, QUANTILE, REST
from sessions.targets.settings import NO_SETTINGS, Settings

Pins = dict[tuple[int, int], Pin]


@dataclass(frozen=True, eq=False)
class Occasion:
    """`intent` is that of the day after the heat expected, which `hot` says lowered it; `headrooms` what the gym wants
    left in the tank by intent; `pins` are targets set by hand, by (athlete id, station from 1), and `rounds` those of
    them that are to keep their rounds. `bars` are the loads [kg] that stand at a (station, rung) already; `sure` how
    likely everyone is to hold what is asked.
    """

    day: date
    intent: str = "hard"
    hot: bool = False
    headrooms: Mapping[str, float] = field(default_factory=lambda: dict(HEADROOMS))
    pins: Pins = field(default_factory=dict)
    rounds: Mapping[tuple[int, int], int] = field(default_factory=dict)
    bars: Mapping[tuple[int, int], tuple[float, ...]] = field(default_factory=dict)
    settings: Settings = NO_SETTINGS
    sure: float = 1.0 - QUANTILE

    def headroom(self, definition: Definition) -> float:
        """What is wanted left in the tank. A circuit's own stands for a hard day; easier days leave more."""
        level = self.headrooms[self.intent]
        if definition.headroom is None or self.intent == "test":
            return level
        return definition.headroom if self.intent == "hard" else max(definition.headroom, level)


def pins_by_session(pins: Iterable[Pin]) -> dict[UUID, Pins]:
    """Pins as an `Occasion` takes them, by the key of their session; nothing for a session without any."""
    by_session: dict[UUID, Pins] = defaultdict(dict)
    for pin in pins:
        by_session[pin.session_key][pin.athlete_id, pin.station] = pin
    return by_session


def pinned_rung(station: Station, pin: Pin) -> int | None:
    """The rung of a station that a pin means, `REST` for rest; None where it does not fit any more.

    Of several rungs with the same movement the lightest that is not lighter than the pin's load, else the first.
    """
    if pin.movement_id is None:
        return REST
    same = [r for r, option in enumerate(station.options) if option.movement.id == pin.movement_id]
    heavy = [r for r in same if pin.load_kg and (station.options[r].load_kg or 0.0) >= pin.load_kg]
    if heavy:
        return min(heavy, key=lambda r: (station.options[r].load_kg, r))
    return same[0] if same else None


def allowed_rung(station: Station, pin: Pin, restrictions: Iterable[Restriction], day: date) -> int | None:
    """`pinned_rung`, and None where a limitation that was entered after the pin forbids the movement on that day.

    Who sets a target by hand knows what is entered by then, and nothing of what comes later.
    """
    rung = pinned_rung(station, pin)
    if rung is None or rung < 0 or pin.made_at is None:
        return rung
    movement = station.options[rung].movement
    later = (r for r in restrictions if r.entered_at > pin.made_at)
    return None if any(r.forbids(day, movement.id, movement.involvement) for r in later) else rung
