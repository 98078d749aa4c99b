"""What people are asked to do and what they did, as tables; and everything kept about one athlete, as one file."""

import zipfile
from collections.abc import Iterator
from io import BytesIO
from itertools import chain

from django.db.models import QuerySet
from django.template.loader import render_to_string

from athletes.capacity.firmness import firmness
from athletes.exporting.read import TOGETHER, person_tables
from athletes.exporting.tables import Table, csv_pieces, json_pieces
from athletes.gym.read import gym, today
from athletes.models import Athlete
from sessions.models import LogEntry, Publication, PublishedSession, Target

TARGETS = (
    "athlete", "board name", "week", "revision", "day", "session", "station", "movement", "asked for", "unit",
    "load [kg]", "hold [W, runs m/s]", "done by [s]", "headroom", "probability", "firmness",
)  # fmt: skip
LOGS = {
    "athlete": "log__athlete__name", "board name": "log__athlete__board_name", "day": "log__date",
    "session": "log__session__circuit__name", "station": "station", "movement": "movement__name",
    "rounds": "rounds", "done in a round": "dose", "load [kg]": "load_kg", "rounds asked for": "asked_rounds",
    "asked for in a round": "asked_dose", "RPE": "log__rpe", "pain": "log__pain", "stopped early": "log__stopped",
    "note": "log__note", "from": "log__source", "done at": "log__done_at", "replaced": "log__replaced",
}  # fmt: skip
UNITS = {"kcal": "kcal", "metres": "m", "seconds": "s"}
READ_ME = "everything.html"


def targets_table(targets: QuerySet[Target] | None = None) -> Table:
    """Targets as they were published; by default those of the weeks that everyone sees."""
    rows = Target.objects.filter(publication__state=Publication.State.LIVE) if targets is None else targets
    rows = rows.select_related("athlete").order_by("session__date", "session_id", "athlete_id", "station")
    return Table("targets", TARGETS, _targets(rows))


def logs_table(entries: QuerySet[LogEntry] | None = None) -> Table:
    """Logged stations, a row each; logs that a later one replaced too."""
    rows = LogEntry.objects.all() if entries is None else entries
    rows = rows.order_by("log__date", "log_id", "station")
    return Table("logs", list(LOGS), rows.values_list(*LOGS.values()).iterator(TOGETHER))


TABLES = {"targets": targets_table, "logs": logs_table}


def everything_about(athlete: Athlete) -> BytesIO:
    """All that is kept about one athlete, for that person: a page to read, and each table as JSON and CSV."""
    tables = [
        Table(table.name, table.columns, list(table.rows)) for table in chain(person_tables(athlete), _own(athlete))
    ]
    page = {"athlete": athlete, "tables": tables, "gym": gym(), "today": today()}
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(READ_ME, render_to_string("records/everything.html", page))
        for table in tables:
            name = table.name.replace(" ", "-")
            archive.writestr(f"{name}.csv", b"".join(csv_pieces(table.columns, table.rows)))
            archive.writestr(f"{name}.json", b"".join(json_pieces(table.columns, table.rows)))
    file.seek(0)
    return file


def _own(athlete: Athlete) -> list[Table]:
    """What this app keeps about one athlete: of every revision that was ever published, not only what is live."""
    pins = athlete.pins.order_by("made_at").values_list(
        "station", "movement__name", "dose", "load_kg", "reason", "made_by__name", "made_at", "taken_off_at"
    )
    columns = ("station", "movement", "asked for", "load [kg]", "reason", "by", "made at", "taken off at")
    came = athlete.attendances.order_by("date").values_list("date", "hour", "marked_by__name", "marked_at")
    return [
        targets_table(athlete.targets.all()),
        Table("targets set by hand", columns, pins),
        logs_table(LogEntry.objects.filter(log__athlete=athlete)),
        _log_notes(athlete),
        Table("attendance", ("day", "class", "marked by", "marked at"), came),
    ]


def _log_notes(athlete: Athlete) -> Table:
    """Logs as a whole: one without a logged station says something too."""
    columns = ("date", "rpe", "pain", "stopped", "time_s", "repetitions", "note", "source", "done_at", "received_at")
    names = ("day", "RPE", "pain", "stopped early", "time reached [s]", "repetitions of the last round", "note", "from")
    columns, names = (*columns, "replaced"), (*names, "done at", "received at", "replaced")
    return Table("sessions logged", names, athlete.logs.order_by("date", "pk").values_list(*columns))


def _targets(rows: QuerySet[Target]) -> Iterator[tuple]:
    """Two queries, however many rows: the sessions' circuits are kept while the rows go by."""
    found = PublishedSession.objects.filter(pk__in=rows.order_by().values("session_id"))
    sessions = found.select_related("publication__week").in_bulk()
    for row in rows.iterator(TOGETHER):
        yield _target(row, sessions[row.session_id])


def _target(row: Target, session: PublishedSession) -> tuple:
    what = ("rest", None, "")
    if row.rung >= 0:
        option = session.definition.stations[row.station - 1].options[row.rung]
        what = (option.movement.name, row.dose, UNITS.get(option.dose_kind, "repetitions"))
    publication, sure = session.publication, None if row.sd_log is None else str(firmness(row.sd_log))
    return (
        row.athlete.name, row.athlete.board_name, str(publication.week), publication.revision, session.date,
        session.definition.name, row.station, *what, row.load_kg, row.hold, row.finish_by_s, row.headroom,
        row.probability, sure,
    )  # fmt: skip
