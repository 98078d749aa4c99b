"""From a circuit and a room to targets: the two calls of the scaling method, `scale`, and `asked` for less of it."""

from collections.abc import Mapping
from dataclasses import fields

import numpy as np

from athletes.capacity.arrays import Array, IntArray
from sessions.scaling.by_dose import asked_of, by_dose
from sessions.scaling.by_rounds import by_rounds
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import (
    ENGINE_MODEL_SD,
    HEADROOMS,
    REPETITIONS_MODEL_SD,
)
from sessions.scaling.method import Method
from sessions.scaling.pieces import scale_piece
from sessions.scaling.room import Room
from sessions.scaling.targets import Targets

BLOCK = 4096  # athletes worked on together, so that memory is bounded beside their targets


def scale(
    circuit: Circuit,
    room: Room,
    intent: str | None = None,
    *,
    headrooms: Mapping[str, float] = HEADROOMS,
    engine_model_sd: float = ENGINE_MODEL_SD,
    repetitions_model_sd: float = REPETITIONS_MODEL_SD,
) -> Targets:
    """`Targets` of every athlete in a `Room` for a `Circuit`.

    `intent`, "test", "hard", "steady" or "easy", says how much is left in the tank by `headrooms`, which name all four;
    None leaves it to the circuit. The model's SDs are those of the log of what can be held. ValueError, with a plain
    sentence, for a circuit or room that cannot be scaled, or an unknown intent.
    """
    circuit.validate()
    room.validate(circuit)
    if intent is not None and intent not in headrooms:
        raise ValueError(f"Unknown intent {intent!r}: use one of {', '.join(headrooms)}.")
    method = Method(headrooms, engine_model_sd, repetitions_model_sd)
    headroom = circuit.headroom if intent is None else headrooms[intent]
    by = off_the_clock if circuit.format != "every" else by_rounds if circuit.scaling == "rounds" else by_dose
    parts = [by(circuit, block, headroom, method) for block in blocks_of(room)]
    return Targets(**{field.name: np.concatenate([getattr(p, field.name) for p in parts]) for field in fields(Targets)})


def asked(
    circuit: Circuit,
    room: Room,
    *,
    headrooms: Mapping[str, float] = HEADROOMS,
    engine_model_sd: float = ENGINE_MODEL_SD,
    repetitions_model_sd: float = REPETITIONS_MODEL_SD,
) -> tuple[IntArray, IntArray, Array]:
    """`rung`, `swap` and `dose` of `scale`, (n, S) each, for who asks for no more: by dose in half of the time."""
    if circuit.format != "every" or circuit.scaling != "dose":
        found = scale(
            circuit,
            room,
            headrooms=headrooms,
            engine_model_sd=engine_model_sd,
            repetitions_model_sd=repetitions_model_sd,
        )
        return found.rung, found.swap, found.dose
    circuit.validate()
    room.validate(circuit)
    method = Method(headrooms, engine_model_sd, repetitions_model_sd)
    parts = []
    for block in blocks_of(room):
        own = asked_of(circuit, block, circuit.headroom, method)
        parts.append((own.rungs.rung, own.rungs.swap, own.dose(block)))
    rung, swap, dose = (np.concatenate(part) for part in zip(*parts, strict=True))
    return rung, swap, dose


def blocks_of(room: Room) -> list[Room]:
    return [room.take(slice(start, start + BLOCK)) for start in range(0, max(len(room), 1), BLOCK)]


def off_the_clock(circuit: Circuit, room: Room, headroom: float, method: Method) -> Targets:
    """`Targets` of a valid room for what has no intervals (`pieces`)."""
    return scale_piece(
        circuit,
        room,
        headroom,
        hard=method.hard,
        steady=method.headrooms["steady"],
        engine_model_sd=method.engine_model_sd,
        repetitions_model_sd=method.repetitions_model_sd,
    )
