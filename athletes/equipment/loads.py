"""Loads as staff type them: “8, 12, 16”, “35 lb”, and plates in pairs, “20 × 4, 2.5 x 2”. Kept in kilograms."""

import re

from django import forms

from athletes.models.rack import MOST_KG
from athletes.words import POUND_KG

MOST_FIXED, MOST_PAIRS = 60, 20
GRAM = 3  # decimals of a kilogram
_LOAD = re.compile(r"(\d+(?:\.\d+)?)(kg|lbs?)?")
_PLATE = re.compile(r"(.+)×(\d{1,4})")


class LoadField(forms.CharField):
    """One load in kilograms: “20”, “20 kg”, “45 lb”; None when nothing is typed."""

    def to_python(self, value) -> float | None:
        typed = super().to_python(value)
        text = _tight(typed).replace(",", ".")
        return _kilograms(text, typed, "Write it like 20 or 45 lb.") if text else None

    def prepare_value(self, value):
        return value if isinstance(value, str) or value is None else f"{value:g}"


class LoadsField(forms.CharField):
    """Several loads in kilograms, each once, from light to heavy."""

    def to_python(self, value) -> list[float]:
        loads = {
            _kilograms(token, token, "Write loads like 8, 12, 16 or 35 lb.")
            for word in _words(super().to_python(value))
            for token in _apart(word)
        }
        if len(loads) > MOST_FIXED:
            raise forms.ValidationError(f"At most {MOST_FIXED} different loads. Take some out.")
        return sorted(loads)

    def prepare_value(self, value):
        return value if isinstance(value, str) or value is None else ", ".join(f"{kg:g}" for kg in value)


class PlatesField(forms.CharField):
    """Plates with the number of pairs owned, [[kg of one plate, pairs], …], the heaviest first."""

    def to_python(self, value) -> list[list]:
        pairs: dict[float, int] = {}
        for token in (token for word in _words(super().to_python(value)) for token in word.split(",")):
            plate, count = _plate(token)
            if plate in pairs:
                raise forms.ValidationError(f"“{_shown(token)}”: this plate stands there twice. Write each one once.")
            pairs[plate] = count
        return [[plate, pairs[plate]] for plate in sorted(pairs, reverse=True)]

    def prepare_value(self, value):
        if isinstance(value, str) or value is None:
            return value
        return ", ".join(f"{plate:g} × {count}" for plate, count in value)


def _tight(text: str) -> str:
    """Units and × written close to their numbers, so that spaces separate: “35 lb” → “35lb”, “20 x 4” → “20×4”."""
    text = re.sub(r" (kg|lbs?)\b", r"\1", " ".join(text.lower().split()))
    return re.sub(r" ?[x×*] ?", "×", text)


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[;\s]+|,(?!\d)|(?<!\d),", _tight(text)) if word]


def _apart(word: str) -> list[str]:
    """“8,12,16” can only be three loads; “17,5” may be one or two, so it is asked."""
    tokens = word.split(",")
    if len(tokens) == 2:
        one, other = tokens
        raise forms.ValidationError(f"“{word}” can be read in two ways. Write {one}.{other}, or {one}, {other} apart.")
    return tokens


def _kilograms(token: str, shown: str, example: str) -> float:
    match = _LOAD.fullmatch(token)
    if not match:
        raise forms.ValidationError(f"“{_shown(shown)}” is no load. {example}")
    kg = round(float(match[1]) * (POUND_KG if (match[2] or "kg") != "kg" else 1.0), GRAM)
    if not 0 < kg <= MOST_KG:
        raise forms.ValidationError(f"“{_shown(shown)}” is no load: it lies above zero and up to {MOST_KG:g} kg.")
    return kg


def _plate(token: str) -> tuple[float, int]:
    match = _PLATE.fullmatch(token)
    if not match:
        example = "Write each plate with how many pairs there are, like 20 × 4; decimals with a point, 2.5 × 2."
        raise forms.ValidationError(f"“{_shown(token)}” is no plate with its pairs. {example}")
    count = int(match[2])
    if not 0 < count <= MOST_PAIRS:
        raise forms.ValidationError(f"“{_shown(token)}”: a plate has 1 to {MOST_PAIRS} pairs. Correct the number.")
    return _kilograms(match[1], token, "Write plates like 20 × 4 or 45 lb × 2."), count


def _shown(token: str) -> str:
    return re.sub(r"(?<=\d)(?=kg|lb)", " ", token[:30]).replace("×", " × ")
