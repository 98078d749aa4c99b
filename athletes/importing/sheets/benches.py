"""Which benchmark a heading means: “2k Row (min)” is the one called “2000 m row”, “FS 3RM” the front squat."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from unicodedata import normalize

from athletes.importing.sheets.names import words, words_key

LEAST_LIKENESS = 0.5  # of the words, beside equal numbers (ours)
# Words that do not tell one benchmark from another.
SAY_NOTHING = frozenset(
    ("a", "the", "of", "for", "in", "to", "at", "on", "and", "test", "time", "result", "score", "best", "max",
     "maximum", "most", "unbroken", "total", "m", "metre", "meter", "s", "sec", "second", "min", "kg", "lb", "lbs",
     "pound", "date", "day", "effort")
)  # fmt: skip
SAME = {
    "rowing": "row", "rower": "row", "erg": "row", "ergo": "row", "skiing": "ski", "skier": "ski",
    "biking": "bike", "cycling": "bike", "airbike": "bike", "running": "run", "rudern": "row",
    "cal": "calorie", "kcal": "calorie", "rep": "repetition", "bw": "bodyweight", "db": "dumbbell", "kb": "kettlebell",
    "bb": "barbell",
}  # fmt: skip
# How the trade shortens what it tests (common practice); a gym's own short names are other names of its movements.
SHORT = {
    "sq": "squat", "bs": "back squat", "fs": "front squat", "ohs": "overhead squat", "ohp": "overhead press",
    "bp": "bench press", "dl": "deadlift", "rdl": "romanian deadlift", "pc": "power clean", "pu": "pull up",
    "hspu": "handstand push up",
    "mu": "muscle up", "du": "double under", "kbs": "kettlebell swing", "wb": "wall ball", "t2b": "toe to bar",
    "ttb": "toe to bar", "c2b": "chest to bar pull up",
    "klimmzug": "pull up", "klimmzüge": "pull up", "kniebeuge": "squat", "kniebeugen": "squat",
    "bankdrücken": "bench press", "kreuzheben": "deadlift",
}  # fmt: skip
# One word that means one lift where several have it (common practice).
MEANT = {"squat": {"back", "squat"}, "press": {"overhead", "press"}, "clean": {"power", "clean"}}
_RM = re.compile(r"\b(\d{1,3})\s*-?\s*rm\b")
_REP_MAX = re.compile(r"\brep(?:etition)?\s*-?\s*max(?:imum)?\b")
_THOUSANDS = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*km?\b")
_MINUTES = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*(?:minutes?|mins?|m(?=in))\b|\b(\d+):(\d\d)\b")
_TOGETHER = re.compile(r"\b(pull|push|chin|sit|step)\s*-?\s*(ups?)\b")
_UNITS = re.compile(r"[(\[][^)\]]*[)\]]")
_SHORT = re.compile(rf"\b({'|'.join(SHORT)})s?\b")
_DISTANCE_ALONE = re.compile(r"\s*\d+(?:[.,]\d+)?\s*(?:k|km|m)\s*")


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
        self._found: dict[str, int | None] = {}
        for name, pk in (said or {}).items():
            self._found[words_key(name)] = pk if pk in self.by_id else None

    def find(self, text: str) -> Bench | None:
        """The one benchmark that `text` means, or None where none or several do."""
        key = words_key(text)
        if key not in self._found:
            self._found[key] = self._likest(text)
        return self.by_id.get(self._found[key])

    def _likest(self, text: str) -> int | None:
        numbers, named = marks(text)
        if not named and _DISTANCE_ALONE.fullmatch(_UNITS.sub(" ", text.lower())):  # “2k”, where one test is that long
            same = [pk for pk, own in self._marks.items() if own[0][0] == numbers]
            return same[0] if len(same) == 1 else None
        found = self._alike(numbers, named)
        meant = MEANT.get(next(iter(named))) if len(found) > 1 and len(named) == 1 else None
        if meant:
            found = self._alike(numbers, frozenset(meant))
        return found[0] if len(found) == 1 else None

    def _alike(self, numbers: frozenset[str], named: frozenset[str]) -> list[int]:
        """Those that are likest, each by the name of it that is."""
        alike = {
            pk: max((len(named & words) / len(named | words) for own, words in every if own == numbers), default=0.0)
            for pk, every in self._marks.items()
            if named
        }
        best = max(alike.values(), default=0.0)
        return [pk for pk, likeness in alike.items() if likeness == best] if best >= LEAST_LIKENESS else []


def repetitions_of(text: str) -> int | None:
    """The repetitions that a heading speaks of: 5 of “Back squat 5RM”."""
    match = _RM.search(text.lower())
    return int(match[1]) if match else None


def marks(text: str) -> tuple[frozenset[str], frozenset[str]]:
    """The numbers and the words that tell a benchmark: metres, seconds, counts; without units and fillers."""
    text = normalize("NFC", text.lower())  # a Mac writes ü as u and two dots
    text = _REP_MAX.sub(" ", _RM.sub(" ", _UNITS.sub(" ", text)))
    text = _SHORT.sub(lambda match: SHORT[match[1]], text)
    text = _THOUSANDS.sub(lambda match: f"{float(match[1].replace(',', '.')) * 1000:g}", text)
    text = _MINUTES.sub(_seconds, _TOGETHER.sub(r"\1 \2", text))
    found = words(text)
    numbers = frozenset(f"{float(word.replace(',', '.')):g}" for word in found if word[0].isdigit())
    named = frozenset(SAME.get(one, one) for one in map(_singular, found) if not one[0].isdigit())
    return numbers, named - SAY_NOTHING


def _all_marks(bench: Bench) -> Iterator[tuple[frozenset[str], frozenset[str]]]:
    """The marks of its own name, and of that with each other name of its movement in place of the first."""
    numbers, own = marks(bench.name)
    yield numbers, own
    if bench.movement:
        first = marks(bench.movement[0])[1]
        for other in bench.movement[1:]:
            more, words_of = marks(other)
            yield numbers | more, (own - first if first <= own else frozenset()) | words_of


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 2 and word.endswith("s") and not word.endswith("ss") else word


def _seconds(match: re.Match) -> str:
    minutes, of_clock, seconds = match.groups()
    whole = float(minutes.replace(",", ".")) * 60 if minutes else int(of_clock) * 60 + int(seconds)
    return f" {whole:g} "
