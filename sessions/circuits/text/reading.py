"""From the lines of a whiteboard to the circuit document, and to what was not understood.

A line's phrases are parted into segments by commas and by “or”. A segment is about the clock, or a station, or a swap
of the station before it, or a cue.
"""

import re
from dataclasses import dataclass, field
from itertools import accumulate
from math import ceil
from typing import Any

from sessions.circuits.text.lines import Line, Offer, Reading, Remark
from sessions.circuits.text.names import Known, Match, Names
from sessions.circuits.text.phrases import Phrase, phrases
from sessions.circuits.text.saying import interval_words, say

USUAL_INTERVAL_S = 60
BETWEEN_SETS_S = 150  # from one set of a lift to the next where nothing is said (common practice: 2 to 3 min)
LEAST_BETWEEN_SETS_S = 60
USUAL_CAP_S = 1800  # of what is for time, where no cap is written (ours)
USUAL_ROUNDS = 4
MOST_LINES, MOST_LETTERS = 400, 10_000  # of a text: to be read, kept as a draft and saved
MOST_OF_A_LINE = 300  # letters
TOO_LONG = f"A circuit has at most {MOST_LINES} lines and {MOST_LETTERS:,} letters: shorten it."
# Seconds for one of each, on the slow side, where nothing says when it is over (common practice).
SECONDS_OF = {"kcal": 5.0, "metres": 0.28, "repetitions": 3.0, "load_repetitions": 4.0}
DOSE_KINDS = {"calories": "kcal", "metres": "metres", "repetitions": "repetitions", "duration": "seconds"}
CLOCK = [
    "every",
    "rounds",
    "sets",
    "off",
    "lasts",
    "cap",
    "for_time",
    "as_many",
    "pairs",
    "open_last",
    "left",
    "by_rounds",
    "by_dose",
]
OF_LOAD = ("load", "percent", "reserve")
# What only intervals have, and what is said of it where there are none.
ON_THE_CLOCK = {
    "pairs": "In pairs needs the clock: write “every 2:00”, or take it out.",
    "open_last": "An open last round needs the clock: write “every minute”, or take it out.",
    "by_rounds": "Rounds give way on the clock only: write “every minute”, or take it out.",
}

_NAME = re.compile(r"\s*(?:name|title)\s*:\s*(.*)", re.IGNORECASE)
_QUOTED = re.compile(r"\s*[\"“„«](.+)[\"”“»]\s*")
_NOTE = re.compile(r"\s*(?:notes?|notiz(?:en)?|nota)\s*:\s?(.*)", re.IGNORECASE)
_PART = re.compile(r"\s*(?:warm-?\s?up|cool-?\s?down|briefing|scaling)\s*:", re.IGNORECASE)
_MEANT = re.compile(r"\s*(?:meant\s*:\s*(.*)|((?:hard|steady|easy|test)(?: day)?\s*[;:,].*))", re.IGNORECASE)
_NUMBERING = re.compile(
    r"\s*(?:[-–•*]\s+|\(?\d{1,2}[.)](?:\s+|$)|[a-h]\d?[.)]\s*|(?:station|minute|min)\s*\d{1,2}\s*[:.)-]\s*)",
    re.IGNORECASE,
)
_LOAD_ASIDE = re.compile(r"\((\s*@?\s*[\d.,/]+\s*(?:kg|kgs|lbs?|#|%)\s*)\)", re.IGNORECASE)
_OTHERWISE = re.compile(r"\((\s*(?:or|oder|ou)\b[^()]*)\)", re.IGNORECASE)


def usual_window_s(interval_s: int) -> int:
    """The work time of an interval where nothing is said: two thirds of it, in whole 5 s."""
    return min(max(5, round(interval_s * 2 / 3 / 5) * 5), 300)


@dataclass(slots=True)
class _Segment:
    """Phrases between two commas; `swap` after an “or”."""

    swap: bool = False
    phrases: list[Phrase] = field(default_factory=list)

    def of(self, *kinds: str) -> list[Phrase]:
        return [phrase for phrase in self.phrases if phrase.kind in kinds]

    @property
    def measures(self) -> list[Phrase]:
        return self.of("amount", "times", *DOSE_KINDS)


@dataclass(slots=True)
class _Station:
    options: list[dict[str, Any]] = field(default_factory=list)
    window_s: float | None = None
    rest_s: float | None = None
    cues: list[str] = field(default_factory=list)
    closed: bool = False


@dataclass(slots=True)
class _Clock:
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


def read(text: str, names: Names) -> Reading:
    """What a coach's text says. What is not understood is in the lines' remarks; nothing raises."""
    reader = _Reader(names)
    typed = text.splitlines()
    fit = _lines_that_fit(typed)
    lines = [reader.line(line) for line in typed[:fit]] + [_beyond(line) for line in typed[fit:]]
    document = reader.document()
    for line in lines:
        line.said = say(line, document, names)
    return Reading(document, tuple(lines))


def too_long(text: str) -> bool:
    """Whether a text is more than is read of one: then it is neither kept as a draft nor saved."""
    typed = text.splitlines()
    return _lines_that_fit(typed) < len(typed)


def _lines_that_fit(typed: list[str]) -> int:
    ends = accumulate(len(line) + 1 for line in typed[:MOST_LINES])
    return sum(end <= MOST_LETTERS + 1 for end in ends)


def _beyond(text: str) -> Line:
    remarks = [Remark(0, len(text), f"This is not read. {TOO_LONG}")] if text.strip() else []
    return Line(text, kind="unread" if remarks else "blank", remarks=remarks)


class _Reader:
    def __init__(self, names: Names) -> None:
        self._names = names
        self._clock = _Clock()
        self._stations: list[_Station] = []
        self._begun = False
        self._first_of_line = 0
        self._doseless: list[tuple[_Station, dict[str, Any], Known | None, Phrase, Phrase]] = []

    # --- lines ---

    def line(self, text: str) -> Line:
        line = Line(text)
        if not text.strip():
            return line
        first, self._begun = not self._begun, True
        if found := _NAME.fullmatch(text) or (_QUOTED.fullmatch(text) if first else None):
            line.kind, self._clock.name = "name", found[1].strip()
        elif found := _NOTE.fullmatch(text):
            line.kind = "note"
            self._clock.notes.append(found[1])
        elif _PART.match(text):
            line.kind = "note"
            self._clock.notes.append(text.strip())
        elif found := _MEANT.fullmatch(text):
            line.kind = "note"
            self._clock.notes.append(f"meant: {(found[1] or found[2] or '').strip()}")
        else:
            self._phrases(line)
        return line

    def _phrases(self, line: Line) -> None:
        text, cue = line.text[:MOST_OF_A_LINE], ""
        if len(line.text) > MOST_OF_A_LINE:
            line.remarks.append(Remark(MOST_OF_A_LINE, len(line.text), "The line is too long: begin a new one."))
        masked = self._names.masked(text)
        if numbering := _NUMBERING.match(masked):
            masked = " " * numbering.end() + masked[numbering.end() :]
        masked = _LOAD_ASIDE.sub(lambda found: f" {found[1]} ", masked)  # 15 swings (24 kg)
        masked = _OTHERWISE.sub(lambda found: f",{found[1]} ", masked)  # 12 cal row (or 10 cal ski)
        if ";" in masked:
            end = masked.index(";")
            masked, cue = masked[:end], text[end + 1 :].strip()
        before = self._first_of_line = len(self._stations)
        found = phrases(masked)
        timed = {phrase.kind for phrase in found} & {"every", "as_many", "for_time", "rounds", "on", "off"}
        segments = _segments(found, masked)
        listed = any(segment.swap for segment in segments)
        for segment in segments:
            self._segment(line, segment, before, timed, listed)
        self._fill_doses(line)
        line.stations = list(range(before, len(self._stations)))
        if cue and (line.stations or self._stations):
            self._stations[-1].cues.append(cue)
        elif cue:
            self._clock.notes.append(cue)
        line.kind = "station" if line.stations else "unread" if line.remarks and not timed else "clock"
        if line.stations:
            line.dose_kind = self._stations[before].options[0]["dose_kind"]
            if any(phrase.kind in OF_LOAD for phrase in found):
                line.dose_kind = "load_repetitions"
        line.remarks.sort(key=lambda remark: remark.start)

    # --- segments ---

    def _segment(self, line: Line, segment: _Segment, before: int, timed: set[str], listed: bool) -> None:
        self._time(line, segment)
        self._strays(line, segment)
        here = self._stations[before:]
        words = segment.of("word")
        if segment.of("closed") and self._stations:
            self._stations[-1].closed = True
        if words:
            self._worded(line, segment, here, timed, listed)
        elif segment.swap and segment.measures and here:
            self._add_option(here[-1], segment, self._known(here[-1].options[-1]["movement"]), line)
        elif segment.measures and self._doseless and here:
            self._doseless[-1][1].update(_dose(segment.measures[0], self._doseless[-1][2]))  # Row, 12 calories
        elif self._work_and_rest(segment, timed) or self._only_time(line, segment, here, timed):
            pass
        elif segment.measures:
            self._nameless(line, segment)
        elif loads := segment.of(*OF_LOAD):
            if here:
                self._load(line, here[-1], here[-1].options[-1], loads)
            else:
                line.remarks.append(_unread(loads, "Say which movement it is for."))
        for aside in segment.of("aside"):
            self._aside(line, aside)
        for sides in segment.of("sides"):
            if self._stations:
                self._stations[-1].cues.append(line.text[sides.start : sides.end])

    def _time(self, line: Line, segment: _Segment) -> None:
        clock = self._clock
        clock.timed += [(line, phrase) for phrase in segment.of(*ON_THE_CLOCK)]
        if not segment.of("word", *OF_LOAD):
            for phrase in segment.of("times"):
                clock.rounds = round(phrase.values[-1])
        for phrase in segment.of(*CLOCK):
            value = phrase.values[-1] if phrase.values else 0.0
            match phrase.kind:
                case "every":
                    clock.every_s = value
                case "rounds" | "sets":
                    clock.rounds, clock.sets = round(value), clock.sets or phrase.kind == "sets"
                case "off":
                    clock.off_s = value
                case "cap":
                    clock.limit_s, clock.format = round(value), clock.format or "for_time"
                case "for_time" | "as_many":
                    clock.format = phrase.kind
                case "pairs":
                    clock.partners = 2
                case "open_last":
                    clock.open_last = True
                case "left":
                    clock.headroom = round(value / 100, 4)
                case "by_rounds" | "by_dose":
                    clock.scaling = phrase.kind.removeprefix("by_")

    def _only_time(self, line: Line, segment: _Segment, here: list[_Station], timed: set[str]) -> bool:
        """Whether a segment without a movement is about the clock, or about the time of the station before it."""
        clock = self._clock
        lasts = segment.of("lasts", "duration") + (segment.of("within") if not here else [])
        if "as_many" in timed or "every" in timed:
            lasts += segment.of("amount") if not here else []
        for phrase in segment.of("on"):
            clock.on_s = phrase.values[-1]
        for phrase in segment.of("rest"):
            self._rest(line, phrase)
        if segment.of("times"):
            return True  # x 8: so many rounds
        if here and (within := segment.of("within", "duration")):
            here[-1].window_s = within[-1].values[-1]
            return True
        if lasts:
            seconds = lasts[-1].values[-1] * (60.0 if lasts[-1].kind == "amount" else 1.0)
            if clock.format:
                clock.limit_s = round(seconds)
            else:
                clock.total = (line, lasts[-1])
            return True
        return bool(segment.of("on", "rest"))

    def _work_and_rest(self, segment: _Segment, timed: set[str]) -> bool:
        """40/20 x 8 rounds: 40 s of work, 20 s of rest."""
        pairs = [phrase for phrase in segment.of("amount") if phrase.slash]
        if not pairs or "rounds" not in timed:
            return False
        self._clock.on_s, self._clock.off_s = pairs[0].values
        return True

    def _rest(self, line: Line, phrase: Phrase) -> None:
        if phrase.values and self._clock.on_s is not None:
            self._clock.off_s = phrase.values[-1]
        elif phrase.values and self._stations:
            self._stations[-1].rest_s = phrase.values[-1]
        else:
            says = "Rest belongs to an interval: say how long it is and after which station (12 cal row, rest 20 s)."
            line.remarks.append(_unread([phrase], says))

    def _strays(self, line: Line, segment: _Segment) -> None:
        for phrase in segment.of("plus"):
            says = "Two movements in one interval are not possible yet: each stands as a station of its own."
            line.remarks.append(_unread([phrase], says))
        for phrase in segment.of("pace"):
            line.remarks.append(_unread([phrase], "Everyone gets a pace of their own: this one is not read."))
        for phrase in segment.of("ladder"):
            line.remarks.append(_unread([phrase], "A station has one dose: write a line for each."))
        together: list[Phrase] = []
        for phrase in [*segment.of("stray"), Phrase("", 10**6, 10**6)]:
            if together and phrase.start > together[-1].end + 1:
                line.remarks.append(_unread(together, "This is not understood."))
                together = []
            together.append(phrase)

    def _aside(self, line: Line, aside: Phrase) -> None:
        cue = line.text[aside.start + 1 : aside.end - 1].strip()
        if self._stations:
            self._stations[-1].cues.append(cue)
        else:
            self._clock.notes.append(cue)

    # --- stations ---

    def _worded(self, line: Line, segment: _Segment, here: list[_Station], timed: set[str], listed: bool) -> None:
        """A segment with words: a station, a swap, or a cue."""
        words, measures = segment.of("word"), segment.measures
        kinds = self._kinds(segment)
        loads = segment.of("load") or [phrase for phrase in segment.of("amount")[1:] if phrase.slash]
        start, end = words[0].start, words[-1].end
        said = " ".join(line.text[word.start : word.end] for word in words)
        if "-" in said and end - start == len(said):
            said = line.text[start:end]
        match = self._names.match(said, kinds, loads[0].values[0] if loads else None)
        if not (measures or match.movement or segment.swap or segment.of("within", "on")):
            if here:
                here[-1].cues.append(said)
            else:
                offers = tuple(Offer(start, end, other.name, other.name) for other in match.others)
                line.remarks.append(Remark(start, end, "This is not understood.", offers))
            return
        if match.guessed and not measures and not segment.swap and here and not listed:
            here[-1].cues.append(said)  # “crisp hips” after a comma is no hip extension
            return
        if match.movement is None or match.guessed:
            line.remarks.append(_unknown(start, end, said, match))
        swap = here and (segment.swap or (listed and not measures))
        if not swap:
            here = [_Station()]
            self._stations.append(here[0])
        for phrase in segment.of("within", "on"):
            here[-1].window_s = phrase.values[-1]
        for phrase in segment.of("rest"):
            here[-1].rest_s = phrase.values[-1] if phrase.values else None
        here[-1].cues += [word for word in match.manner if word not in here[-1].cues]
        self._add_option(here[-1], segment, match.movement, line, said)

    def _nameless(self, line: Line, segment: _Segment) -> None:
        """A dose of nothing keeps its place as a station."""
        line.remarks.append(_unread(segment.measures, "Say which movement: 12 cal row."))
        self._stations.append(_Station())
        self._add_option(self._stations[-1], segment, None, line)

    def _add_option(
        self, station: _Station, segment: _Segment, movement: Known | None, line: Line, said: str = ""
    ) -> None:
        """One more option, the first or a swap. What the gym has no movement for keeps the words that were `said`."""
        measures = list(segment.measures)
        loads = segment.of(*OF_LOAD)
        dosed = next((m for m in measures if m.kind != "duration"), measures[0] if measures else None)
        for other in [m for m in measures if m is not dosed]:
            if other.kind == "duration":
                station.window_s = other.values[-1]
            elif other.kind == "amount" and not loads:
                loads = [other]
            else:
                line.remarks.append(_unread([other], "Which of the numbers is the dose?"))
        option = _empty(movement.slug if movement else said)
        if dosed:
            option |= _dose(dosed, movement)
        else:
            self._borrow(station, option, movement, segment)
        station.options.append(option)
        if loads:
            self._load(line, station, option, loads)

    def _borrow(self, station: _Station, option: dict[str, Any], movement: Known | None, segment: _Segment) -> None:
        """The dose of an option that says none: the time it has, or what stands before it on the line."""
        seconds = station.window_s or self._clock.on_s
        if not station.options and seconds and movement and movement.kind in ("engine", "hold"):
            option |= {"dose": seconds, "dose_kind": "seconds"}
            return
        option["dose_kind"] = movement.dose_kinds[0] if movement else "repetitions"
        words = segment.of("word")
        self._doseless.append((station, option, movement, words[0], words[-1]))

    def _fill_doses(self, line: Line) -> None:
        """Options without a dose take that of their neighbour on the line: the one before, else the one after."""
        for station, option, movement, first, last in self._doseless:
            if option["dose"] is not None:
                continue
            place = next(n for n, other in enumerate(station.options) if other is option)
            listed = self._stations[self._first_of_line :]
            above = listed[: next(n for n, other in enumerate(listed) if other is station)]
            before = station.options[:place][::-1] or [other for near in above[-1:] for other in near.options[:1]]
            for other in [*before, *station.options[place + 1 :]]:
                kind = _kind_of(other["dose_kind"], movement)
                if movement and other["dose"] is not None and kind in movement.dose_kinds:
                    option |= {"dose": other["dose"], "least_dose": other["least_dose"], "dose_kind": kind}
                    break
            else:
                says = f"Say how much: {_example(movement)}." if movement else "Say how much."
                line.remarks.append(Remark(first.start, last.end, says))
        self._doseless.clear()

    def _load(self, line: Line, station: _Station, option: dict[str, Any], loads: list[Phrase]) -> None:
        """The load of an option; a lighter one behind a stroke, or the foot of a range, becomes a swap of its own."""
        phrase, *more = loads
        if more:
            line.remarks.append(_unread(more, "One load is enough: in kg, in %, or in reserve."))
        movement = self._known(option["movement"])
        if movement is None:
            return  # the line is not understood yet
        values = sorted(phrase.values, reverse=True)
        if movement.kind != "loaded":
            self._heavier_forms(line, station, option, movement, phrase)
            return
        option["dose_kind"] = "load_repetitions"
        name = phrase.kind if phrase.kind in ("percent", "reserve") else "load_kg"
        option[name] = round(values[0], 2)
        if len(values) > 1 and values[1] < values[0]:
            station.options.append({**option, name: round(values[1], 2)})

    def _heavier_forms(
        self, line: Line, station: _Station, option: dict[str, Any], movement: Known, phrase: Phrase
    ) -> None:
        """Loads of a movement that has one by its name: the lighter form as a swap. Any other load is a cue.

        Bare figures of what has no load are not understood: they may be inches, or a height.
        """
        base = re.sub(r",? \d.*$", "", movement.name)
        values = sorted(phrase.values, reverse=True)
        forms = [form for form in (self._names.with_load(base, value) for value in values) if form]
        if phrase.kind in ("load", "amount") and len(forms) == len(values):
            option["movement"] = forms[0].slug
            for form in forms[1:]:
                if form.slug != option["movement"]:
                    station.options.append({**option, "movement": form.slug})
            return
        if phrase.kind == "amount":
            says = f"{movement.name} has no load here. Take it out, or write it behind a “;” as a cue."
            line.remarks.append(_unread([phrase], says))
            return
        unit = {"percent": " %", "reserve": " in reserve"}.get(phrase.kind, " kg")
        station.cues.append("at " + "/".join(f"{value:g}" for value in values) + unit)

    def _known(self, slug: str) -> Known | None:
        return self._names.by_slug.get(slug)

    def _kinds(self, segment: _Segment) -> tuple[str, ...]:
        """The dose kinds that the figures of a segment speak for."""
        if segment.of(*OF_LOAD):
            return ("load_repetitions",)
        kinds = {DOSE_KINDS[m.kind] for m in segment.measures if m.kind in DOSE_KINDS and m.kind != "duration"}
        if kinds:
            return tuple(kinds)
        return ("repetitions",) if segment.of("amount", "times") else ("seconds",) if segment.of("duration") else ()

    # --- the whole ---

    def document(self) -> dict[str, Any]:
        clock, stations = self._clock, self._stations
        if clock.format:
            self._without_the_clock()
        interval_s = self._interval_s()
        windows = [self._window_s(station, interval_s) for station in stations]
        document: dict[str, Any] = {
            "name": clock.name,
            "interval_s": interval_s,
            "rotations": self._rounds(interval_s),
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

    def _without_the_clock(self) -> None:
        """Nothing that only intervals have is taken on: it is marked where it stands, once a line."""
        clock = self._clock
        for line, phrase in clock.timed:
            says = ON_THE_CLOCK[phrase.kind]
            same = next((remark for remark in line.remarks if remark.says == says), None)
            start = phrase.start if same is None else same.start
            line.remarks = [remark for remark in line.remarks if remark is not same]
            line.remarks.append(Remark(start, phrase.end, says))
            line.remarks.sort(key=lambda remark: remark.start)
        clock.partners, clock.open_last, clock.scaling = 1, False, "dose"

    def _interval_s(self) -> int:
        clock = self._clock
        if clock.every_s:
            return round(clock.every_s)
        if clock.on_s:
            return round(clock.on_s + (clock.off_s or 0))
        rest = next((station for station in self._stations if station.rest_s), None)
        if rest:
            rest_s = rest.rest_s or 0.0
            return max(round((rest.window_s or _work_s(rest, rest_s)) + rest_s), 1)
        if clock.total and clock.rounds and self._stations:
            each = _seconds(clock.total[1]) / (clock.rounds * len(self._stations) * clock.partners)
            if each == int(each) and (LEAST_BETWEEN_SETS_S if clock.sets else 1) <= each:
                return int(each)
        return BETWEEN_SETS_S if clock.sets else USUAL_INTERVAL_S

    def _window_s(self, station: _Station, interval_s: int) -> int:
        if station.window_s:
            return round(station.window_s)
        if self._clock.on_s:
            return round(self._clock.on_s)
        if station.rest_s and station.rest_s < interval_s:
            return round(interval_s - station.rest_s)
        seconds = [float(o["dose"]) for o in station.options if o["dose_kind"] == "seconds" and o["dose"]]
        usual = usual_window_s(interval_s)
        return max(usual, min(round(max(seconds)) + 5, interval_s)) if seconds else usual

    def _rounds(self, interval_s: int) -> int:
        clock = self._clock
        if clock.total is None or not self._stations:
            return clock.rounds or (1 if clock.format else USUAL_ROUNDS)
        line, phrase = clock.total
        one_s = interval_s * len(self._stations) * clock.partners
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


def _segments(found: list[Phrase], masked: str) -> list[_Segment]:
    segments = [_Segment()]
    for place, phrase in enumerate(found):
        if phrase.kind not in ("comma", "alternative"):
            if phrase.kind == "plus":
                segments.append(_Segment())
            segments[-1].phrases.append(phrase)
            continue
        # A stroke before another dose parts two stations: 12 cal row / 10 push-ups.
        stroke = masked[phrase.start] in "/|"
        after = next((p for p in found[place + 1 :] if p.kind not in ("comma", "alternative")), None)
        swap = phrase.kind == "alternative" and not (stroke and after and after.kind != "word")
        if segments[-1].phrases:
            segments.append(_Segment())
        segments[-1].swap = segments[-1].swap or swap
    return [segment for segment in segments if segment.phrases]


def _empty(slug: str) -> dict[str, Any]:
    return {
        "movement": slug,
        "dose_kind": "repetitions",
        "dose": None,
        "least_dose": None,
        "load_kg": None,
        "percent": None,
        "reserve": None,
    }


def _dose(phrase: Phrase, movement: Known | None) -> dict[str, Any]:
    """The dose of a phrase: top and foot. 10/8 is 10 with 8 as the least that is still it."""
    values = sorted(round(value, 2) for value in phrase.values)
    kind = DOSE_KINDS.get(phrase.kind) or (movement.dose_kinds[0] if movement else "repetitions")
    least = values[0] if len(values) > 1 and values[0] < values[-1] else None
    return {"dose": values[-1], "least_dose": least, "dose_kind": _kind_of(kind, movement)}


def _work_s(station: _Station, rest_s: float) -> float:
    """About how long the dose of a station takes [s], where only its rest is written."""
    kind, dose = station.options[0]["dose_kind"], station.options[0]["dose"] or 0.0
    if kind == "seconds":
        return float(dose)
    if rest_s < USUAL_INTERVAL_S and kind != "metres":
        return USUAL_INTERVAL_S - rest_s
    return float(ceil(dose * SECONDS_OF[kind] / 15) * 15)


def _kind_of(kind: str, movement: Known | None) -> str:
    """Repetitions of what is lifted are load × repetitions."""
    if movement and kind in ("repetitions", "load_repetitions"):
        return "load_repetitions" if movement.kind == "loaded" else "repetitions"
    return kind


def _unread(found: list[Phrase], says: str) -> Remark:
    return Remark(found[0].start, found[-1].end, says)


def _unknown(start: int, end: int, said: str, match: Match) -> Remark:
    """A movement that was guessed, or that the gym does not have."""
    offers = tuple(Offer(start, end, other.name, other.name) for other in match.others)
    if match.movement:
        return Remark(start, end, f"read as: {match.movement.name}", offers, unread=False, movement=said)
    return Remark(start, end, f"No “{said}” here yet.", offers, movement=said)


def _example(movement: Known) -> str:
    units = {"kcal": "12 cal", "metres": "200 m", "seconds": "30 s"}
    return f"{units.get(movement.dose_kinds[0], '10')} {movement.name}"


def _seconds(phrase: Phrase) -> float:
    return phrase.values[-1] * (60.0 if phrase.kind == "amount" else 1.0)


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:g} min"


def _instead(phrase: Phrase, seconds: float, rounds: int) -> Offer:
    minutes = _minutes(seconds)
    return Offer(phrase.start, phrase.end, minutes, f"{minutes}, {rounds} round{'' if rounds == 1 else 's'}")
