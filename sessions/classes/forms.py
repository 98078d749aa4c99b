"""The parts of a class as the session's page sends them: `parts.0.kind` and so on, in order; a button may change them.

What a button does without scripts: `do` is "add", "up.2", "down.2", "more.2", "less.2", "remove.2", "take" (the parts
chosen in `like`) or "keep" (under the name in `template`). Nothing is saved by these but a template.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django import forms
from django.http import QueryDict

from athletes.fields import whole_number
from sessions.circuits.read import with_stations
from sessions.classes.definition import KINDS, MAIN
from sessions.classes.read import minutes_for
from sessions.models import Circuit, Part, PartTemplate, PlannedSession
from sessions.models.part import MOST_MINUTES

FIELDS = ("key", "kind", "minutes", "words", "circuit")
USUAL = (("briefing", 3), ("warm_up", 10), ("strength", 15), ("cool_down", 6))  # offered where there is nothing yet
MINUTES = f"Minutes are a whole number from 1 to {MOST_MINUTES}."


class PartForm(forms.Form):
    """One part; the main circuit has neither minutes nor a circuit of its own."""

    key = forms.UUIDField(required=False, widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=[(kind, title) for kind, title in KINDS.items() if kind != MAIN])
    minutes = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=MOST_MINUTES,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), MINUTES),
    )
    words = forms.CharField(required=False, max_length=600, widget=forms.Textarea(attrs={"rows": 2}))
    circuit = forms.ModelChoiceField(Circuit.objects.none(), required=False, empty_label="words alone")

    def __init__(self, *args, circuits, main: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        self.main = main
        if main:
            self.fields["kind"].choices = [(MAIN, KINDS[MAIN])]
            del self.fields["minutes"], self.fields["circuit"]
        else:
            self.fields["circuit"].queryset = circuits

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.main and not self.errors and not cleaned.get("minutes") and not cleaned.get("circuit"):
            self.add_error("minutes", "Say how many minutes this part takes.")
        return cleaned


@dataclass
class Row:
    """A part on the page: `minutes` it takes, of which its circuit `needs` so many."""

    form: PartForm
    number: int
    minutes: int
    needs: int = 0
    starts: int = 0
    circuit: Circuit | None = None

    @property
    def title(self) -> str:
        return KINDS.get(str(self.form["kind"].value()), "Part")

    @property
    def over(self) -> bool:
        """Whether its circuit takes longer than the minutes that are written."""
        return self.needs > self.minutes


@dataclass
class PartsForm:
    """All parts of a class, with those that `typed` says, or else as they are."""

    circuit: Circuit | None
    typed: QueryDict | None = None
    planned: PlannedSession | None = None
    rows: list[dict] = field(default_factory=list)

    def __post_init__(self) -> None:
        if self.typed is not None:
            self.rows = typed_rows(self.typed)
        elif self.planned and self.planned.pk:
            self.rows = rows_of(self.planned.parts.all())
        self.made: list[PartForm] | None = None

    @property
    def forms(self) -> list[PartForm]:
        if self.made is None:
            circuits = Circuit.objects.filter(archived=False) | Circuit.objects.filter(pk__in=self._used())
            self.made = [
                PartForm(
                    {f"parts.{n}-{name}": row[name] for name in FIELDS},
                    prefix=f"parts.{n}",
                    circuits=circuits,
                    main=row["kind"] == MAIN,
                )
                for n, row in enumerate(self.rows)
            ]
        return self.made

    def is_valid(self) -> bool:
        valid = [form.is_valid() for form in self.forms]  # each says what is to be mended in it
        return all(valid)

    def parts(self) -> list[dict]:
        """What was written, as `classes.write.parts_write` takes it; nothing where the circuit stands alone."""
        parts = [form.cleaned_data for form in self.forms]
        return parts if len(parts) > 1 else []

    def on_page(self) -> list[Row]:
        """The rows with where each stands in the hour."""
        used = self._used()
        circuits = with_stations(
            Circuit.objects.filter(pk__in=used | {self.circuit.pk} if self.circuit else used)
        ).in_bulk()
        found, at = [], 0
        for number, (form, row) in enumerate(zip(self.forms, self.rows, strict=True)):
            own = self.circuit.pk if form.main and self.circuit else whole_number(row["circuit"])
            circuit = None if own is None else circuits.get(own)
            needs = minutes_for(circuit.duration_s) if circuit else 0
            written = whole_number(row["minutes"]) or 0
            found.append(Row(form, number, written or needs, needs, at, circuit))
            at += written or needs
        return found

    def pressed(self, do: str) -> None:
        """Change the rows as a button says; one that means nothing changes nothing."""
        act, _, place = do.partition(".")
        row = whole_number(place)
        row = None if row is None or row >= len(self.rows) else row
        self.made = None
        if act == "add":
            self.rows = with_main(self.rows)
            self.rows.insert(self._next_place(), _next_row(self.rows))
        elif row is None:
            return
        elif act in ("up", "down") and 0 <= (other := row + (1 if act == "down" else -1)) < len(self.rows):
            self.rows[row], self.rows[other] = self.rows[other], self.rows[row]
        elif act in ("more", "less") and self.rows[row]["kind"] != MAIN:
            minutes = (whole_number(self.rows[row]["minutes"]) or 0) + (1 if act == "more" else -1)
            self.rows[row]["minutes"] = str(min(max(minutes, 1), MOST_MINUTES))
        elif act == "remove" and self.rows[row]["kind"] != MAIN:
            del self.rows[row]

    def take(self, source: PlannedSession | PartTemplate) -> None:
        """The parts of another class or of a template in place of these."""
        self.made = None
        self.rows = [{**row, "key": ""} for row in rows_of(source.parts.all())]

    def _used(self) -> set[int]:
        """The circuits of the parts, by id; what is none is left to the form to refuse."""
        numbers = (whole_number(row["circuit"]) for row in self.rows)
        return {number for number in numbers if number is not None}

    def _next_place(self) -> int:
        """Before the main circuit until what usually goes before it is there, then at the end."""
        main = next(n for n, row in enumerate(self.rows) if row["kind"] == MAIN)
        return main if _next_row(self.rows)["kind"] != "cool_down" else len(self.rows)


def typed_rows(post: QueryDict) -> list[dict]:
    """The parts that a form sent, in the order of their numbers, everything still as typed."""
    numbers = {name.split("-")[0][6:] for name in post if name.startswith("parts.")}
    order = sorted((n for n in numbers if n.isascii() and whole_number(n) is not None), key=int)[:40]
    return [{name: post.get(f"parts.{n}-{name}", "") for name in FIELDS} for n in order]


def rows_of(parts: Iterable[Part]) -> list[dict]:
    """Parts that are kept, as they stand on the page."""
    return [
        {
            "key": str(part.key),
            "kind": part.kind,
            "minutes": "" if part.minutes is None else str(part.minutes),
            "words": part.words,
            "circuit": "" if part.circuit_id is None else str(part.circuit_id),
        }
        for part in parts
    ]


def with_main(rows: list[dict]) -> list[dict]:
    """The same rows with the main circuit among them."""
    if any(row["kind"] == MAIN for row in rows):
        return rows
    return [*rows, {"key": "", "kind": MAIN, "minutes": "", "words": "", "circuit": ""}]


def _next_row(rows: list[dict]) -> dict:
    """A new part: the first of the usual ones that is not there yet."""
    there = {row["kind"] for row in rows}
    kind, minutes = next(((kind, minutes) for kind, minutes in USUAL if kind not in there), ("skill", 10))
    return {"key": "", "kind": kind, "minutes": str(minutes), "words": "", "circuit": ""}


def sources(planned: PlannedSession, count: int = 12) -> list[PlannedSession]:
    """The sessions that were planned last and have parts, the newest first."""
    with_parts = Part.objects.filter(session__isnull=False).values("session_id")
    rows = PlannedSession.objects.standing().filter(pk__in=with_parts).exclude(pk=planned.pk)
    return list(rows.select_related("week", "circuit").order_by("-week__starts_on", "-weekday", "-id")[:count])
