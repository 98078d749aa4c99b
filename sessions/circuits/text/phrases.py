"""A line of text → its phrases, by the grammar beside this file."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedInput

KILOGRAMS_A_POUND = 0.45359237  # international pound, exact
METRES_A_MILE = 1609.344  # international mile, exact
MOST = 1e6  # of any number: whatever is more is a slip of the keys
LEAST = {"every": 1.0, "on": 1.0, "cap": 1.0, "lasts": 1.0, "within": 1.0, "duration": 1.0, "rounds": 1.0, "sets": 1.0}
TIMES = {"SECONDS": 1.0, "MINUTES": 60.0, "KILOMETRES": 1000.0, "MILES": METRES_A_MILE, "POUNDS": KILOGRAMS_A_POUND}


@dataclass(frozen=True, slots=True)
class Phrase:
    """What one phrase is, where it stands in its line, and its `values`: seconds, metres, kilograms, kcal or a count.

    Two values with `slash` are a number and its lighter form (10/8); without, a range from foot to top.
    """

    kind: str
    start: int
    end: int
    values: tuple[float, ...] = ()
    slash: bool = False


def phrases(line: str) -> list[Phrase]:
    """The phrases of a line, in order. What fits nowhere is `stray`; nothing raises."""
    return list(_parsed(line, 0))


def _parsed(line: str, offset: int) -> Iterator[Phrase]:
    try:
        tree = _parser()(line)
    except UnexpectedInput as error:
        here = max(min(error.pos_in_stream or 0, len(line) - 1), 0)
        token = getattr(error, "token", None)
        end = here + (len(token) if isinstance(token, Token) and token.type != "$END" else 1)
        if here > 0:
            yield from _parsed(line[:here], offset)
        if line[here:end].strip():
            yield Phrase("stray", offset + here, offset + end)
        yield from _parsed(line[end:], offset + end) if end < len(line) else ()
        return
    yield from (_phrase(child, offset) for child in tree.children if isinstance(child, Tree))


def _phrase(tree: Tree[Token], offset: int) -> Phrase:
    tokens = list(tree.scan_values(lambda value: isinstance(value, Token)))
    types = {token.type for token in tokens}
    times = next((TIMES[kind] for kind in TIMES if kind in types), 1.0)
    values = tuple(value * times for token in tokens for value in _values(token))
    kind = str(tree.data)
    if kind == "amount" and "TIMES" in types:
        kind = "times"  # row x 12; every 2:00 x 5
    if kind == "every" and not values:
        values = (60.0,)
    start, end = tokens[0].start_pos or 0, tokens[-1].end_pos or 0
    if not all(LEAST.get(kind, 0.0) <= value <= MOST for value in values):
        return Phrase("stray", offset + start, offset + end)
    return Phrase(kind, offset + start, offset + end, values, "SLASH" in types)


def _values(token: Token) -> tuple[float, ...]:
    if token.type == "NUMBER":
        return (number(token),)
    if token.type == "CLOCK":
        minutes, seconds = (float(figures) for figures in token.split(":"))
        return (60.0 * minutes + seconds,)
    if token.type == "LONG_TIME":
        minutes, seconds = (float(figures) for figures in "".join(c if c.isdecimal() else " " for c in token).split())
        return (60.0 * minutes + seconds,)
    return ()


def number(text: str) -> float:
    """22.5 and 22,5 alike; three figures behind the point or comma are thousands: 1,000 and 1.000."""
    whole, _, behind = text.replace(",", ".").partition(".")
    if len(behind) == 3 and whole != "0":
        return float(whole + behind)
    return float(f"{whole}.{behind or 0}")


@lru_cache(maxsize=1)
def _parser() -> Callable[[str], Tree[Token]]:
    grammar = (Path(__file__).parent / "whiteboard.lark").read_text(encoding="utf-8")
    return Lark(grammar, start="line", parser="lalr").parse
