from jinja2 import Environment, StrictUndefined

from athletes import words as formatting
from sessions.circuits.definition import Option
from sessions.words.cards import CAUTION, option_name, rung_mark, written_dose


def environment(**options) -> Environment:
    """Compiled templates for published pages; a missing value is an error, never an empty place on a wall."""
    options["undefined"] = StrictUndefined
    made = Environment(trim_blocks=True, lstrip_blocks=True, **options)
    made.filters.update(day=formatting.day, rung_mark=rung_mark, swap_name=_swap_name, prescription=_prescription)
    made.globals["caution"] = CAUTION
    return made


def _prescription(option: Option) -> str:
    return written_dose(option)


def _swap_name(option: Option, first: Option) -> str:
    """A rung as it differs from the first: a lighter load of the same movement is its load alone."""
    same = option.load_kg and option.movement.id == first.movement.id
    return formatting.load_text(option.load_kg) if same else option_name(option)
