"""What is kept about people and what they can do, as tables: of everyone, or of one athlete.

Rows are read from the database as they are written to the file, so a table may be of any length.
"""

from collections.abc import Iterator

import numpy as np
from django.db.models import QuerySet

from athletes.capacity.firmness import firmness
from athletes.capacity.power_duration import log_power_sd
from athletes.estimates.read import FIRMNESS_AT_S
from athletes.exporting.tables import Table
from athletes.models import Athlete, Effort, Estimate
from athletes.models.benchmark import Benchmark
from athletes.models.movement import Engine

TOGETHER = 2000  # rows read at once
ATHLETES = {
    "name": "name", "board name": "board_name", "date of birth": "born", "sex": "sex", "body mass [kg]": "body_mass_kg",
    "loads shown in": "load_unit", "joined on": "joined_on", "back after a break since": "returned_on",
    "takes part": "active", "note": "note",
}  # fmt: skip
EFFORTS = {
    "athlete": "athlete__name", "board name": "athlete__board_name", "benchmark": "benchmark__name",
    "result": "typed", "day": "performed_on", "value": "value", "unit": "benchmark__measure",
    "repetitions of a lift": "repetitions", "fixed at": "fixed", "entered at": "entered_at",
    "entered by": "entered_by__name", "question": "question", "voided": "voided_at", "void reason": "void_reason",
}  # fmt: skip
ESTIMATES = (
    "athlete", "board name", "of", "as of", "firmness", "SD of the logarithm",
    "CP [W, runs m/s, paced movements repetitions/min]", "W′ [J, runs m, paced movements repetitions/min · s]",
    "k [s]", "best [repetitions, s or kg]", "efforts it rests on", "method", "mean", "covariance",
)  # fmt: skip


def athletes_table(athletes: QuerySet[Athlete] | None = None) -> Table:
    """Athletes with their private facts."""
    rows = Athlete.objects.all() if athletes is None else athletes
    return Table("athletes", list(ATHLETES), rows.values_list(*ATHLETES.values()).iterator(TOGETHER))


def efforts_table(efforts: QuerySet[Effort] | None = None) -> Table:
    """Efforts, voided ones too; an import of the file finds them all kept already."""
    rows = Effort.objects.all() if efforts is None else efforts
    rows = rows.order_by("athlete__name", "athlete_id", "performed_on", "pk")
    return Table("efforts", list(EFFORTS), _with_units(rows.values_list(*EFFORTS.values()).iterator(TOGETHER)))


def estimates_table(estimates: QuerySet[Estimate] | None = None) -> Table:
    """Estimates as figures, and as the method keeps them: the mean and covariance of the logarithms."""
    rows = Estimate.objects.all() if estimates is None else estimates
    rows = rows.select_related("athlete", "movement").order_by(
        "athlete__name", "athlete_id", "-engine", "movement__name"
    )
    return Table("estimates", ESTIMATES, (_estimate(row) for row in rows.iterator(TOGETHER)))


TABLES = {"athletes": athletes_table, "efforts": efforts_table, "estimates": estimates_table}


def person_tables(athlete: Athlete) -> list[Table]:
    """Everything this app keeps about one athlete."""
    return [
        athletes_table(Athlete.objects.filter(pk=athlete.pk)),
        efforts_table(athlete.efforts.all()),
        estimates_table(athlete.estimates.all()),
        _limitations(athlete),
        _table(
            "cautions set aside",
            athlete.overrides.order_by("starts_on"),
            {
                "caution": "caution", "movement": "movement__name", "from": "starts_on", "until": "ends_on",
                "reason": "reason", "by": "made_by__name", "made at": "made_at",
            },
        ),
        _table(
            "evidence from logs",
            athlete.evidence.order_by("performed_on", "pk"),
            {
                "day": "performed_on", "engine": "engine", "movement": "movement__name", "value": "value",
                "over [s]": "duration_s", "SD of the logarithm": "sd_log", "method": "method_version",
            },
        ),
        _table("personal links", athlete.links.order_by("pk"), {"made at": "created_at", "revoked at": "revoked_at"}),
    ]  # fmt: skip


def _limitations(athlete: Athlete) -> Table:
    rows = athlete.limitations.select_related("entered_by").prefetch_related("movements").order_by("starts_on", "pk")
    columns = ("kind", "patterns", "movements", "from", "review on", "note", "entered by", "entered at")
    return Table(
        "limitations",
        columns,
        [
            (
                row.get_kind_display(), ", ".join(row.patterns), ", ".join(m.name for m in row.movements.all()),
                row.starts_on, row.review_on, row.note, str(row.entered_by or ""), row.created_at,
            )
            for row in rows
        ],
    )  # fmt: skip


def _table(name: str, rows: QuerySet, columns: dict[str, str]) -> Table:
    return Table(name, list(columns), rows.values_list(*columns.values()).iterator(TOGETHER))


def _with_units(rows: Iterator[tuple]) -> Iterator[tuple]:
    at = list(EFFORTS).index("unit")
    for row in rows:
        yield (*row[:at], Benchmark.VALUE_UNITS[row[at]], *row[at + 1 :])


def _estimate(row: Estimate) -> tuple:
    figures, none = np.exp(row.mean).tolist(), [None, None, None]
    curve = len(row.mean) == len(none)
    if curve:  # of an engine, and of a movement that is paced
        sd = float(log_power_sd(FIRMNESS_AT_S, np.array(row.mean), np.array(row.covariance)))
    else:
        sd = float(row.covariance[0][0]) ** 0.5
    subject = Engine(row.engine).label if row.engine else row.movement.name
    facts = (row.athlete.name, row.athlete.board_name, subject, row.as_of, str(firmness(sd)), sd)
    shown = [*figures, None] if curve else [*none, *figures]
    return (*facts, *shown, len(row.efforts), row.method_version, row.mean, row.covariance)
