"""What the panel beside the room says of one athlete at one station: why, how firm, how long; as plain values."""

from typing import Any

from athletes.words import number
from sessions.circuits.definition import Definition
from sessions.room.preview import RoomPreview
from sessions.room.rows import RoomRow
from sessions.room.stations import as_coaches_say, as_written
from sessions.words.cards import option_name, rung_mark, why

TENTHS = 10


def panel_of(room: RoomPreview, definition: Definition) -> dict[str, Any]:
    """`stations` with their ladders, and `people` by id with a list of their targets."""
    ladders = [
        [{"mark": rung_mark(rung), "name": option_name(option), "written": as_written(option), "load": option.load_kg}
         for rung, option in enumerate(station.options)]
        for station in definition.stations
    ]  # fmt: skip
    return {"stations": ladders, "people": {row.athlete.pk: _person(row, definition) for row in room.rows}}


def _person(row: RoomRow, definition: Definition) -> dict[str, Any]:
    targets = [_target(row, s, definition) for s in range(len(row.cards))]
    return {"name": row.athlete.name, "left": row.left_per_cent, "at": targets}


def _target(row: RoomRow, s: int, definition: Definition) -> dict[str, Any]:
    """Without what is as always, so that a large room stays small."""
    card, target, detail = row.cards[s], row.targets[s], row.details[s]
    chance = f"{round((card.probability or 0.0) * TENTHS)} in {TENTHS}" if target.rung >= 0 else ""
    left = number(max(target.headroom or 0.0, 0.0) * 100, 0) if target.rung >= 0 else ""
    values = {
        "rung": target.rung,
        "dose": target.dose,
        "load": target.load_kg,
        "movement": card.movement,
        "says": as_coaches_say(f"{card.dose} {card.unit}".strip()),
        "hold": f"{card.hold} {card.hold_unit}".strip(),
        "by": card.finish_by,
        "rounds": card.rounds,
        "why": list(why(definition, target, to_coach=True)),
        "chance": chance,
        "left": left,
        "firm": card.firmness,
        "known": ", ".join(detail.benchmarks),
        "hand": f"{detail.by}: {detail.by_why}" if card.by_hand else "",
    }
    return {name: value for name, value in values.items() if value not in ("", None, [])}
