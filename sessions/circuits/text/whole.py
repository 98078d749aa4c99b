"""What the lines of a whiteboard add up to: what is said of the clock, the stations, and the document of both."""

from dataclasses import dataclass, field
from math import ceil
from typing import Any

from sessions.circuits.text.lines import Line, Offer, Remark
from sessions.circuits.text.phrases import Phrase
from sessions.circuits.text.saying import interval_words

USUAL_INTERVAL_S = 60
BETWEEN_SETS_S = 150  # from one set of a lift to the next where nothing is said (common practice: 2 to 3 min)
LEAST_BETWEEN_SETS_S = 60
USUAL_CAP_S = 1800  # of what is for time, where no cap is written (ours)
USUAL_ROUNDS = 4
# Seconds for one of each, on the slow side, where nothing says when it is over (common practice).
SECONDS_OF = {"kcal": 5.0, "metres": 0.28, "repetitions": 3.0, "load_repetitions": 4.0}
# What only intervals have, and what is said of it where there are none.
ON_THE_CLOCK = {
    "pairs": "In pairs needs the clock: write “every 2:00”, or take it out.",
    "open_last": "An open last round needs the clock: write “every minute”, or take it out.",
    "by_rounds": "Rounds give way on the clock only: write “every minute”, or take it out.",
}


@dataclass(slots=True)
class Station:
    """What is said of one; doses and loads as a circuit document has them."""

    options: list[dict[str, Any]] = field(default_factory=list)
    window_s: float | None = None
    rest_s: float | None = None
    cues: list[str] = field(default_factory=list)
    closed: bool = False


@dataclass(slots=True)
class Clock:
    """What is said of the whole piece; None and empty where nothing is said."""

    name: str = ""
    notes: list[str] = field(default_factory=list)
    every_s: float | None = None
    on_s: float | None = None
    off_s: float | None = None
    rounds: int | None = None
    sets: bool = False
    total: tuple[Line, Phrase] | None = None
    partners: int = 1
    headroom: float | None = None
    scaling: str = "dose"
    open_last: bool = False
    format: str = ""
    limit_s: int | None = None
    timed: list[tuple[Line, Phrase]] = field(default_factory=list)  # what stands in `ON_THE_CLOCK`


def usual_window_s(interval_s: int) -> int:
    """The work time of an interval where nothing is said: two thirds of it, in whole 5 s."""
    return min(max(5, round(interval_s * 2 / 3 / 5) * 5), 300)


def document_of(clock: Clock, stations: list[Station]) -> dict[str, Any]:
    """The circuit document. What does not fit together is said in the remarks of the lines where it stands."""
    if clock.format:
        _without_the_clock(clock)
    interval_s = _interval_s(clock, stations)
    windows = [_window_s(station, clock, interval_s) for station in stations]
    document: dict[str, Any] = {
        "name": clock.name,
        "interval_s": interval_s,
        "rotations": _rounds(clock, stations, interval_s),
        "partners": clock.partners,
        "headroom": clock.headroom,
        "scaling": clock.scaling,
        "open_last": clock.open_last,
        "notes": "\n".join(clock.notes),
        "stations": [
            {
                "work_window_s": window,
                "note": ", ".join(station.cues),
                "closed": station.closed,
                "options": station.options,
            }
            for station, window in zip(stations, windows, strict=True)
        ],
    }
    if clock.format:
        cap = USUAL_CAP_S if clock.format == "for_time" else None
        document |= {"format": clock.format, "limit_s": clock.limit_s or cap}
    return document


def _without_the_clock(clock: Clock) -> None:
    """Nothing that only intervals have is taken on: it is marked where it stands, once a line."""
    for line, phrase in clock.timed:
        says = ON_THE_CLOCK[phrase.kind]
        same = next((remark for remark in line.remarks if remark.says == says), None)
        start = phrase.start if same is None else same.start
        line.remarks = [remark for remark in line.remarks if remark is not same]
        line.remarks.append(Remark(start, phrase.end, says))
        line.remarks.sort(key=lambda remark: remark.start)
    clock.partners, clock.open_last, clock.scaling = 1, False, "dose"


def _interval_s(clock: Clock, stations: list[Station]) -> int:
    if clock.every_s:
        return round(clock.every_s)
    if clock.on_s:
        return round(clock.on_s + (clock.off_s or 0))
    rest = next((station for station in stations if station.rest_s), None)
    if rest:
        rest_s = rest.rest_s or 0.0
        return max(round((rest.window_s or _work_s(rest, rest_s)) + rest_s), 1)
    if clock.total and clock.rounds and stations:
        each = _seconds(clock.total[1]) / (clock.rounds * len(stations) * clock.partners)
        if each == int(each) and (LEAST_BETWEEN_SETS_S if clock.sets else 1) <= each:
            return int(each)
    return BETWEEN_SETS_S if clock.sets else USUAL_INTERVAL_S


def _window_s(station: Station, clock: Clock, interval_s: int) -> int:
    if station.window_s:
        return round(station.window_s)
    if clock.on_s:
        return round(clock.on_s)
    if station.rest_s and station.rest_s < interval_s:
        return round(interval_s - station.rest_s)
    seconds = [float(o["dose"]) for o in station.options if o["dose_kind"] == "seconds" and o["dose"]]
    usual = usual_window_s(interval_s)
    return max(usual, min(round(max(seconds)) + 5, interval_s)) if seconds else usual


def _rounds(clock: Clock, stations: list[Station], interval_s: int) -> int:
    if clock.total is None or not stations:
        return clock.rounds or (1 if clock.format else USUAL_ROUNDS)
    line, phrase = clock.total
    one_s = interval_s * len(stations) * clock.partners
    found = _seconds(phrase) / one_s
    if clock.rounds and found != clock.rounds:
        whole = clock.rounds * one_s
        counted = f"{clock.rounds} round{'' if clock.rounds == 1 else 's'}, {interval_words(interval_s)}"
        says = f"{counted}, are {_minutes(whole)}: {_minutes(_seconds(phrase))} does not count."
        offer = Offer(phrase.start, phrase.end, _minutes(whole), _minutes(whole))
        line.remarks.append(Remark(phrase.start, phrase.end, says, (offer,), unread=False))
        return clock.rounds
    if found == int(found):
        return int(found)
    below, above = max(int(found), 1), int(found) + 1
    nearest = below if found - below <= above - found else above
    offers = tuple(_instead(phrase, rounds * one_s, rounds) for rounds in sorted({below, above}))
    says = f"{_minutes(_seconds(phrase))} are {found:.2g} rounds: taken as {nearest}."
    line.remarks.append(Remark(phrase.start, phrase.end, says, offers, unread=False))
    return nearest


def _work_s(station: Station, rest_s: float) -> float:
    """About how long the dose of a station takes [s], where only its rest is written."""
    kind, dose = station.options[0]["dose_kind"], station.options[0]["dose"] or 0.0
    if kind == "seconds":
        return float(dose)
    if rest_s < USUAL_INTERVAL_S and kind != "metres":
        return USUAL_INTERVAL_S - rest_s
    return float(ceil(dose * SECONDS_OF[kind] / 15) * 15)


def _seconds(phrase: Phrase) -> float:
    return phrase.values[-1] * (60.0 if phrase.kind == "amount" else 1.0)


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:g} min"


def _instead(phrase: Phrase, seconds: float, rounds: int) -> Offer:
    minutes = _minutes(seconds)
    return Offer(phrase.start, phrase.end, minutes, f"{minutes}, {rounds} round{'' if rounds == 1 else 's'}")
