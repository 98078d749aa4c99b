"""How a file is to be read, and what is said of a cell that cannot be."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from athletes.importing.sheets.benches import Benches
from athletes.importing.sheets.columns import Column
from athletes.importing.sheets.dates import Order


@dataclass(frozen=True)
class Plan:
    """How a file is to be read: its columns, the order of its dates, and what its headings do not say."""

    columns: tuple[Column, ...]
    benches: Benches
    today: date
    order: Order | None = None
    day: date | None = None  # of all results that have none of their own
    load_unit: str = "kg"

    def having(self, use: str) -> Column | None:
        return next((column for column in self.columns if column.use == use), None)

    def title(self, *uses: str) -> str:
        """The heading of the first of these uses that a column has; empty when none has."""
        return next((column.title for use in uses if (column := self.having(use))), "")


@dataclass(frozen=True)
class Problem:
    """Why a cell cannot be used, in words; `bench` is a name that no benchmark has."""

    row: int
    column: str
    reason: str
    bench: str = ""


def cell(cells: Sequence[str], column: Column | None) -> str:
    return cells[column.index] if column is not None and column.index < len(cells) else ""


def is_number(text: str) -> bool:
    return text.isascii() and text.replace(".", "", 1).isdecimal()
