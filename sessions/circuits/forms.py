"""The circuit editor's fields: a document ↔ names like `stations.0.options.1.dose`, with the errors beside them.

What is left in the tank is typed in per cent, and is a share in the document.
"""

from django.db.models import Q
from django.http import QueryDict

from athletes.models import Movement
from sessions.models import Circuit
from sessions.models.circuit import DoseKind, Format, Scaling

EMPTY_OPTION = dict.fromkeys(("movement", "dose_kind", "dose", "least_dose", "load_kg", "percent", "reserve"), "")
EMPTY_STATION = {"work_window_s": 40, "note": "", "closed": False, "options": [EMPTY_OPTION]}
OPTIONAL = ("headroom", "limit_s", "least_dose", "load_kg", "percent", "reserve")
PLANNED = "planned"  # a day as the next session of the circuit has it
INTENTS = ("hard", "steady", "easy", "test")  # of a day, the usual one first
LOAD_WAYS = (("load_kg", "kg"), ("percent", "% of the maximum"), ("reserve", "repetitions in reserve"))


def nested(post: QueryDict) -> dict:
    """What the editor's form sent, as a document with everything still as typed; gaps in the numbering close up."""
    tree: dict = {}
    for name, value in post.items():
        *path, last = name.split(".")
        branch = tree
        for part in path:
            child = branch.get(part)
            branch = child if isinstance(child, dict) else branch.setdefault(part, {})
        if isinstance(branch, dict):
            branch.setdefault(last, None if value == "" and last in OPTIONAL else value)
    document = {name: tree.get(name, "") for name in ("name", "interval_s", "rotations", "notes")}
    document |= {"partners": tree.get("partners", 1), "scaling": tree.get("scaling", "dose")}
    document |= {"format": tree.get("format", "every"), "limit_s": tree.get("limit_s")}
    document["open_last"] = tree.get("open_last", "") == "on"
    document["headroom"] = _share(tree.get("headroom"))
    return {**document, "stations": [_station(s) for s in _rows(tree, "stations")]}


def editor(document: dict, errors: dict) -> dict:
    """Everything the editor's page shows."""
    station_errors = errors.get("stations", [])
    listed = station_errors if station_errors and isinstance(station_errors[0], dict) else []
    return {
        "document": {"format": "every", **document, "headroom": _per_cent(document["headroom"])},
        "errors": errors,
        "stations_error": [] if listed else station_errors,
        "stations": [
            _station_row(station, listed[index] if index < len(listed) else {})
            for index, station in enumerate(document["stations"])
        ],
        "blank_station": _station_row(EMPTY_STATION, {}),
        "movements": list(Movement.objects.filter(Q(archived=False) | Q(slug__in=_used(document)))),
        "dose_kinds": DoseKind.choices,
        "partner_choices": Circuit._meta.get_field("partners").choices,
        "scaling_choices": Scaling.choices,
        "format_choices": Format.choices,
        "load_ways": LOAD_WAYS,
    }


def usual_left(headrooms: dict[str, float]) -> dict[str, str]:
    """What the gym leaves in the tank: on a `hard` day [%], and in `words` by the day."""
    by_day = ", ".join(f"{intent} {share * 100:g}" for intent, share in headrooms.items())
    return {"hard": f"{headrooms['hard'] * 100:g}", "words": f"Of a hard day. Empty: {by_day} %."}


def _used(document: dict) -> list[str]:
    """Movements of the document: one that was archived since stays in a circuit that has it."""
    return [str(option["movement"]) for station in document["stations"] for option in station["options"]]


def _shown(value: object) -> object:
    """Numbers of a saved circuit without needless zeros; what was typed stays as it was typed."""
    return f"{value:g}" if isinstance(value, float) else value


def _share(typed: object) -> object:
    """Per cent as a share of one; what is no number stays as it was typed."""
    try:
        return round(float(str(typed).replace("%", "")) / 100, 4)
    except ValueError:
        return typed


def _per_cent(share: object) -> object:
    return f"{share * 100:g}" if isinstance(share, float) else share


def _station_row(station: dict, errors: dict) -> dict:
    option_errors = errors.get("options", [])
    listed = option_errors if option_errors and isinstance(option_errors[0], dict) else []
    options = [
        {
            "values": {name: _shown(value) for name, value in option.items()},
            "errors": listed[index] if index < len(listed) else {},
            "load_way": next((name for name, _ in LOAD_WAYS if option.get(name) not in (None, "")), "load_kg"),
        }
        for index, option in enumerate(station["options"])
    ]
    return {"values": station, "errors": errors, "options_error": [] if listed else option_errors, "options": options}


def _station(fields: dict) -> dict:
    options = [{**EMPTY_OPTION, **option} for option in _rows(fields, "options")]
    values = {name: fields.get(name, "") for name in ("work_window_s", "note")}
    values["closed"] = fields.get("closed", "") == "on"
    return {**values, "options": [{**option, **_optional(option)} for option in options]}


def _optional(option: dict) -> dict:
    return {name: option.get(name) or None for name in OPTIONAL if name in option}


def _rows(tree: dict, name: str) -> list[dict]:
    rows = tree.get(name)
    numbered = rows.items() if isinstance(rows, dict) else ()
    usable = [(int(index), row) for index, row in numbered if index.isdecimal() and isinstance(row, dict)]
    return [row for _, row in sorted(usable, key=lambda item: item[0])]
