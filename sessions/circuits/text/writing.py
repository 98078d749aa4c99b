"""From a circuit document to the lines a coach would write. What is no number in a field stays as it was typed."""

from collections import Counter
from typing import Any

from sessions.circuits.text.names import Names
from sessions.circuits.text.saying import clock
from sessions.circuits.text.whole import usual_window_s

UNITS = {"kcal": " cal", "metres": " m", "seconds": " s"}


def write(document: dict[str, Any], names: Names) -> str:
    """The document as text; `read` gives it back. Seconds may be typed figures, as fields send them."""
    stations = [{**station, "work_window_s": _whole(station["work_window_s"])} for station in document["stations"]]
    seconds: dict[str, Any] = {name: _whole(document[name]) for name in ("interval_s", "limit_s") if name in document}
    document = {**document, **seconds, "stations": stations}
    lines = [f"name: {document['name']}"] if document.get("name") else []
    lines += _clock(document)
    lines += [_station(station, document, names) for station in document["stations"]]
    lines += [f"note: {line}" for line in str(document.get("notes", "")).splitlines()]
    return "\n".join(lines)


def _clock(document: dict[str, Any]) -> list[str]:
    rounds = f"{_figure(document['rotations'])} rounds"
    match document.get("format"):
        case "for_time":
            first = [f"{rounds} for time"]
            first += [f"cap {_time(document['limit_s'])}"] if document.get("limit_s") else []
        case "as_many":
            limit = document.get("limit_s")
            first = ["as many rounds as fit" + (f" in {_time(limit)}" if limit else "")]
            first += [rounds] if document["rotations"] != 1 else []
        case _:
            first = [_every(document["interval_s"]), rounds]
    if (common := _common_window(document)) is not None:
        first.append(f"{common} s work")
    timed = common is not None or document["interval_s"] != 60
    if document.get("format") in ("for_time", "as_many") and timed:
        first.append(_every(document["interval_s"]))
    lines = [", ".join(first)]
    if str(document.get("partners", 1)) == "2":
        lines.append("in pairs, in turns")
    if document.get("headroom") not in (None, ""):
        headroom = document["headroom"]
        lines.append(f"{_figure(headroom * 100 if isinstance(headroom, float) else headroom)} % left")
    if document.get("scaling") == "rounds":
        lines.append("rounds give way")
    if document.get("open_last"):
        lines.append("last round open")
    return lines


def _every(interval_s: Any) -> str:
    if not isinstance(interval_s, int):
        return f"every {interval_s} s"
    if interval_s == 60:
        return "every minute"
    return f"every {clock(interval_s)}" if interval_s > 60 else f"every {interval_s} s"


def _common_window(document: dict[str, Any]) -> int | None:
    """The work time [s] of most stations, where it is not the usual one: then it is said once."""
    windows = Counter(station["work_window_s"] for station in document["stations"])
    window, times = windows.most_common(1)[0] if windows else (None, 0)
    interval = document["interval_s"]
    usual = usual_window_s(interval) if isinstance(interval, int) else None
    return window if isinstance(window, int) and window != usual and (times > 1 or len(windows) == 1) else None


def _station(station: dict[str, Any], document: dict[str, Any], names: Names) -> str:
    options = [_option(option, names) for option in station["options"]]
    text = ", or ".join(options)
    window, interval, common = station["work_window_s"], document["interval_s"], _common_window(document)
    timed = common is None and any(option["dose_kind"] == "seconds" for option in station["options"])
    usual = usual_window_s(interval) if isinstance(interval, int) else None
    if timed or window != (usual if common is None else common):
        text += f" in {_figure(window)} s"
    if station.get("closed"):
        text += ", nothing easier"
    return f"{text}; {station['note']}" if station.get("note") else text


def _option(option: dict[str, Any], names: Names) -> str:
    known = names.by_slug.get(str(option["movement"]))
    dose, least = _figure(option["dose"]), _figure(option.get("least_dose"))
    if least:
        dose = f"{least}-{dose}"
    load = ""
    if option.get("load_kg") not in (None, ""):
        load = f" at {_figure(option['load_kg'])} kg"
    elif option.get("percent") not in (None, ""):
        load = f" at {_figure(option['percent'])} %"
    elif option.get("reserve") not in (None, ""):
        load = f" at {_figure(option['reserve'])} in reserve"
    unit = UNITS.get(option["dose_kind"], "") if dose else ""
    return f"{dose}{unit} {known.name if known else option['movement']}{load}".strip()


def _whole(value: Any) -> Any:
    """Typed figures as the number they are; anything else as it is."""
    return int(value) if isinstance(value, str) and value.isdecimal() and len(value) < 6 else value


def _figure(value: Any) -> str:
    """A number without needless zeros; what was typed as it was typed."""
    if value is None:
        return ""
    return f"{round(value, 2):.10g}" if isinstance(value, int | float) else str(value)


def _time(seconds: Any) -> str:
    if not isinstance(seconds, int):
        return f"{seconds} s"
    return f"{seconds / 60:g} min" if seconds % 60 == 0 else clock(seconds)
