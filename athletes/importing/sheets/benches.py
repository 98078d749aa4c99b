"""Which benchmark a heading means: “2k Row (min)” is the one called “2000 m row”."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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
    "biking": "bike", "cycling": "bike", "airbike": "bike", "running": "run", "cal": "calorie",
    "kcal": "calorie", "rep": "repetition", "bw": "bodyweight", "db": "dumbbell", "kb": "kettlebell", "bb": "barbell",
}  # fmt: skip
_RM = re.compile(r"\b(\d{1,3})\s*-?\s*rm\b")
_THOUSANDS = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*km?\b")
_MINUTES = re.compile(r"\b(\d+(?:[.,]\d+)?)\s*(?:minutes?|mins?|m(?=in))\b|\b(\d+):(\d\d)\b")
_TOGETHER = re.compile(r"\b(pull|push|chin|sit|step)\s*-?\s*(ups?)\b")
_UNITS = re.compile(r"[(\[][^)\]]*[)\]]")


@dataclass(frozen=True)
class Bench:
    """A benchmark as a file is compared with it; `measure` and `fixed` as in athletes.models.Benchmark."""

    pk: int
    name: str
    measure: str
    fixed: float | None


class Benches:
    """The gym's benchmarks, to be found by what people call them.

    `said` holds what a coach said of names that no likeness explains: name → id.
    """

    def __init__(self, benches: Iterable[Bench], said: Mapping[str, int] | None = None):
        self.by_id = {bench.pk: bench for bench in benches}
        self._marks = {bench.pk: marks(bench.name) for bench in self.by_id.values()}
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
        alike = [
            (len(named & own) / len(named | own), pk)
            for pk, (own_numbers, own) in self._marks.items()
            if numbers == own_numbers and named & own
        ]
        best = max((likeness for likeness, _ in alike), default=0.0)
        first = [pk for likeness, pk in alike if likeness == best]
        return first[0] if best >= LEAST_LIKENESS and len(first) == 1 else None


def repetitions_of(text: str) -> int | None:
    """The repetitions that a heading speaks of: 5 of “Back squat 5RM”."""
    match = _RM.search(text.lower())
    return int(match[1]) if match else None


def marks(text: str) -> tuple[frozenset[str], frozenset[str]]:
    """The numbers and the words that tell a benchmark: metres, seconds, counts; without units and fillers."""
    text = _RM.sub(" ", _UNITS.sub(" ", text.lower()))
    text = _THOUSANDS.sub(lambda match: f"{float(match[1].replace(',', '.')) * 1000:g}", text)
    text = _MINUTES.sub(_seconds, _TOGETHER.sub(r"\1 \2", text))
    found = words(text)
    numbers = frozenset(f"{float(word.replace(',', '.')):g}" for word in found if word[0].isdigit())
    named = frozenset(SAME.get(one, one) for one in map(_singular, found) if not one[0].isdigit())
    return numbers, named - SAY_NOTHING


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 2 and word.endswith("s") and not word.endswith("ss") else word


def _seconds(match: re.Match) -> str:
    minutes, of_clock, seconds = match.groups()
    whole = float(minutes.replace(",", ".")) * 60 if minutes else int(of_clock) * 60 + int(seconds)
    return f" {whole:g} "
