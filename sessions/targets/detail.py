"""What a target is explained from: typed, frozen beside its numbers, and read through one door, however old."""

from dataclasses import dataclass, fields
from typing import Any, Protocol

from sessions.scaling.targets import Reason, Swap

# What method 3 called the reasons.
BOUNDS = {
    "prescription": Reason.AS_WRITTEN,
    "time": Reason.TIME,
    "own": Reason.OWN,
    "other_station": Reason.TOGETHER,
    "rest": Reason.REST,
    "safety": Reason.UNTESTED,
    "exposure": Reason.UNACCUSTOMED,
    "return": Reason.NEWCOMER,
    "pinned": Reason.BY_HAND,
}
CAUTIONS = (Reason.UNTESTED, Reason.NEWCOMER, Reason.UNACCUSTOMED)


@dataclass(frozen=True, slots=True)
class Detail:
    """Behind one target. Doses are in the unit of its dose.

    `reason_station` counts from 1, 0 for none, `reason_movement` is what this athlete does there; `own` is what this
    station alone would allow that day, `written` the rung's own dose, `least` its least useful one; `demand` the row of
    the demand matrix, `cost` and `free` of one set (see `sessions.scaling.targets`). `as_prescribed` are the rounds in
    which this athlete could do everything as prescribed, `week` that of a newcomer's or a returner's four, `untested`
    a first time here; `by` and `by_why` who set it by hand; `before` what stood there until then. `day_headroom` is
    what the day wanted left, `hot` a day that heat made easier. `expected` is, off the clock, the time [s] or
    the rounds that the whole is expected to come to, and the ends of its band.
    """

    reason: Reason = Reason.AS_WRITTEN
    reason_station: int = 0
    reason_movement: str = ""
    swap: Swap = Swap.NONE
    own: float = 0.0
    written: float = 0.0
    least: float = 0.0
    demand: tuple[float, ...] = ()
    cost: float = 0.0
    free: float = 0.0
    as_prescribed: int | None = None
    expected_rpe: float | None = None
    intent: str = "hard"
    hot: bool = False
    day_headroom: float | None = None
    benchmarks: tuple[str, ...] = ()
    tested: bool = False
    untested: bool = False
    week: int = 0
    open_last: bool = False
    expected: tuple[float, ...] = ()
    setting: str = ""
    by: str = ""
    by_why: str = ""
    walk_in: bool = False
    before: dict[str, Any] | None = None
    method: str = ""

    @property
    def by_hand(self) -> bool:
        return self.reason == Reason.BY_HAND

    @property
    def with_coach(self) -> bool:
        return self.reason == Reason.NO_TARGET

    @property
    def cautioned(self) -> bool:
        return self.reason in CAUTIONS


class Detailed(Protocol):
    """A target, or a row of its columns."""

    detail: dict[str, Any]


DEFAULTS = Detail()
NAMES = tuple(field.name for field in fields(Detail))


def detail_of(target: Detailed) -> Detail:
    """The detail of a target."""
    return read(target.detail)


def read(kept: dict[str, Any]) -> Detail:
    """The detail in kept JSON, of this method or of method 3."""
    if "bound" in kept:
        return _of_method_3(kept)
    values = {name: value for name, value in kept.items() if name in NAMES}
    values["reason"], values["swap"] = Reason(values.get("reason", 0)), Swap(values.get("swap", 0))
    for name in ("demand", "benchmarks", "expected"):
        values[name] = tuple(values.get(name, ()))
    return Detail(**values)


def frozen(detail: Detail) -> dict[str, Any]:
    """The detail as plain values for JSON, without what is as always; `read` gives it back."""
    plain = ((name, getattr(detail, name)) for name in NAMES)
    kept = {name: value for name, value in plain if value != getattr(DEFAULTS, name)}
    return {**kept, "reason": int(detail.reason), "swap": int(detail.swap)}


def _of_method_3(kept: dict[str, Any]) -> Detail:
    pin = kept.get("pin") or {}
    return Detail(
        reason=BOUNDS[kept["bound"]],
        reason_station=kept.get("bound_by", 0),
        swap=Swap[kept.get("swap", "none").upper()],
        own=kept.get("own_cap", 0.0),
        written=kept.get("wanted", 0.0),
        benchmarks=tuple(kept.get("benchmarks", ())),
        tested=kept.get("tested", False),
        untested=kept["bound"] == "safety",
        week=kept.get("week_back", 0),
        setting=kept.get("setting", ""),
        by=pin.get("by", ""),
        by_why=pin.get("reason", ""),
        walk_in=kept.get("walk_in", False),
        before=kept.get("before"),
        method="3",
    )
