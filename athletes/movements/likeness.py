"""What a movement that was only named is likely to be: by the nearest movement of the gym, else by words of its name.

Common practice: the figures are those of the middle of a mixed gym, as in the demo gym's list. A coach can change all
of them on the page of the movement.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from rapidfuzz import process
from rapidfuzz.distance import OSA

REPETITIONS, LOADED, HOLD, ENGINE = "repetitions", "loaded", "hold", "engine"
BODY = {"whole_body": 0.5}


@dataclass(frozen=True)
class Guess:
    """Values for a new movement; `like` names the movement they were taken from, empty where only words spoke."""

    kind: str
    engine: str = ""
    involvement: dict[str, float] = field(default_factory=lambda: dict(BODY))
    setup_s: float = 3.0
    seconds_per_repetition: float = 2.5
    typical_best: float = 20.0
    typical_spread: float = 0.5
    paced: bool = False
    needs_skill: bool = False
    high_eccentric: bool = False
    introductory: int = 30
    like: str = ""

    @property
    def kind_words(self) -> str:
        """repetitions, like Box jump."""
        names = {
            REPETITIONS: "repetitions",
            LOADED: "load × repetitions",
            HOLD: "seconds of hold",
            ENGINE: "machine or run",
        }
        return names[self.kind] + (f", like {self.like}" if self.like else "")

    @property
    def words(self) -> str:
        """repetitions, like Box jump, 2.6 s each."""
        each = f", {self.seconds_per_repetition:g} s each" if self.kind in (REPETITIONS, LOADED) else ""
        return self.kind_words + each


HINGE, PRESS = {"hinge": 1.0, "grip": 0.5, "trunk": 0.4}, {"push": 1.0, "trunk": 0.3}

# Words from the most to the least telling, and what is done by whoever's name has one of them.
WORDS: tuple[tuple[str, Guess], ...] = (
    ("run sprint jog shuttle", Guess(ENGINE, "run", {"squat": 0.25, "whole_body": 0.7}, 5.0)),
    ("bike cycle ride spin", Guess(ENGINE, "bike", {"squat": 0.25, "push": 0.25, "whole_body": 0.8}, 4.0)),
    ("ski", Guess(ENGINE, "ski", {"pull": 0.6, "hinge": 0.5, "trunk": 0.6, "grip": 0.3, "whole_body": 0.7}, 4.0)),
    ("burpee sprawl", Guess(REPETITIONS, "", {"push": 0.4, "squat": 0.4, "trunk": 0.3, "whole_body": 1.0}, 1.0, 4.0, 11,
                            paced=True, needs_skill=True)),
    ("jump hop bound leap", Guess(REPETITIONS, "", {"squat": 0.6, "hinge": 0.4, "whole_body": 0.5}, 3.0, 2.6, 20, 0.6,
                                  paced=True, needs_skill=True, high_eccentric=True)),
    ("under skip rope jack climber step stair", Guess(REPETITIONS, "", {"squat": 0.3, "whole_body": 0.5}, 2.0, 1.2, 50,
                                                      paced=True)),
    ("snatch clean jerk", Guess(LOADED, "", {"hinge": 0.8, "squat": 0.6, "pull": 0.5, "whole_body": 0.8}, 4.0, 3.2, 50,
                                0.45, needs_skill=True)),
    ("thruster", Guess(LOADED, "", {"squat": 0.8, "push": 0.8, "whole_body": 0.7}, 4.0, 3.0, 45, 0.4)),
    ("deadlift rdl morning", Guess(LOADED, "", {**HINGE, "whole_body": 0.5}, 4.0, 3.2, 100, 0.4)),
    ("press", Guess(LOADED, "", PRESS, 4.0, 2.8, 42, 0.4)),
    ("swing", Guess(REPETITIONS, "", {"hinge": 1.0, "grip": 0.6, "trunk": 0.4}, 3.0, 1.8, 35, needs_skill=True)),
    ("lunge", Guess(REPETITIONS, "", {"squat": 0.7, "hinge": 0.3}, 3.0, 1.9, 40, paced=True, high_eccentric=True)),
    ("squat", Guess(REPETITIONS, "", {"squat": 0.6}, 2.0, 1.8, 50, paced=True)),
    ("throw slam toss ball", Guess(REPETITIONS, "", {"squat": 0.5, "push": 0.5, "whole_body": 0.6}, 3.0, 2.4, 25)),
    ("pull chin muscle", Guess(REPETITIONS, "", {"pull": 1.0, "grip": 0.7, "trunk": 0.3}, 3.0, 2.4, 4, 0.8,
                               high_eccentric=True)),
    ("row", Guess(REPETITIONS, "", {"pull": 0.8, "grip": 0.4, "trunk": 0.3}, 3.0, 2.0, 15)),
    ("push dip handstand", Guess(REPETITIONS, "", {"push": 0.8, "trunk": 0.5}, 2.0, 1.9, 15, 0.6)),
    ("plank hold hang sit bridge wall", Guess(HOLD, "", {"trunk": 0.8}, 3.0, 2.5, 60)),
    ("carry walk farmer", Guess(HOLD, "", {"grip": 0.8, "trunk": 0.6, "whole_body": 0.5}, 4.0, 2.5, 60)),
    ("sit crunch toe raise hollow twist knee", Guess(REPETITIONS, "", {"trunk": 0.9}, 3.0, 2.2, 25)),
    ("hip extension thrust", Guess(REPETITIONS, "", HINGE, 3.0, 2.2, 25)),
    ("curl pushdown fly extension lateral", Guess(LOADED, "", {"pull": 0.5, "grip": 0.3}, 3.0, 2.5, 15, 0.4)),
)  # fmt: skip
USUAL = {
    REPETITIONS: Guess(REPETITIONS),
    LOADED: Guess(LOADED, "", {"whole_body": 0.6}, 4.0, 3.0, 40, 0.5),
    HOLD: Guess(HOLD, "", {"trunk": 0.6}, 3.0, 2.5, 60),
    ENGINE: Guess(ENGINE, "bike", {"whole_body": 0.8}, 4.0),
}
MORE = 1.25  # times the slowest part of a movement that is made of several (common practice: burpee 4 s, over a box 5)
OVER = frozenset(("over", "box", "onto"))  # words that add a way to a movement
PARTS = frozenset(("up", "down", "out", "over", "hold", "raise"))  # last words of many movements: push-up, roll-out
LIKE = 0.8  # likeness from which a word is taken for a slip of another (ours)
KIND_OF = {"load_repetitions": LOADED, "seconds": HOLD, "kcal": ENGINE, "metres": ENGINE, "repetitions": REPETITIONS}


def guessed(name: str, dose_kind: str, library: Iterable[Any]) -> Guess:
    """What a movement of this name is likely to be. `dose_kind` is how it was written, `library` the gym's movements.

    A movement of the gym is near when it is of the same kind and shares the last word, or half of all words.
    """
    library = list(library)
    words = _words(mended(name, library))
    told = [guess for words_of, guess in WORDS if set(words_of.split()) & set(words)]
    kind = _kind(dose_kind, told[0] if told else None)
    near = _nearest(words, kind, library)
    if near is None:
        found = next((guess for guess in told if guess.kind == kind), USUAL[kind])
    else:
        found = Guess(
            kind=near.kind,
            engine=near.engine,
            involvement=dict(near.involvement),
            setup_s=near.setup_s,
            seconds_per_repetition=near.seconds_per_repetition,
            typical_best=near.typical_best,
            typical_spread=near.typical_spread,
            paced=near.paced,
            needs_skill=near.needs_skill,
            high_eccentric=near.high_eccentric,
            introductory=near.introductory,
            like=near.name,
        )
    seconds = max(found.seconds_per_repetition, _compound_s(words, library))
    return replace(found, seconds_per_repetition=seconds) if kind in (REPETITIONS, LOADED) else found


def mended(name: str, library: Iterable[Any]) -> str:
    """The name with words that are a slip of a known one put right: burpe over the box, burpee over the box."""
    known = {word for movement in library for word in _words(movement.name)}
    known |= OVER | {word for words_of, _ in WORDS for word in words_of.split()}

    def word_of(found: re.Match[str]) -> str:
        word = found[0].casefold()
        if len(word) < 4 or word in known or _words(word)[0] in known:
            return found[0]
        near = process.extractOne(word, known, scorer=OSA.normalized_similarity, score_cutoff=LIKE)
        return near[0] if near else found[0]

    return re.sub(r"[^\W\d_]+", word_of, name)


def as_of_one(name: str, library: Iterable[Any]) -> str:
    """The name without the plural of its last word, where what is left is a known word: log hops, log hop.

    Only then: Around the worlds and Plus stay.
    """
    known = {word for movement in library for word in re.findall(r"[^\W\d_]+", movement.name.casefold())}
    known |= PARTS | {word for words_of, _ in WORDS for word in words_of.split()}
    last = re.search(r"[^\W\d_]+$", name.strip())
    word = last[0].casefold() if last else ""
    ending = next(
        (ending for ending in ("s", "es") if word.endswith(ending) and word.removesuffix(ending) in known), ""
    )
    return name if word in known or not ending else name.strip()[: -len(ending)]


def _compound_s(words: list[str], library: Iterable[Any]) -> float:
    """Seconds for one of what is made of several movements: those of the slowest, and a bit more; 0 for any other."""
    timed = [(set(_words(movement.name.split(",")[0])), movement.seconds_per_repetition)
             for movement in library if movement.kind in (REPETITIONS, LOADED)]  # fmt: skip
    parts = [(its, seconds) for its, seconds in timed if its and its <= set(words)]
    for words_of, guess in WORDS:
        its = set(words_of.split()) & set(words)
        if its and guess.kind in (REPETITIONS, LOADED):
            parts.append((its, guess.seconds_per_repetition))
    if not parts:
        return 0.0
    slowest, seconds = max(parts, key=lambda part: (part[1], len(part[0])))
    own = slowest.union(*(its for its, _ in parts if its & slowest))
    others = set().union(*(its for its, _ in parts)) | (OVER & set(words))
    return round(MORE * seconds, 1) if others - own else 0.0


def _kind(dose_kind: str, told: Guess | None) -> str:
    """How it was written decides; but metres and seconds are also written of what has no engine."""
    kind = KIND_OF.get(dose_kind, REPETITIONS)
    if dose_kind == "metres" and (told is None or told.kind != ENGINE):
        return REPETITIONS
    if dose_kind == "seconds" and told and told.kind == ENGINE:
        return ENGINE
    return kind


def _nearest(words: list[str], kind: str, library: Iterable[Any]) -> Any:
    def likeness(movement: Any) -> float:
        its = _words(movement.name.split(",")[0])
        shared = len(set(words) & set(its)) / max(len(set(words) | set(its)), 1)
        return shared + (0.5 if its and words and its[-1] == words[-1] else 0.0)

    alike = [movement for movement in library if movement.kind == kind]
    best = max(alike, key=likeness, default=None)
    return best if best is not None and likeness(best) >= 0.5 else None


def _words(name: str) -> list[str]:
    return [re.sub(r"(?<=[^s])s$", "", word) for word in re.findall(r"[^\W\d_]+", name.casefold())]
