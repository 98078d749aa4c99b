"""What the demo gym's stations ask for, with cues in the gym's own words: `data/movements.toml`."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, kw_only=True)
class DemoMovement:
    """A movement of the demo gym; `best` and `spread` are its first guess, `easier` the name of its easier form."""

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
    easier: str = ""
    caution: str = ""


MOVEMENTS = [DemoMovement(**entry) for entry in tomllib.loads((DATA / "movements.toml").read_text())["movement"]]
