"""What the demo gym's stations ask for: movements of the starter library, and its own: `data/movements.toml`."""

import tomllib
from pathlib import Path

from athletes.movements.starter import StarterMovement, starter_movements

DATA = Path(__file__).parent / "data"


def _movements() -> list[StarterMovement]:
    written = tomllib.loads((DATA / "movements.toml").read_text(encoding="utf-8"))
    known = {entry.name: entry for entry in starter_movements()}
    own = {entry["name"]: StarterMovement(**entry) for entry in written["own"]}
    return [own.get(name) or known[name] for name in written["names"]]


MOVEMENTS = _movements()
