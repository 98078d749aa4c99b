"""How a movement is written down here."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A movement of the demo gym; `best` and `spread` are its first guess (common practice)."""

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
    high_eccentric: bool = False
    caution: str = ""
