"""A chart as a page shows it: the figure, the same values in words, and what is to be said about it."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Panel:
    """`key` is unique on a page, `file` what a saved picture is called, `empty` stands where there are no rows,
    `lead` above the chart."""

    key: str
    title: str
    label: str
    head: list[str]
    rows: list[list[str]]
    empty: str
    file: str
    figure: dict | None = None
    notes: list[str] = field(default_factory=list)
    open: bool = False
    lead: str = ""
