"""A spreadsheet that is brought in: the file, where its table begins, and which benchmark a name means."""

import uuid
from contextlib import suppress

from django import forms

from athletes.fields import DayInput
from athletes.gym.read import today
from athletes.importing.reading import dates_again
from athletes.importing.sheets.columns import day_in, letter
from athletes.importing.sheets.dates import ORDER_WORDS, Order, read_day, why
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.reading import MOST_BYTES
from athletes.models import Benchmark, Import
from athletes.words import day


class UploadForm(forms.Form):
    file = forms.FileField(
        help_text="CSV or .xlsx, up to 20 MB: a row for each result, or a row for each athlete and a column for each "
        "benchmark. Nothing is kept before you have looked at it.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError("The file is larger than 20 MB. Divide it, and bring in one by one.")
        return file


class ReadingForm(forms.Form):
    """Where in the file the table begins."""

    sheet = forms.ChoiceField(required=False)
    heading_row = forms.IntegerField(label="headings stand in row", min_value=1, max_value=2000)

    def __init__(self, *args, source: Import, **kwargs):
        reading = source.reading
        super().__init__(*args, initial={name: reading[name] for name in ("sheet", "heading_row")}, **kwargs)
        self.fields["sheet"].choices = [(name, name) for name in reading["sheets"]]
        if len(reading["sheets"]) < 2:
            self.fields["sheet"].widget = forms.HiddenInput()


class NamesForm(forms.Form):
    """Which benchmark the file means by a name that none has."""

    def __init__(self, *args, names: list[str], **kwargs):
        super().__init__(*args, **kwargs)
        self.names = names
        choices = [("", "none: leave these results out"), *benchmark_choices()]
        for number, name in enumerate(names):
            self.fields[f"name-{number}"] = forms.ChoiceField(label=f"“{name}”", choices=choices, required=False)

    def said(self) -> dict[str, int]:
        chosen = {name: self.cleaned_data[f"name-{number}"] for number, name in enumerate(self.names)}
        return {name: int(pk) for name, pk in chosen.items() if pk}


def benchmark_choices() -> list[tuple[int, str]]:
    return list(Benchmark.objects.filter(archived=False).order_by("name").values_list("pk", "name"))


PEOPLE = {
    Use.NAME: "name", Use.FIRST: "first name", Use.LAST: "last name", Use.BOARD: "name on the board",
    Use.BORN: "date of birth", Use.SEX: "sex", Use.MASS: "body mass", Use.JOINED: "joined on",
}  # fmt: skip
RESULTS = {
    Use.BENCHMARK: "name of the benchmark", Use.RESULT: "result", Use.REPETITIONS: "repetitions of a lift",
    Use.DAY: "day of the test", Use.VOIDED: "voided (left out)",
}  # fmt: skip
HAS_RESULTS, HAS_NAMES = (Use.RESULT, Use.REPETITIONS), (Use.NAME, Use.FIRST, Use.LAST, Use.BOARD)
PROPOSED = "A guess from what stands in the column. Is it right?"
NO_DAY = "No column holds the day of these results. Give one day for all, or choose the column."


class ColumnsForm(forms.Form):
    """What each column is for, and what the headings do not say. The first guess is already chosen."""

    order = forms.ChoiceField(label="dates in numbers", required=False)
    day = forms.DateField(
        label="day of all results",
        required=False,
        widget=DayInput(),
        help_text="Of those that have none of their own in the file.",
    )
    load_unit = forms.ChoiceField(
        label="plain loads and body masses are in",
        choices=[("kg", "kilograms"), ("lb", "pounds")],
        help_text="Where neither cell nor heading says so.",
    )

    def __init__(self, *args, source: Import, **kwargs):
        self.source, reading = source, source.reading
        initial = {name: reading[name] for name in ("order", "day", "load_unit")}
        super().__init__(*args, initial=initial, **kwargs)
        choices = _choices()
        for index, heading in enumerate(reading["headings"]):
            label = heading or f"column {letter(index)}"
            self.fields[f"use-{index}"] = forms.ChoiceField(
                label=label[:60],
                choices=choices,
                required=False,
                initial=reading["uses"][index],
                help_text=PROPOSED if index in reading.get("proposed", ()) else "",
            )
        first = "Choose" if reading["open"] else "no date is written in numbers"
        self.fields["order"].choices = [("", first), *_ways(reading["example"])]
        self.fields["order"].help_text = why(reading["order"], reading.get("evidence", ""))

    def recognised(self) -> list[dict]:
        """The file's columns for the page: heading, the first cells below it, and what it is for."""
        return [self._column(index) for index, use in enumerate(self.source.reading["uses"]) if use]

    def unrecognised(self) -> list[dict]:
        """The same of those columns of which neither heading nor cells say what they are for."""
        return [self._column(index) for index, use in enumerate(self.source.reading["uses"]) if not use]

    def _column(self, index: int) -> dict:
        rows = self.source.reading["samples"]
        return {"field": self[f"use-{index}"], "cells": [r[index] for r in rows if index < len(r) and r[index]]}

    def asks_order(self) -> bool:
        return bool(self.source.reading["example"])

    def clean(self) -> dict:
        cleaned = super().clean()
        uses = [cleaned.get(f"use-{index}", "") for index in range(len(self.source.reading["headings"]))]
        if not set(uses) & set(HAS_NAMES):
            self.add_error(None, "Say which column holds the names of the athletes.")
        if set(uses) & set(HAS_RESULTS) and Use.BENCHMARK not in uses:
            self.add_error(None, "Say which column names the benchmark of each result.")
        words = PEOPLE | RESULTS
        for twice in sorted({use for use in uses if use in words and uses.count(use) > 1}):
            self.add_error(None, f"Several columns are chosen as {words[twice]}. Leave one.")
        if not self.errors:
            cleaned["reading"] = self._reading(cleaned, uses)
        return cleaned

    def _reading(self, cleaned: dict, uses: list[str]) -> dict:
        """The reading with all that was chosen; the order of dates is seen anew, as other columns may hold them."""
        reading = dates_again(self.source, uses)
        self.source.reading = reading  # for the page, which says how dates are read
        order = cleaned.get("order") or reading["order"]
        if reading["example"] and not order:
            self.add_error("order", f"{reading['example']} could be two days. Say which.")
        has_results = set(uses) & set(HAS_RESULTS) or any(use.startswith(Use.RESULT_OF) for use in uses)
        has_days = any(use == Use.DAY or use.startswith(Use.DAY_OF) for use in uses)
        if has_results and not (cleaned.get("day") or has_days or any(map(day_in, reading["headings"]))):
            self.add_error("day", NO_DAY)
        for_all = cleaned["day"].isoformat() if cleaned.get("day") else ""
        return {**reading, "order": order, "day": for_all, "load_unit": cleaned["load_unit"]}


def _choices() -> list:
    benchmarks = benchmark_choices()
    return [
        ("", "not used"),
        ("About the athlete", [(str(use), words) for use, words in PEOPLE.items()]),
        ("A row for each result", [(str(use), words) for use, words in RESULTS.items()]),
        ("Results of one benchmark", [(f"{Use.RESULT_OF}{pk}", name) for pk, name in benchmarks]),
        ("Days of one benchmark", [(f"{Use.DAY_OF}{pk}", f"day of {name}") for pk, name in benchmarks]),
    ]


def _ways(example: str) -> list[tuple[str, str]]:
    """Both orders of dates, with what an example would be in each."""
    ways = []
    for order in (Order.DAY, Order.MONTH):
        words = ORDER_WORDS[order]
        with suppress(ValueError):  # no day in this order, or no example
            words += f": {example} is {day(read_day(example, order, today()))}"
        ways.append((order, words))
    return ways
