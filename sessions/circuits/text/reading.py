"""From the lines of a whiteboard to the circuit document, and to what was not understood.

A line's phrases are parted into segments by commas and by “or”. A segment is about the clock, or a station, or a swap
of the station before it, or a cue.
"""

import re
from dataclasses import dataclass, field
from itertools import accumulate
from typing import Any

from sessions.circuits.text.lines import Line, Offer, Reading, Remark
from sessions.circuits.text.names import Known, Match, Names
from sessions.circuits.text.phrases import Phrase, phrases
from sessions.circuits.text.saying import say
from sessions.circuits.text.whole import ON_THE_CLOCK, Clock, Station, document_of

MOST_LINES, MOST_LETTERS = 400, 10_000  # of a text: to be read, kept as a draft and saved
MOST_OF_A_LINE = 300  # letters
TOO_LONG = f"A circuit has at most {MOST_LINES} lines and {MOST_LETTERS:,} letters: shorten it."
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


def read(text: str, names: Names) -> Reading:
    """What a coach's text says. What is not understood is in the lines' remarks; nothing raises."""
    reader = _Reader(names)
    typed = text.splitlines()
    fit = _lines_that_fit(typed)
    lines = [reader.line(line) for line in typed[:fit]] + [_beyond(line) for line in typed[fit:]]
    document = document_of(reader.clock, reader.stations)
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
        self.clock = Clock()
        self.stations: list[Station] = []
        self._begun = False
        self._first_of_line = 0
        self._doseless: list[tuple[Station, dict[str, Any], Known | None, Phrase, Phrase]] = []

    # --- lines ---

    def line(self, text: str) -> Line:
        line = Line(text)
        if not text.strip():
            return line
        first, self._begun = not self._begun, True
        if found := _NAME.fullmatch(text) or (_QUOTED.fullmatch(text) if first else None):
            line.kind, self.clock.name = "name", found[1].strip()
        elif found := _NOTE.fullmatch(text):
            line.kind = "note"
            self.clock.notes.append(found[1])
        elif _PART.match(text):
            line.kind = "note"
            self.clock.notes.append(text.strip())
        elif found := _MEANT.fullmatch(text):
            line.kind = "note"
            self.clock.notes.append(f"meant: {(found[1] or found[2] or '').strip()}")
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
        before = self._first_of_line = len(self.stations)
        found = phrases(masked)
        timed = {phrase.kind for phrase in found} & {"every", "as_many", "for_time", "rounds", "on", "off"}
        segments = _segments(found, masked)
        listed = any(segment.swap for segment in segments)
        for segment in segments:
            self._segment(line, segment, before, timed, listed)
        self._fill_doses(line)
        line.stations = list(range(before, len(self.stations)))
        if cue and (line.stations or self.stations):
            self.stations[-1].cues.append(cue)
        elif cue:
            self.clock.notes.append(cue)
        line.kind = "station" if line.stations else "unread" if line.remarks and not timed else "clock"
        if line.stations:
            line.dose_kind = self.stations[before].options[0]["dose_kind"]
            if any(phrase.kind in OF_LOAD for phrase in found):
                line.dose_kind = "load_repetitions"
        line.remarks.sort(key=lambda remark: remark.start)

    # --- segments ---

    def _segment(self, line: Line, segment: _Segment, before: int, timed: set[str], listed: bool) -> None:
        self._time(line, segment)
        self._strays(line, segment)
        here = self.stations[before:]
        words = segment.of("word")
        if segment.of("closed") and self.stations:
            self.stations[-1].closed = True
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
            if self.stations:
                self.stations[-1].cues.append(line.text[sides.start : sides.end])

    def _time(self, line: Line, segment: _Segment) -> None:
        clock = self.clock
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

    def _only_time(self, line: Line, segment: _Segment, here: list[Station], timed: set[str]) -> bool:
        """Whether a segment without a movement is about the clock, or about the time of the station before it."""
        clock = self.clock
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
        self.clock.on_s, self.clock.off_s = pairs[0].values
        return True

    def _rest(self, line: Line, phrase: Phrase) -> None:
        if phrase.values and self.clock.on_s is not None:
            self.clock.off_s = phrase.values[-1]
        elif phrase.values and self.stations:
            self.stations[-1].rest_s = phrase.values[-1]
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
        if self.stations:
            self.stations[-1].cues.append(cue)
        else:
            self.clock.notes.append(cue)

    # --- stations ---

    def _worded(self, line: Line, segment: _Segment, here: list[Station], timed: set[str], listed: bool) -> None:
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
            here = [Station()]
            self.stations.append(here[0])
        for phrase in segment.of("within", "on"):
            here[-1].window_s = phrase.values[-1]
        for phrase in segment.of("rest"):
            here[-1].rest_s = phrase.values[-1] if phrase.values else None
        here[-1].cues += [word for word in match.manner if word not in here[-1].cues]
        self._add_option(here[-1], segment, match.movement, line, said)

    def _nameless(self, line: Line, segment: _Segment) -> None:
        """A dose of nothing keeps its place as a station."""
        line.remarks.append(_unread(segment.measures, "Say which movement: 12 cal row."))
        self.stations.append(Station())
        self._add_option(self.stations[-1], segment, None, line)

    def _add_option(
        self, station: Station, segment: _Segment, movement: Known | None, line: Line, said: str = ""
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

    def _borrow(self, station: Station, option: dict[str, Any], movement: Known | None, segment: _Segment) -> None:
        """The dose of an option that says none: the time it has, or what stands before it on the line."""
        seconds = station.window_s or self.clock.on_s
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
            listed = self.stations[self._first_of_line :]
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

    def _load(self, line: Line, station: Station, option: dict[str, Any], loads: list[Phrase]) -> None:
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
        self, line: Line, station: Station, option: dict[str, Any], movement: Known, phrase: Phrase
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
