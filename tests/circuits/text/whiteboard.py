"""Movements of the demo gym as the reader knows them, and a document in a line."""

from django.utils.text import slugify

from athletes.models.movement import dose_kinds
from coachhub.demo.movements import MOVEMENTS
from sessions.circuits.text.names import Known, Names
from sessions.circuits.text.saying import dose_words

KNOWN = [Known(slugify(one.name), one.name, one.kind, dose_kinds(one.kind, one.engine)) for one in MOVEMENTS]
NAMES = Names(KNOWN)


def brief(document: dict) -> str:
    """row 12–14 kcal | fan-bike 12 kcal + pull-up 5 repetitions."""
    stations = (" | ".join(_option(option) for option in s["options"]) for s in document["stations"])
    return " + ".join(stations)


def _option(option: dict) -> str:
    plain = dose_words({**option, "load_kg": None, "percent": None, "reserve": None, "dose_kind": ""})
    load = dose_words({**option, "dose": 1, "least_dose": None, "dose_kind": ""}).removeprefix("1")
    return f"{option['movement']} {plain} {option['dose_kind']}{load}"
