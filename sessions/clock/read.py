"""What screens ask for every second or two: one statement for the link and the run, one more when something changed."""

import json
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db import connection

from athletes.models import Link
from sessions.clock.moment import READY_S, Change, Shape, class_shape, shape_from, shape_of
from sessions.models import ClassRun, PublishedSession
from sessions.weeks.published import parts_with_circuits

# For as long as screens say that a class is over, and a coach may still add a round.
AFTER_MS = 10 * 60_000
AHEAD = timedelta(days=7)  # a wall shows the next class, a phone the days to come

# Below the ORM for the same reason as `phone.read`. `plan` is the session as the live revision has it.
RUN = """
    run.id, run.key, run.version, run.hour, run.starts_ms, run.shape, coalesce((
        SELECT live.id FROM training_publishedsession live
        JOIN training_publication publication ON publication.id = live.publication_id AND publication.state = 'live'
        WHERE live.key = run.session_key AND live.date = run.date
    ), run.session_id) AS plan, run.wave
"""
LATEST = """
    SELECT latest.id FROM training_classrun latest {of_whom}
    WHERE {own} latest.standing AND latest.over_ms > %s ORDER BY {first} latest.starts_ms DESC, latest.id DESC LIMIT 1
"""
# Only a class in which the athlete takes part: they were marked there, or have a place. Where they came goes first.
CAME_FIRST = "CASE WHEN came.id IS NULL THEN 1 ELSE 0 END,"
OF_OWN = """
    JOIN training_publishedsession session ON session.id = latest.session_id AND EXISTS (
        SELECT 1 FROM training_target target WHERE target.publication_id = session.publication_id
        AND target.session_id = session.id AND target.athlete_id = athlete.id
    )
    LEFT JOIN training_attendance came ON came.athlete_id = athlete.id
        AND came.session_key = latest.session_key AND came.date = latest.date AND came.hour = latest.hour
"""
TAKES_PART = """(came.id IS NOT NULL OR EXISTS (
    SELECT 1 FROM training_start start WHERE start.athlete_id = athlete.id AND start.session_key = latest.session_key
    AND start.date = latest.date AND start.hour = latest.hour
)) AND"""
# Versions add up, so that one number moves with any of them (models.place).
SEEN = (
    "(SELECT coalesce(sum(seen.number), 0) FROM training_classversion seen WHERE seen.date BETWEEN %s AND %s {of_whom})"
)
OF_OWN_CLASSES = """
    AND EXISTS (
        SELECT 1 FROM training_publishedsession own
        JOIN training_publication shown ON shown.id = own.publication_id AND shown.state = 'live'
        JOIN training_target asked ON asked.session_id = own.id AND asked.athlete_id = athlete.id
        WHERE own.key = seen.session_key AND own.date = seen.date
    )
"""
OF_SCREEN = f"""
    SELECT {SEEN.format(of_whom="")}, {RUN} FROM athletes_link link
    LEFT JOIN training_classrun run ON run.id = ({LATEST.format(of_whom="", first="", own="")})
    WHERE link.kind = 'screen' AND link.nonce = %s AND link.revoked_at IS NULL
"""
OF_ATHLETE = f"""
    SELECT {SEEN.format(of_whom=OF_OWN_CLASSES)}, {RUN}, athlete.id FROM athletes_link link
    JOIN athletes_athlete athlete ON athlete.id = link.athlete_id
    LEFT JOIN training_classrun run ON run.id = ({LATEST.format(of_whom=OF_OWN, first=CAME_FIRST, own=TAKES_PART)})
    WHERE link.kind = 'athlete' AND link.nonce = %s AND link.revoked_at IS NULL AND athlete.active
"""
OF_CLASS = f"""
    SELECT coalesce((
        SELECT seen.number FROM training_classversion seen
        WHERE seen.session_key = coalesce(session.part_of, session.key) AND seen.date = session.date
    ), 0), {RUN} FROM training_publishedsession session
    LEFT JOIN training_classrun run ON run.session_key = session.key AND run.date = session.date
        AND run.standing AND run.hour = %s
    WHERE session.id = %s
"""
CHANGES = "SELECT at_ms, kind, value FROM training_runchange WHERE run_id = %s ORDER BY at_ms, number"


@dataclass(frozen=True)
class Running:
    """A class's run as screens need it; `plan` is the published session with the doses that everyone sees now."""

    id: int
    key: str
    version: int
    hour: str
    starts_ms: int
    shape: dict
    plan: int
    wave: int

    def state(self) -> dict:
        """Everything a screen needs to go on alone. One query."""
        changes = [[change.at_ms, change.kind, change.value] for change in changes_of(self.id)]
        names = ("key", "version", "hour", "starts_ms", "shape", "plan", "wave")
        return {**{name: getattr(self, name) for name in names}, "changes": changes}


@dataclass(frozen=True)
class Now:
    """What a screen follows: the class that runs or has just ended; `seen` moves with all that it shows of classes."""

    running: Running | None
    seen: int
    athlete: int | None = None

    @property
    def tag(self) -> str:
        """Changes whenever a screen has something new to learn."""
        run = self.running
        return f'"{run.id}-{run.version}-{run.plan}-{self.seen}"' if run else f'"none-{self.seen}"'

    def state(self) -> dict:
        return {"run": self.running and self.running.state(), "seen": str(self.seen)}


def class_on_screen(token: str, now_ms: int, day: date) -> Now | None:
    """What a wall screen follows on a day; None for a dead link. One query."""
    nonce = Link.nonce_of(token)
    days = [day.isoformat(), (day + AHEAD).isoformat()]
    return _now(_first(OF_SCREEN, [*days, now_ms - AFTER_MS, nonce])) if nonce else None


def class_of_athlete(token: str, now_ms: int, day: date) -> Now | None:
    """What the phone of the athlete follows to whom a link belongs: of their own sessions. None for a dead link. One
    query.
    """
    nonce = Link.nonce_of(token)
    days = [day.isoformat(), (day + AHEAD).isoformat()]
    return _now(_first(OF_ATHLETE, [*days, now_ms - AFTER_MS, nonce])) if nonce else None


def class_at(session_id: int, hour: str) -> Now:
    """The standing run of a session's class, in whatever revision it was started. One query."""
    return _now(_first(OF_CLASS, [hour, session_id])) or Now(None, 0)


def standing_run(session: PublishedSession, hour: str) -> ClassRun | None:
    return ClassRun.objects.filter(session_key=session.key, date=session.date, hour=hour, standing=True).first()


def session_with_doses(running: Running) -> PublishedSession:
    """Whose doses belong to a class: the live revision's, unless its stations are no longer those that are running."""
    session = PublishedSession.objects.select_related("publication").get(pk=running.plan)
    if _stations(shape_of_class(session)) == _stations(shape_from(running.shape)):
        return session
    return ClassRun.objects.select_related("session__publication").get(pk=running.id).session


def keeps_to_earlier(session: PublishedSession, hour: str) -> bool:
    """Whether a class goes on with the stations of an earlier revision, since those published now are others."""
    running = class_at(session.pk, hour).running
    return running is not None and session_with_doses(running).pk != session.pk


def shape_of_class(session: PublishedSession, ready_s: int = READY_S) -> Shape:
    """What the clock of a class needs: its parts, or its circuit alone."""
    if not session.class_parts:
        return shape_of(session.definition, ready_s)
    own = parts_with_circuits(session)
    parts = [(part.minutes, own[part.session].definition if part.session else None) for part in session.class_parts]
    return class_shape(parts, session.place, ready_s)


def _stations(shape: Shape) -> list[int]:
    """How many stations each part has; words have one."""
    return [len(part.windows_s) for part in shape.in_order]


def changes_of(run_id: int) -> list[Change]:
    """A run's changes in the order in which they count."""
    with connection.cursor() as cursor:
        cursor.execute(CHANGES, [run_id])
        return [Change(*row) for row in cursor.fetchall()]


def _first(statement: str, values: list) -> tuple | None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return cursor.fetchone()


def _now(row: tuple | None) -> Now | None:
    if row is None:
        return None
    seen, run, key, version, hour, starts_ms, shape, plan, wave = row[:9]
    athlete = row[9] if len(row) > 9 else None
    if run is None:
        return Now(None, int(seen), athlete)
    # A UUID comes as 32 digits from SQLite, and JSON as text from both databases.
    running = Running(run, str(UUID(str(key))), version, hour, starts_ms, json.loads(shape), plan, wave)
    return Now(running, int(seen), athlete)
