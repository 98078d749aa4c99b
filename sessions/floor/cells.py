"""One dose on a floor sheet, and what a tap would make of it."""

import json
from dataclasses import dataclass
from uuid import UUID

from athletes.words import dose_text
from sessions.by_hand.swap import EASIER, HARDER, stepped
from sessions.circuits.definition import Option
from sessions.models import Pin, PublishedSession
from sessions.targets.detail import detail_of
from sessions.words.cards import Card, card_of, less_than_written, option_name, rung_mark


@dataclass(frozen=True)
class SheetCell:
    """One dose on the sheet, and what a tap may make of it; texts are ready to print, an empty one is not offered.

    `rounds` where they are not all of them. `basis` is the dose as a page sends it back, see `floor.write.Tap`.
    """

    number: int
    movement: str
    dose: str
    unit: str
    rounds: str
    rest: bool
    with_coach: bool
    mark: str
    rough: bool
    own: bool
    by_feel: bool
    load: str
    by_hand: str
    basis: str
    easier: str
    harder: str
    swap: str
    to_rest: str
    undo: str
    pin: UUID | None


def cell_of(session: PublishedSession, target, pin: Pin | None, first_time: bool = False) -> SheetCell:
    """One target of a live session (a row of `floor.read`), with the pin that stands there."""
    card = card_of(session.definition, target, explained=False)
    ladder = session.definition.stations[target.station - 1].options
    option = ladder[max(target.rung, 0)]
    before = detail_of(target).before
    return SheetCell(
        number=card.number,
        movement=card.movement,
        dose=card.dose,
        unit=card.unit,
        rounds=f"{target.rounds} of {session.definition.rotations} rounds" if card.rounds else "",
        rest=card.rest,
        with_coach=card.with_coach,
        mark="" if not card.dose else rung_mark(card.rung),
        rough=card.firmness == "rough",
        own=_is_own(session, target, card),
        by_feel=first_time and bool(card.dose),
        load=card.unit if card.unit.startswith("× ") else "",
        by_hand=(f"{pin.made_by or 'somebody'}: {pin.reason}" if pin else "set by hand") if card.by_hand else "",
        basis=json.dumps([target.rung, target.dose, target.load_kg]),
        easier="" if not card.dose else _step_text(option, target, EASIER),
        harder="" if not card.dose else _step_text(option, target, HARDER),
        swap="" if not card.dose else _below_text(ladder, target),
        to_rest="" if not card.dose else "at this station",
        undo=_target_text(ladder, before) if pin and before else "",
        pin=pin.key if pin else None,
    )


def _is_own(session: PublishedSession, target, card: Card) -> bool:
    """Whether somebody does something else than what is written: a swap, less, a lighter load, fewer rounds, rest."""
    option = session.definition.option_of(target)
    lighter = less_than_written(option, target.dose, target.load_kg, detail_of(target).written)
    return bool(card.rest or card.with_coach or card.rung or card.first_rounds or lighter)


def _step_text(option: Option, target, act: str) -> str:
    dose = stepped(option, target.dose, act)
    return "" if dose == target.dose else dose_text(option.dose_kind, dose, target.load_kg)


def _below_text(ladder: tuple[Option, ...], target) -> str:
    """The next movement or lighter load that is written; whether it suits is worked out when it is tapped."""
    here, load_kg = ladder[target.rung].movement.id, target.load_kg or 0.0
    for option in ladder[target.rung + 1 :]:
        if option.movement.id != here or 0.0 < (option.load_kg or 0.0) < load_kg:
            return option_name(option)
    return "rest"


def _target_text(ladder: tuple[Option, ...], target: dict) -> str:
    if target["rung"] < 0:
        return "rest"
    option = ladder[target["rung"]]
    dose = dose_text(option.dose_kind, target["dose"], target["load_kg"])
    return f"{dose} {option.movement.name}" if target["rung"] else dose
