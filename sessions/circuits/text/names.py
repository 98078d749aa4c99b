"""Which movement a few words mean: exactly, by a guess that is shown, or not at all."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rapidfuzz import process
from rapidfuzz.distance import OSA

# How the trade shortens words, and forms that only grammar makes different.
SHORT = {
    "kb": "kettlebell", "kettle": "kettlebell", "db": "dumbbell", "dumbell": "dumbbell", "bb": "barbell",
    "wb": "wall ball", "du": "double under", "dus": "double under", "su": "single under", "t2b": "toe to bar",
    "ttb": "toe to bar", "mu": "muscle up", "hspu": "handstand push up", "pu": "pull up", "dl": "deadlift",
    "bs": "back squat", "fs": "front squat", "ohp": "overhead press", "banded": "band", "assisted": "band",
    "rower": "row", "rowing": "row", "rudern": "row", "rameur": "row", "remo": "row",
    "running": "run", "laufen": "run", "lauf": "run", "course": "run", "correr": "run",
    "skiing": "ski", "skier": "ski", "biking": "bike", "cycling": "bike", "velo": "bike", "rad": "bike", "bici": "bike",
    "liegestutz": "push up", "liegestutze": "push up", "klimmzug": "pull up", "klimmzuge": "pull up",
    "kniebeuge": "squat", "kniebeugen": "squat",
}  # fmt: skip
# Words that make no other movement of it: how it is done, which stays as a cue, and what says nothing.
MANNER = frozenset(
    ("strict", "unbroken", "hard", "easy", "steady", "smooth", "slow", "quick", "relaxed", "controlled", "alternating")
    + ("alt",)
)
HARMLESS = MANNER | {"erg", "ergometer", "the", "a", "an", "of", "on", "with"}
LIKE = 0.8  # likeness from which a guess is taken (ours); a slip in three to five letters is taken as well
NEAR = 0.5  # likeness from which it is offered
MOST_OFFERS = 4


@dataclass(frozen=True, slots=True)
class Known:
    """A movement of the gym: what it is called, and how it can be measured, the usual way first."""

    slug: str
    name: str
    kind: str
    dose_kinds: tuple[str, ...]
    other_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Match:
    """What words mean: a movement, `guessed` where they say something else, and the next nearest ones.

    `manner` are words of how it is done, which are not in its name.
    """

    movement: Known | None
    guessed: bool = False
    others: tuple[Known, ...] = ()
    manner: tuple[str, ...] = ()


class Names:
    """The names of a gym's movements."""

    def __init__(self, movements: Iterable[Known]) -> None:
        self._by_key: dict[str, Known] = {}
        self._words: dict[str, frozenset[str]] = {}
        self.by_slug: dict[str, Known] = {}
        written: set[str] = set()
        for movement in movements:
            self.by_slug[movement.slug] = movement
            for name in (movement.name, *movement.other_names):
                words = _words(name)
                if not words:
                    continue
                self._by_key.setdefault("".join(words), movement)
                self._words.setdefault("".join(words), frozenset(words))
                written.add(name)
        longest_first = sorted(written, key=len, reverse=True)
        alternatives = "|".join(re.escape(name) for name in longest_first)
        self._named = re.compile(rf"(?<!\w)(?:{alternatives})(?!\w)", re.IGNORECASE) if written else None

    def masked(self, line: str) -> str:
        """The line with each known name as one mark of the same length, so that a name may hold commas and figures."""
        if self._named is None:
            return line
        return self._named.sub(lambda found: "\ue000" + "\ue001" * (len(found[0]) - 1), line)

    def with_load(self, name: str, load_kg: float) -> Known | None:
        """The form of a movement that has this load in its name: Kettlebell swing, 24 kg."""
        return self._by_key.get("".join(_words(name)) + f"{load_kg:g}kg")

    def match(self, phrase: str, kinds: Sequence[str] = (), load_kg: float | None = None) -> Match:
        """What `phrase` means, where it is measured in one of the dose `kinds` (any, when empty)."""
        words = _words(phrase)
        if load_kg and (heavy := self.with_load(phrase, load_kg)):
            return Match(heavy)
        if found := self._by_key.get("".join(words)):
            return Match(found)
        if found := self._by_key.get("".join(word for word in words if word not in HARMLESS)):
            return Match(found, manner=tuple(word for word in words if word in MANNER))
        return self._guess([word for word in words if word not in HARMLESS] or words, kinds)

    def _guess(self, words: list[str], kinds: Sequence[str]) -> Match:
        key, asked = "".join(words), set(words)
        near: dict[str, float] = {}
        for name, likeness, _ in process.extract(key, list(self._by_key), scorer=OSA.normalized_similarity, limit=12):
            distance = round((1 - likeness) * max(len(name), len(key)))
            slip = distance == 1 and 3 <= len(key) <= 5
            near[name] = max(likeness, LIKE) if slip else likeness
        for name, its in self._words.items():
            if asked and asked <= its:
                near[name] = max(near.get(name, 0.0), LIKE + len(asked) / len(its) / 100)
            elif asked & its:
                near[name] = max(near.get(name, 0.0), NEAR + len(asked & its) / len(asked | its) / 4)

        def order(item: tuple[str, float]) -> tuple[bool, float, int, str]:
            name, likeness = item
            misfit = bool(kinds) and not set(kinds) & set(self._by_key[name].dose_kinds)
            return misfit, -round(likeness, 3), len(name), name

        ranked = [(self._by_key[name], likeness) for name, likeness in sorted(near.items(), key=order)]
        found = next((movement for movement, likeness in ranked if likeness >= LIKE), None)
        others: list[Known] = []
        for movement, likeness in ranked:
            if likeness >= NEAR and movement != found and movement not in others:
                others.append(movement)
        return Match(found, found is not None, tuple(others[:MOST_OFFERS]))


def _words(name: str) -> list[str]:
    """Words of a name without case, accents, hyphens, plurals and what the trade shortens."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    found = re.findall(r"[^\W_]+", plain)
    return [part for word in found for part in SHORT.get(word, SHORT.get(_one(word), _one(word))).split()]


def _one(word: str) -> str:
    """A word as of one: presses → press, pull-ups → pull-up."""
    if len(word) < 3 or word.endswith("ss"):
        return word
    if word.endswith(("sses", "shes", "ches", "xes")):
        return word[:-2]
    return word[:-1] if word.endswith("s") else word
