"""A spreadsheet that is brought in: the file, where its table begins, and which benchmark a name means."""

import uuid
from contextlib import suppress
from hashlib import sha256

from django import forms

from athletes.fields import DayInput
from athletes.gym.read import today
from athletes.importing.read import Roll, roll
from athletes.importing.reading import seen_again
from athletes.importing.sheets.benches import Benches
from athletes.importing.sheets.columns import (
    HOURS,
    HUNDREDTHS,
    MINUTES,
    SECONDS,
    Column,
    columns_of,
    day_in,
    days_of,
    headed_by_days,
    letter,
    of_one_benchmark,
)
from athletes.importing.sheets.dates import ORDER_WORDS, Order, read_day, why
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.reading import MOST_BYTES
from athletes.models import Benchmark, Import
from athletes.words import day, result_text

SOMEBODY_NEW = "new"
LOAD_UNITS = [("kg", "kilograms"), ("lb", "pounds")]


class UploadForm(forms.Form):
    file = forms.FileField(
        required=False,
        help_text="CSV or .xlsx, up to 20 MB: a row for each result, or a row for each athlete and a column for each "
        "benchmark; several sheets too. Nothing is kept before you have looked at it.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )
    pasted = forms.CharField(
        label="or paste a table",
        required=False,
        strip=False,
        max_length=2_000_000,
        help_text="Select it in the spreadsheet with its headings, copy, and paste it here.",
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
    )
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file and file.size > MOST_BYTES:
            raise forms.ValidationError("The file is larger than 20 MB. Divide it, and bring in one by one.")
        return file

    def clean(self) -> dict:
        cleaned = super().clean()
        file, pasted = cleaned.get("file"), cleaned.get("pasted", "").strip()
        if not self.errors and bool(file) == bool(pasted):
            both = "Bring in the file or the pasted table, one at a time."
            self.add_error("file", both if file else "Choose a file, or paste a table below.")
        return cleaned

    def named_content(self) -> tuple[str, bytes]:
        """A name for the list of files, and the bytes."""
        file = self.cleaned_data["file"]
        return (file.name, file.read()) if file else ("pasted table", self.cleaned_data["pasted"].encode())


class ReadingForm(forms.Form):
    """Where in a sheet the table begins."""

    part = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    heading_row = forms.IntegerField(label="headings stand in row", min_value=1, max_value=2000)

    def __init__(self, *args, source: Import, part: int = 0, **kwargs):
        self.parts = source.reading["parts"]
        initial = {"part": part, "heading_row": self.parts[part]["heading_row"]}
        super().__init__(*args, initial=initial, auto_id=f"id_{part}_%s", **kwargs)

    def clean_part(self) -> int:
        if self.cleaned_data["part"] >= len(self.parts):
            raise forms.ValidationError("There is no such sheet.")
        return self.cleaned_data["part"]


class NamesForm(forms.Form):
    """Which benchmark the file means by a name that none has, and who is meant by names like those of people here."""

    def __init__(self, *args, names: list[str], people: list[str], **kwargs):
        super().__init__(*args, **kwargs)
        self.names, self.people = names, people
        choices = [("", "none: leave these results out"), *benchmark_choices()] if names else []
        for name in names:
            self.fields[_of_benchmark(name)] = forms.ChoiceField(label=f"“{name}”", choices=choices, required=False)
        everyone = roll() if people else Roll()
        for name in people:
            near = [(pk, "{} ({})".format(*everyone.people[pk])) for pk in everyone.who(name)]
            choices = [("", "leave these results out"), *near, (SOMEBODY_NEW, "somebody new")]
            self.fields[_of_person(name)] = forms.ChoiceField(label=f"“{name}”", choices=choices, required=False)

    def benchmarks(self) -> list:
        return [self[_of_benchmark(name)] for name in self.names]

    def athletes(self) -> list:
        return [self[_of_person(name)] for name in self.people]

    def reading(self, source: Import) -> dict:
        """What is said of names, now and before, as `Import.reading` has it."""
        names, people = self._said(), self._said_of_people()
        before = source.reading
        shown = [*self.names, *self.people]
        left = {*before.get("aside", []), *shown} - names.keys() - people.keys()
        return {
            "names": before.get("names", {}) | names,
            "people": before.get("people", {}) | people,
            "aside": sorted(left),
        }

    def differs(self, source: Import) -> bool:
        """Whether something is chosen that was not said before."""
        return any(said != source.reading.get(of, {}) for of, said in self.reading(source).items() if of != "aside")

    def _said(self) -> dict[str, int]:
        chosen = {name: self.cleaned_data.get(_of_benchmark(name)) for name in self.names}
        return {name: int(pk) for name, pk in chosen.items() if pk}

    def _said_of_people(self) -> dict[str, int | None]:
        chosen = {name: self.cleaned_data.get(_of_person(name)) for name in self.people}
        return {name: None if pk == SOMEBODY_NEW else int(pk) for name, pk in chosen.items() if pk}


def _of_benchmark(name: str) -> str:
    """What its field is called: the same on each page, so that an older one never speaks of another name."""
    return f"name-{sha256(name.encode()).hexdigest()[:12]}"


def _of_person(name: str) -> str:
    return f"who-{sha256(name.encode()).hexdigest()[:12]}"


def benchmark_choices() -> list[tuple[int, str]]:
    return list(Benchmark.objects.filter(archived=False).order_by("name").values_list("pk", "name"))


PEOPLE = {
    Use.NAME: "name", Use.FIRST: "first name", Use.LAST: "last name", Use.BOARD: "name on the board",
    Use.BORN: "date of birth", Use.SEX: "sex", Use.MASS: "body mass", Use.JOINED: "joined on",
}  # fmt: skip
RESULTS = {
    Use.BENCHMARK: "name of the benchmark", Use.RESULT: "result",
    Use.LOAD: "load of a lift",
    Use.UNIT: "unit of the load (kg or lb)", Use.REPETITIONS: "repetitions of a lift",
    Use.DAY: "day of the test", Use.VOIDED: "voided (left out)",
}  # fmt: skip
HAS_RESULTS, HAS_NAMES = (Use.RESULT, Use.LOAD, Use.REPETITIONS), (Use.NAME, Use.FIRST, Use.LAST, Use.BOARD)
PROPOSED = "A guess from what stands in the column. Is it right?"
ONE_BENCHMARK = "{} are all read as {}. Leave one, or write into each heading the day of its results."
HEADED_BY_DAYS = "Columns are headed by days. Say of which benchmark the results in them are."
NO_BENCHMARK = "Choose the benchmark of all results, or the column that names the one of each."
NO_DAY = "No column holds the day of these results. Give one day for all, or choose the column."


KILOGRAMS_OR_POUNDS = "Pounds are spoken of in this file. Say what plain loads and body masses are in."


class PartForm(forms.Form):
    """What each column of a sheet is for, and what the headings do not say. The first guess is already chosen."""

    take = forms.BooleanField(label="bring this sheet in", required=False)
    order = forms.ChoiceField(label="dates in numbers", required=False)
    day = forms.DateField(
        label="day of all results",
        required=False,
        widget=DayInput(),
        help_text="Of those that have none of their own in the file.",
    )
    load_unit = forms.ChoiceField(
        label="plain loads and body masses are in",
        required=False,
        help_text="Where neither cell, row nor heading says so.",
    )
    clock = forms.ChoiceField(label="times with two colons", required=False)
    point = forms.ChoiceField(label="minutes with a point", required=False)
    bench = forms.TypedChoiceField(label="benchmark of all results", required=False, coerce=int, empty_value=None)

    def __init__(self, *args, source: Import, number: int, **kwargs):
        self.source, self.number, self.part = source, number, source.reading["parts"][number]
        part = self.part
        said = ("take", "order", "day", "load_unit", "clock", "point", "bench")
        initial = {name: part[name] for name in said if name in part}
        super().__init__(*args, initial=initial, prefix=str(number), **kwargs)
        choices = _choices()
        for index, heading in enumerate(part["headings"]):
            label = heading or f"column {letter(index)}"
            self.fields[f"use-{index}"] = forms.ChoiceField(
                label=label[:60],
                choices=choices,
                required=False,
                initial=part["uses"][index],
                help_text=PROPOSED if index in part["proposed"] else "",
            )
        first = "Choose" if part["open"] else "no date is written in numbers"
        self.fields["order"].choices = [("", first), *_ways(part["example"])]
        self.fields["order"].help_text = why(part["order"], part["evidence"])
        self.fields["load_unit"].choices = [*([("", "Choose")] if part["pounds"] else []), *LOAD_UNITS]
        self.fields["clock"].choices = _clocks(part["clock_example"])
        self.fields["point"].choices = _points(part.get("point_example", ""))
        self.fields["bench"].choices = [("", "each row names its own"), *benchmark_choices()]

    @property
    def sheet(self) -> str:
        return self.part["sheet"]

    @property
    def alone(self) -> bool:
        return len(self.source.reading["parts"]) == 1

    @property
    def reading_form(self) -> ReadingForm:
        return ReadingForm(source=self.source, part=self.number)

    def recognised(self) -> list[dict]:
        """The sheet's columns for the page: heading, the first cells below it, and what it is for."""
        return [self._column(index) for index, use in enumerate(self.part["uses"]) if use]

    def unrecognised(self) -> list[dict]:
        """The same of those columns of which neither heading nor cells say what they are for; not of empty ones."""
        columns = [column for column in self._columns(self.part["uses"]) if not column.use]
        known = self.part.get("unused", [])
        return [self._column(column.index) for column in columns if column.heading or column.title in known]

    def _column(self, index: int) -> dict:
        rows = self.part["samples"]
        return {"field": self[f"use-{index}"], "cells": [r[index] for r in rows if index < len(r) and r[index]]}

    def _columns(self, uses: list[str]) -> list[Column]:
        return columns_of(self.part["headings"], Benches([]), uses)

    def asked(self) -> list:
        """What the headings do not say, as far as this sheet raises the question."""
        part, uses = self.part, set(self.part["uses"])
        asked = [self["order"]] if part["example"] else []
        asked += [self["clock"]] if part["clock_example"] else []
        asked += [self["point"]] if part.get("point_example") else []
        of_all = uses & set(HAS_RESULTS) and Use.BENCHMARK not in uses
        of_all = of_all or "bench" in self.errors
        asked += [self["bench"]] if of_all or headed_by_days(self._columns(part["uses"])) else []
        asked += [self["day"]]
        # Where pounds are spoken of, each load may say its own unit. A file of before this was looked at is asked.
        to_choose = part.get("plain", True) or not part["pounds"] or "load_unit" in self.errors
        return asked + ([self["load_unit"]] if to_choose else [])

    def clean(self) -> dict:
        cleaned = super().clean()
        if not cleaned.get("take") and not self.alone:
            cleaned["part"] = {**self.part, "take": False}
            self._errors.clear()  # of a sheet that is left out nothing needs to be right
            return cleaned
        uses = [cleaned.get(f"use-{index}", "") for index in range(len(self.part["headings"]))]
        columns = self._columns(uses)
        if cleaned.get("bench"):
            columns = days_of(columns, cleaned["bench"])
        elif headed_by_days(columns) and set(uses) <= {Use.NOTHING, *HAS_NAMES}:
            self.add_error("bench", HEADED_BY_DAYS)
        uses = [str(column.use) for column in columns]
        if not set(uses) & set(HAS_NAMES):
            self.add_error(None, "Say which column holds the names of the athletes.")
        if set(uses) & set(HAS_RESULTS) and Use.BENCHMARK not in uses and not cleaned.get("bench"):
            self.add_error("bench", NO_BENCHMARK)
        words = PEOPLE | RESULTS
        for twice in sorted({use for use in uses if use in words and uses.count(use) > 1}):
            self.add_error(None, f"Several columns are chosen as {words[twice]}. Leave one.")
        names = dict(self.fields["bench"].choices)
        for several in of_one_benchmark(columns):
            titles = " and ".join(f"“{column.title}”" for column in several)
            self.add_error(None, ONE_BENCHMARK.format(titles, names[several[0].bench]))
        if not self.errors:
            cleaned["part"] = self._read(cleaned, uses)
        return cleaned

    def _read(self, cleaned: dict, uses: list[str]) -> dict:
        """The part with all that was chosen; what follows from it is seen anew, as other columns may hold dates and
        loads."""
        self.part = part = seen_again(self.source, self.part, uses, cleaned.get("bench"))
        order = cleaned.get("order") or part["order"]
        if part["example"] and not order:
            self.add_error("order", f"{part['example']} could be two days. Say which.")
        has_results = set(uses) & set(HAS_RESULTS) or any(use.startswith(Use.RESULT_OF) for use in uses)
        has_days = any(use == Use.DAY or use.startswith(Use.DAY_OF) for use in uses)
        if has_results and not (cleaned.get("day") or has_days or any(map(day_in, part["headings"]))):
            self.add_error("day", NO_DAY)
        if part["pounds"] and part["plain"] and not cleaned.get("load_unit"):
            self.add_error("load_unit", KILOGRAMS_OR_POUNDS)
        for_all = cleaned["day"].isoformat() if cleaned.get("day") else ""
        said = {"load_unit": cleaned.get("load_unit", ""), "bench": cleaned.get("bench")}
        clock, point = (cleaned.get(name) or part.get(name) for name in ("clock", "point"))
        return {**part, **said, "clock": clock, "point": point, "order": order, "day": for_all, "take": True}


class ColumnsForm:
    """How each sheet of a file is read."""

    def __init__(self, data=None, *, source: Import):
        self.source = source
        self.forms = [PartForm(data, source=source, number=number) for number in range(len(source.reading["parts"]))]
        self.error = ""

    def __iter__(self):
        return iter(self.forms)

    def is_valid(self) -> bool:
        valid = [form.is_valid() for form in self.forms]
        if all(valid) and not any(part["take"] for part in self.parts()):
            self.error = "No sheet is chosen. Tick the ones to bring in."
        return all(valid) and not self.error

    def parts(self) -> list[dict]:
        return [form.cleaned_data["part"] for form in self.forms]


def _choices() -> list:
    benchmarks = benchmark_choices()
    lifts = set(Benchmark.objects.filter(measure=Benchmark.Measure.LIFT).values_list("pk", flat=True))
    lifts = [(pk, name) for pk, name in benchmarks if pk in lifts]
    return [
        ("", "not used"),
        ("About the athlete", [(str(use), words) for use, words in PEOPLE.items()]),
        ("A row for each result", [(str(use), words) for use, words in RESULTS.items()]),
        ("Results of one benchmark", [(f"{Use.RESULT_OF}{pk}", name) for pk, name in benchmarks]),
        ("Repetitions of one lift", [(f"{Use.REPETITIONS_OF}{pk}", f"repetitions of {name}") for pk, name in lifts]),
        ("Days of one benchmark", [(f"{Use.DAY_OF}{pk}", f"day of {name}") for pk, name in benchmarks]),
    ]


def _clocks(example: str) -> list[tuple[str, str]]:
    """Both readings of a time with two colons, with what the example would be in each."""
    first, second, third = (example or "0:00:00").split(":")
    return [
        (MINUTES, f"minutes and seconds: {example} is {first} min {second} s"),
        (HOURS, f"hours, minutes and seconds: {example} is {first} h {second} min {third} s"),
    ]


def _points(example: str) -> list[tuple[str, str]]:
    """Both readings of minutes with a point, with what the example would be in each."""
    minutes, _, rest = (example or "0.0").partition(".")
    parts = result_text("hold", 60 * float(example or 0))
    return [
        (SECONDS, f"minutes and seconds: {example} is {minutes}:{rest:0<2}"),
        (HUNDREDTHS, f"parts of a minute: {example} is {parts}"),
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
