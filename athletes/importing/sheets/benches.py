"""Which benchmark a heading means: “2k Row (min)” is the one called “2000 m row”, “FS 3RM” the front squat."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from unicodedata import normalize

from athletes.importing.sheets.dates import MONTHS
from athletes.importing.sheets.names import words, words_key
from athletes.words import MILE_M

# Words that do not tell one benchmark from another. Any other word does: a name that has one which a benchmark does not
# have means another test, “Romanian deadlift” no deadlift and “2k row rank” no time.
SAY_NOTHING = frozenset(
    ("a", "the", "of", "for", "in", "to", "at", "on", "and", "test", "result", "score", "best", "max", "maximum",
     "most", "longest", "unbroken", "total", "m", "metre", "meter", "date", "day", "when", "effort", "benchmark",
     "pr", "pb", "record", "spring", "summer", "autumn", "fall", "winter", *MONTHS)
)  # fmt: skip
_TIME = frozenset(("time", "s", "sec", "second", "min", "minute"))
_COUNT = frozenset(("repetition", "count", "number", "repmax"))
# Words that say nothing of results that are measured so, and more of others: “Pull-ups (kg)” are done with a load.
OF_MEASURE = {
    "lift": frozenset(("kg", "kilo", "kilogram", "lb", "pound", "load", "weight", "rm", "repmax")),
    "repetitions": _COUNT,
    "repetitions_in_time": _COUNT | _TIME,
    "hold": _TIME | {"hold"},
}
COUNTED = ("repetitions", "repetitions_in_time", "time_for_repetitions")
# Words that a name may leave out where its numbers say enough: “10 min bike”.
LEFT_OUT = frozenset(("calorie", "distance", "fan"))
SAME = {
    "rowing": "row", "rower": "row", "ergo": "erg", "ergometer": "erg", "skiing": "ski", "skier": "ski",
    "biking": "bike", "cycling": "bike", "running": "run", "rudern": "row",
    "wdh": "repetition", "wiederholungen": "repetition", "zeit": "time", "sekunden": "second", "minuten": "minute",
    "cal": "calorie", "kcal": "calorie", "rep": "repetition", "bw": "bodyweight", "db": "dumbbell", "kb": "kettlebell",
    "bb": "barbell",
}  # fmt: skip
SHORT = {
    "sq": "squat", "bs": "back squat", "fs": "front squat", "ohs": "overhead squat", "ohp": "overhead press",
    "bp": "bench press", "dl": "deadlift", "rdl": "romanian deadlift", "pc": "power clean", "pu": "pull up",
    "hspu": "handstand push up", "bench": "bench press", "strict press": "overhead press",
    "shoulder press": "overhead press", "military press": "overhead press", "ghd sit up": "hip extension sit up",
    "air bike": "fan bike", "airbike": "fan bike", "dead lift": "deadlift",
    "mu": "muscle up", "du": "double under", "dub": "double under", "su": "single under",
    "kbs": "kettlebell swing", "wb": "wall ball", "t2b": "toe to bar", "ttb": "toe to bar",
    "c2b": "chest to bar pull up",
    "klimmzug": "pull up", "klimmzüge": "pull up", "kniebeuge": "squat", "kniebeugen": "squat",
    "bankdrücken": "bench press", "kreuzheben": "deadlift",
}  # fmt: skip
# One word that means one test, and what it leaves out (common practice).
MEANT = {
    "squat": {"back"}, "press": {"overhead"}, "clean": {"power"}, "hang": {"dead"}, "swing": {"kettlebell"},
}  # fmt: skip
_RM = re.compile(r"\b(\d{1,3})\s*-?\s*(?:rm|rep(?:etition)?s?\s*-?\s*max(?:imum)?)\b")
_REP_MAX = re.compile(r"\brep(?:etition)?\s*-?\s*max(?:imum)?\b")
_MILES = re.compile(r"\b(?:(\d+(?:[.,]\d+)?)\s*-?\s*)?miles?\b")
_GROUPED = re.compile(r"\b(\d{1,2})[.,](\d{3})(?!\d|\s*k)")
_THOUSANDS = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*-?\s*km?\b")
_MINUTES = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*-?\s*(?:minutes?|mins?|m(?=in))\b|\b(\d+):(\d\d)\b")
_YEAR = re.compile(r"\b20[1-4]\d\b(?!\s*m)")
_LOADED = re.compile(r"(?<=\d)\s*(?:kgs?|lbs?)\b")
_TOGETHER = re.compile(
    r"\b(pull|push|press|chin|sit|step|muscle|double|single|back|front|air|bench|box|wall)\s*-?\s*"
    r"(ups?|unders?|squats?|press|jumps?|balls?|sits?)\b"
)
_SHORT = re.compile(rf"\b({'|'.join(SHORT)})s?\b")
_DISTANCE = re.compile(r"\d\s*(?:k|km|m)\b|\bmiles?\b")


@dataclass(frozen=True)
class Bench:
    """A benchmark as a file is compared with it; `measure` and `fixed` as in athletes.models.Benchmark.

    `movement` holds all names of its movement, the first one first.
    """

    pk: int
    name: str
    measure: str
    fixed: float | None
    movement: tuple[str, ...] = ()


class Benches:
    """The gym's benchmarks, to be found by what people call them.

    `said` holds what a coach said of names that no likeness explains: name → id.
    """

    def __init__(self, benches: Iterable[Bench], said: Mapping[str, int] | None = None):
        self.by_id = {bench.pk: bench for bench in benches}
        self._marks = {bench.pk: list(_all_marks(bench)) for bench in self.by_id.values()}
        self._said = {words_key(name): pk for name, pk in (said or {}).items()}
        self._found: dict[str, int | None] = {}

    def find(self, text: str) -> Bench | None:
        """The one benchmark that `text` means, or None where none or several do."""
        if text not in self._found:
            key = words_key(text)
            self._found[text] = self._said[key] if key in self._said else self._meant(text)
        return self.by_id.get(self._found[text])

    def _meant(self, text: str) -> int | None:
        numbers, named = marks(text)
        if named <= _TIME:  # “2k”, where one test is that long
            long = bool(_DISTANCE.search(text.lower()))
            found = [pk for pk, own in self._marks.items() if long and own[0][0] == numbers]
        else:
            found = self._having(numbers, named)
            telling = named.difference(*OF_MEASURE.values())
            if not found and len(telling) == 1:
                found = self._having(numbers, named | MEANT.get(next(iter(telling)), frozenset()))
        return found[0] if len(found) == 1 else None

    def _having(self, numbers: frozenset[str], named: frozenset[str]) -> list[int]:
        """Those whose name has these numbers and words and no others; else those of which only words are left out that
        the numbers say, or only the numbers of something that is counted."""
        same, shorter, without = [], [], []
        for pk, every in self._marks.items():
            measure = self.by_id[pk].measure
            said = named - OF_MEASURE.get(measure, _TIME)
            if any(own == numbers and words == said for own, words in every):
                same.append(pk)
            elif numbers and any(own == numbers and said <= words <= said | LEFT_OUT for own, words in every):
                shorter.append(pk)
            elif not numbers and measure in COUNTED and any(words == said for _, words in every):
                without.append(pk)
        return same or shorter or without


def repetitions_of(text: str) -> int | None:
    """The repetitions that a heading speaks of: 5 of “Back squat 5RM”."""
    match = _RM.search(text.lower())
    return int(match[1]) if match else None


def marks(text: str) -> tuple[frozenset[str], frozenset[str]]:
    """The numbers and the words that tell a benchmark: metres, seconds, counts; without fillers."""
    text = normalize("NFC", text.lower()).replace("%", " percent ")  # a Mac writes ü as u and two dots
    text = _GROUPED.sub(r"\1\2", text)
    text = _YEAR.sub(" ", _REP_MAX.sub(" repmax ", _RM.sub(" rm ", text)))
    text = _SHORT.sub(lambda match: SHORT[match[1]], _TOGETHER.sub(r"\1 \2", text))
    text = _MILES.sub(lambda match: f" {_number(match[1] or '1') * MILE_M:.0f} m ", text)
    text = _THOUSANDS.sub(lambda match: f"{_number(match[1]) * 1000:g}", text)
    text = _LOADED.sub(" ", _MINUTES.sub(_seconds, text))
    found = words(text)
    numbers = frozenset(f"{_number(word):g}" for word in found if word[0].isdigit())
    named = {SAME.get(one, one) for one in map(_singular, found) if not one[0].isdigit()} - SAY_NOTHING
    if "erg" in named and "bike" not in named:  # alone it is a rower
        named = named - {"erg"} | (set() if "ski" in named else {"row"})
    return numbers, frozenset(named)


def _all_marks(bench: Bench) -> Iterator[tuple[frozenset[str], frozenset[str]]]:
    """The marks of its own name, and of that with each name of its movement in place of the first."""
    numbers, own = marks(bench.name)
    own -= OF_MEASURE.get(bench.measure, _TIME)
    yield numbers, own
    first = marks(bench.movement[0])[1] if bench.movement else frozenset()
    if own <= first or first <= own:
        for name in bench.movement:
            more, words_of = marks(name)
            yield numbers | more, (own - first) | words_of


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 2 and word.endswith("s") and not word.endswith("ss") else word


def _seconds(match: re.Match) -> str:
    minutes, of_clock, seconds = match.groups()
    whole = _number(minutes) * 60 if minutes else int(of_clock) * 60 + int(seconds)
    return f" {whole:g} "
