"""What a coach wrote, however it was sent: as text, or in fields; read, checked, and with what is in the way."""

from dataclasses import dataclass, field
from typing import Any

from django.http import QueryDict

from sessions.circuits.document import CircuitSerializer
from sessions.circuits.forms import nested
from sessions.circuits.text.lines import Line, Reading
from sessions.circuits.text.reading import TOO_LONG, read, too_long
from sessions.circuits.text.writing import write
from sessions.circuits.whiteboard import known_names

# What is in the way, by the field that is.
WORDS = {
    "movement": "the movement", "dose": "the dose", "dose_kind": "the unit", "least_dose": "the range",
    "load_kg": "the load", "percent": "the load", "reserve": "the load", "work_window_s": "the time", "note": "the cue",
    "options": "the swaps", "interval_s": "the interval", "rotations": "the rounds", "name": "the name",
    "headroom": "what is left", "stations": "the stations", "format": "how it runs", "limit_s": "the time",
    "text": "the text",
    "notes": "the notes", "partners": "in pairs", "scaling": "what gives way", "open_last": "the last round",
}  # fmt: skip


@dataclass(frozen=True)
class Trouble:
    """What keeps a circuit from being shown: the station, from 1, or 0; the field in words; and what to do."""

    station: int
    what: str
    says: str


@dataclass(frozen=True)
class Sheet:
    """A circuit as it is written: `text`, the `document` with everything as typed, how it was read, and `checked`,
    the document with movements as rows, None where something is in the way."""

    text: str
    document: dict[str, Any]
    reading: Reading
    checked: dict[str, Any] | None
    errors: dict[str, Any] = field(default_factory=dict)

    @property
    def troubles(self) -> list[Trouble]:
        found = [Trouble(0, WORDS.get(name, name), _first(e)) for name, e in self.errors.items() if name != "stations"]
        stations = self.errors.get("stations", [])
        if stations and not isinstance(stations[0], dict):
            return [*found, Trouble(0, WORDS["stations"], _first(stations))]
        for number, errors in enumerate(stations, start=1):
            found += [Trouble(number, WORDS.get(name, name), says) for name, says in _leaves(errors)][:1]
        return found

    @property
    def lines(self) -> list[tuple[Line, list[Trouble]]]:
        """The lines with what is in the way at their stations, where the reading has not said so itself."""
        by_station = {trouble.station: trouble for trouble in self.troubles if trouble.station}
        return [
            (line, [by_station[s + 1] for s in line.stations if s + 1 in by_station and not line.unread()])
            for line in self.reading.lines
        ]

    @property
    def to_look_at(self) -> int:
        """How many lines want a look."""
        return sum(1 for line, troubles in self.lines if line.remarks or troubles)


def sheet_of(post: QueryDict) -> Sheet:
    """What the editor sent. A circuit that was not named yet is named after its stations."""
    if "text" in post and post.get("mode") != "fields":
        return sheet_of_text(post.get("text", "").replace("\r\n", "\n"))
    names = known_names()
    document = nested(post)
    text = write(document, names)
    checked, errors = _checked(document)
    return Sheet(text, document, read(text, names), checked, errors)


def sheet_of_text(text: str) -> Sheet:
    """A text on its own."""
    reading = read(text, known_names())
    checked, errors = _checked(reading.document)
    if too_long(text):
        checked, errors = None, {**errors, "text": [TOO_LONG]}
    return Sheet(text, reading.document, reading, checked, errors)


def named(document: dict[str, Any]) -> str:
    """A name for a circuit that has none: its movements, as far as they are known."""
    options = [station["options"][0]["movement"] for station in document["stations"] if station["options"]]
    found = [str(names.name) for slug in options if (names := known_names().by_slug.get(str(slug)))]
    return " · ".join(dict.fromkeys(found))[:200]


def _checked(document: dict[str, Any]) -> tuple[dict[str, Any] | None, dict[str, Any]]:
    serializer = CircuitSerializer(data={**document, "name": document["name"] or named(document)})
    if serializer.is_valid():
        return serializer.validated_data, {}
    return None, _listed(dict(serializer.errors))


def _listed(errors: Any) -> Any:
    """Errors of rows by their number as a list in which rows without any have none."""
    if not isinstance(errors, dict):
        return errors
    if errors and all(isinstance(key, int) for key in errors):
        return [_listed(errors.get(place, {})) for place in range(max(errors) + 1)]
    return {name: _listed(value) for name, value in errors.items()}


def _leaves(errors: Any) -> list[tuple[str, str]]:
    """The sentences of nested errors, each with the field it stands at."""
    found: list[tuple[str, str]] = []
    if not isinstance(errors, dict):
        return found
    for name, value in errors.items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            found += [leaf for inner in value for leaf in _leaves(inner)]
        elif isinstance(value, list) and value:
            found.append((str(name), str(value[0])))
    return found


def _first(errors: Any) -> str:
    return str(errors[0]) if isinstance(errors, list) and errors else str(errors)
