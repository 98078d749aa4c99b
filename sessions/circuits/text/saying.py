"""How a line was read, in a few words that stand under it."""

from typing import Any

from sessions.circuits.text.lines import Line
from sessions.circuits.text.names import Names

MEANT = ("meant", "hard", "steady", "easy", "test")
UNITS = {"kcal": " cal", "metres": " m", "seconds": " s"}


def say(line: Line, document: dict[str, Any], names: Names) -> str:
    """One line for the coach: 12–14 cal Row · a 12–14 cal Fan bike · by 0:40. Empty where there is nothing to say."""
    match line.kind:
        case "name":
            return "the name"
        case "note":
            return "what is meant" if line.text.strip().casefold().startswith(MEANT) else "a note"
        case "clock":
            return clock_words(document)
        case "station":
            timed = document.get("format", "every") == "every"
            return " — ".join(_station(document["stations"][place], names, timed) for place in line.stations)
    return ""


def clock_words(document: dict[str, Any]) -> str:
    """The whole circuit: 3 stations × 9 rounds, a minute each · in pairs."""
    stations, rounds = len(document["stations"]), document["rotations"]
    counted = f"{stations} station{'' if stations == 1 else 's'}" if stations else "no station yet"
    words = [f"{counted} × {rounds} round{'' if rounds == 1 else 's'}, {interval_words(document['interval_s'])}"]
    if document.get("format") == "for_time":
        words = [f"{counted} × {rounds} round{'' if rounds == 1 else 's'} for time"]
    if document.get("format") == "as_many":
        words = [f"{counted}, as many rounds as fit"]
    if document.get("limit_s"):
        cap = "cap " if document.get("format") == "for_time" else ""
        words.append(f"{cap}{document['limit_s'] / 60:g} min")
    if document["partners"] == 2:
        words.append("in pairs, in turns")
    if document["headroom"] is not None:
        words.append(f"{document['headroom'] * 100:g} % left on a hard day")
    if document["scaling"] == "rounds":
        words.append("rounds give way")
    if document["open_last"]:
        words.append("last round open")
    return " · ".join(words)


def interval_words(seconds: int) -> str:
    """a minute each; every 2:00; every 45 s."""
    if seconds == 60:
        return "a minute each"
    return f"every {clock(seconds)}" if seconds > 60 else f"every {seconds} s"


def clock(seconds: float) -> str:
    """Seconds as a clock shows them: 2:00."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def _station(station: dict[str, Any], names: Names, timed: bool) -> str:
    words = []
    for rung, option in enumerate(station["options"]):
        known = names.by_slug.get(option["movement"])
        mark = f"{chr(ord('a') + rung - 1)} " if rung else ""
        name = known.name if known else "?"
        words.append(f"{mark}{dose_words(option)} {name}")
    if timed:
        words.append(f"by {clock(station['work_window_s'])}")
    if station["note"]:
        words.append(f"“{station['note']}”")
    if station["closed"]:
        words.append("nothing easier")
    return " · ".join(words)


def dose_words(option: dict[str, Any]) -> str:
    """7–9 × 24 kg; 12–14 cal."""
    if option["dose"] is None:
        return ""
    dose = f"{option['dose']:g}"
    if option["least_dose"] is not None:
        dose = f"{option['least_dose']:g}–{dose}"
    text = dose + UNITS.get(option["dose_kind"], "")
    if option["load_kg"] is not None:
        return f"{text} × {option['load_kg']:g} kg"
    if option["percent"] is not None:
        return f"{text} × {option['percent']:g} %"
    return text if option["reserve"] is None else f"{text}, {option['reserve']:g} in reserve"
