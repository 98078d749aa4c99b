"""PURE: the starter library, movements of the trade that a new gym begins with: `starter.toml`."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

WRITTEN = Path(__file__).with_name("starter.toml")


@dataclass(frozen=True, kw_only=True)
class StarterMovement:
    """A movement as the library describes it. `best` and `spread` are its first guess, `easier` the name of its easier
    form, `machine` and `rack` the names of what it takes, `tests` keys of athletes.benchmarks.library."""

    name: str
    kind: str
    involvement: dict[str, float]
    set_up: str
    drive: str
    recovery: str
    look_for: str
    engine: str = ""
    machine: str = ""
    rack: str = ""
    setup_s: float = 3.0
    seconds: float = 2.0
    best: float = 20.0
    spread: float = 0.5
    paced: bool = False
    needs_skill: bool = False
    high_eccentric: bool = False
    introductory: int = 30
    easier: str = ""
    other_names: str = ""
    caution: str = ""
    tests: tuple[str, ...] = ()


@cache
def starter_movements() -> tuple[StarterMovement, ...]:
    """All of them, in the order they are written."""
    entries = tomllib.loads(WRITTEN.read_text(encoding="utf-8"))["movement"]
    return tuple(StarterMovement(**{**entry, "tests": tuple(entry.get("tests", ()))}) for entry in entries)
