"""Names and headings as they are compared: without case, accents and punctuation."""

import re

from athletes.words import name_order

WORD = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+|[♀♂]")


def words(text: str) -> list[str]:
    """The words and numbers of a heading: “Most Pull-Ups, 2k” → most, pull, ups, 2, k."""
    return WORD.findall(name_order(text))


def words_key(text: str) -> str:
    """What two spellings of one heading, or of one name of a benchmark, share."""
    return " ".join(words(text))


def turned(name: str) -> str:
    """“Stone, Ada” → Ada Stone; any other name with single spaces."""
    parts = name.split(",")
    both = len(parts) == 2 and all(part.strip() for part in parts)
    return " ".join((f"{parts[1]} {parts[0]}" if both else name).split())


def name_key(name: str) -> str:
    """What two spellings of one name share: “Stone, Ada” and “ADA  STONE” are the same."""
    return " ".join(re.findall(r"\w+", name_order(turned(name))))
