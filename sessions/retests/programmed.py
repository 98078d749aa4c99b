"""What the targets of a planned circuit rest on: how each moves with what is known of the athlete."""

from dataclasses import dataclass

import numpy as np

from athletes.estimates.knowledge import Knowledge, Subject
from athletes.estimates.people import People
from sessions.circuits.definition import Definition, Option
from sessions.scaling.constants import REST
from sessions.scaling.gradient import own_cap_gradient
from sessions.scaling.scale import scale
from sessions.targets.circuit import circuit_of
from sessions.targets.history import History
from sessions.targets.occasion import Occasion
from sessions.targets.room import meeting_of


@dataclass(frozen=True, eq=False)
class Programmed:
    """T targets of n athletes: `gradient` (n, T, D) of their logs by the parameters of a `Knowledge`, `weight` (n, T),
    0 where there is no such target, and `subject` (n, T), the engine or movement (id) that each is of."""

    gradient: np.ndarray
    weight: np.ndarray
    subject: np.ndarray


def programmed(
    definition: Definition, people: People, knowledge: Knowledge, history: History, occasion: Occasion
) -> Programmed:
    """The targets of one planned session: at the rung where each athlete is, and at the prescription where that is
    another one and they may do it, for knowing more may bring them back to it.

    ValueError, in words for the coach, for a circuit that cannot be scaled.
    """
    circuit = circuit_of(definition)
    circuit.validate()
    room = meeting_of(definition, circuit, people, history, occasion).room
    quantile = 1.0 - occasion.caution
    here = scale(circuit, room, occasion.intent, quantile).rung
    top = np.where((here != 0) & room.allowed[:, :, 0], 0, REST)
    parts = []
    for rung in (here, top):
        slopes = own_cap_gradient(circuit, room, rung, occasion.intent)
        parts.append(_of_rungs(definition, rung, room, people, knowledge, slopes))
    return join(parts)


def join(parts: list[Programmed]) -> Programmed:
    """Targets of several sessions beside one another."""
    return Programmed(
        *(np.concatenate([getattr(part, name) for part in parts], 1) for name in ("gradient", "weight", "subject"))
    )


def _of_rungs(
    definition: Definition, rung, room, people: People, knowledge: Knowledge, slopes: np.ndarray
) -> Programmed:
    gradient = np.zeros((*rung.shape, knowledge.mean.shape[1]))
    subject = np.full(rung.shape, None, object)
    for s, station in enumerate(definition.stations):
        for r, option in enumerate(station.options):
            movement: Subject = option.movement.id
            at = np.flatnonzero(rung[:, s] == r)
            if engine := option.movement.engine:
                gradient[at, s, knowledge.own(engine)] = slopes[at, s]
                subject[at, s] = engine
                continue
            if movement not in knowledge.place:
                continue  # of an archived movement nothing is proposed
            gradient[at, s, knowledge.place[movement]] = _steepness(option, room, people, (at, s, r))
            subject[at, s] = movement
    return Programmed(gradient, (subject != None).astype(float), subject)  # noqa: E711 - by element


def _steepness(option: Option, room, people: People, cell) -> np.ndarray:
    """How many times faster than the athlete's best what the station rests on changes: 1, and more under a load."""
    movement = option.movement
    _, sd = people.movement(movement.id, movement.typical_best, movement.typical_spread)
    return room.repetitions_sd[cell] / sd[cell[0]]
