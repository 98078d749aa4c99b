"""What screens ask for every second or two: one statement for the link and the run, one more when something changed."""

import json
from dataclasses import dataclass
from uuid import UUID

from django.db import connection

from athletes.models import Link
from sessions.clock.moment import READY_S, Change, Shape, class_shape, shape_from, shape_of
from sessions.models import ClassRun, PublishedSession

# For as long as screens say that a class is over, and a coach may still add a round.
AFTER_MS = 10 * 60_000

# Below the ORM for the same reason as `phone.read`. `plan` is the session as the live revision has it.
RUN = """
    SELECT run.id, run.key, run.version, run.hour, run.starts_ms, run.shape, coalesce((
        SELECT live.id FROM training_publishedsession live
        JOIN training_publication publication ON publication.id = live.publication_id AND publication.state = 'live'
        WHERE live.key = run.session_key AND live.date = run.date
    ), run.session_id) AS plan
"""
LATEST = """
    SELECT latest.id FROM training_classrun latest {of_whom}
    WHERE latest.standing AND latest.over_ms > %s ORDER BY {first} latest.starts_ms DESC, latest.id DESC LIMIT 1
"""
# Only a class of a session in which the athlete has targets; the one they came to before another that began later.
CAME_FIRST = "CASE WHEN came.id IS NULL THEN 1 ELSE 0 END,"
OF_OWN = """
    JOIN training_publishedsession session ON session.id = latest.session_id AND EXISTS (
        SELECT 1 FROM training_target target WHERE target.publication_id = session.publication_id
        AND target.session_id = session.id AND target.athlete_id = athlete.id
    )
    LEFT JOIN training_attendance came ON came.athlete_id = athlete.id
        AND came.session_key = latest.session_key AND came.date = latest.date AND came.hour = latest.hour
"""
OF_SCREEN = f"""
    {RUN} FROM athletes_link link LEFT JOIN training_classrun run ON run.id = ({LATEST.format(of_whom="", first="")})
    WHERE link.kind = 'screen' AND link.nonce = %s AND link.revoked_at IS NULL
"""
OF_ATHLETE = f"""
    {RUN}, athlete.id FROM athletes_link link
    JOIN athletes_athlete athlete ON athlete.id = link.athlete_id
    LEFT JOIN training_classrun run ON run.id = ({LATEST.format(of_whom=OF_OWN, first=CAME_FIRST)})
    WHERE link.kind = 'athlete' AND link.nonce = %s AND link.revoked_at IS NULL AND athlete.active
"""
OF_CLASS = f"""
    {RUN} FROM training_classrun run
    JOIN training_publishedsession session ON session.key = run.session_key AND session.date = run.date
    WHERE run.standing AND session.id = %s AND run.hour = %s
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

    @property
    def tag(self) -> str:
        """Changes whenever a screen has something new to learn."""
        return f'"{self.id}-{self.version}-{self.plan}"'

    def state(self) -> dict:
        """Everything a screen needs to go on alone. One query."""
        changes = [[change.at_ms, change.kind, change.value] for change in changes_of(self.id)]
        names = ("key", "version", "hour", "starts_ms", "shape", "plan")
        return {**{name: getattr(self, name) for name in names}, "changes": changes}


def class_on_screen(token: str, now_ms: int) -> tuple[bool, Running | None]:
    """Whether a wall screen's link is good, and the class that runs or has just ended. One query."""
    nonce = Link.nonce_of(token)
    row = _first(OF_SCREEN, [now_ms - AFTER_MS, nonce]) if nonce else None
    return row is not None, _running(row)


def class_of_athlete(token: str, now_ms: int) -> tuple[int | None, Running | None]:
    """The athlete a personal link belongs to (None: a dead link), and the class of a session of theirs. One query."""
    nonce = Link.nonce_of(token)
    row = _first(OF_ATHLETE, [now_ms - AFTER_MS, nonce]) if nonce else None
    return (row[-1] if row else None), _running(row)


def class_at(session_id: int, hour: str) -> Running | None:
    """The standing run of a session's class, in whatever revision it was started. One query."""
    return _running(_first(OF_CLASS, [session_id, hour]))


def standing_run(session: PublishedSession, hour: str) -> ClassRun | None:
    return ClassRun.objects.filter(session_key=session.key, date=session.date, hour=hour, standing=True).first()


def session_with_doses(running: Running) -> PublishedSession:
    """Whose doses belong to a class: the live revision's, unless its stations are no longer those that are running."""
    session = PublishedSession.objects.select_related("publication").get(pk=running.plan)
    if _stations(shape_of_class(session)) == _stations(shape_from(running.shape)):
        return session
    return ClassRun.objects.select_related("session__publication").get(pk=running.id).session


def parts_with_circuits(session: PublishedSession) -> dict[str, PublishedSession]:
    """The parts of a class that have a circuit, with their publication, by key; the class itself among them.

    One query, none where the class is its circuit alone.
    """
    found = {str(session.key): session}
    if any(part.session and not part.main for part in session.class_parts):
        own = PublishedSession.objects.filter(
            publication=session.publication_id, part_of=session.key, date=session.date
        )
        found |= {str(part.key): part for part in own.select_related("publication")}
    return found


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


def _running(row: tuple | None) -> Running | None:
    if row is None or row[0] is None:
        return None
    run, key, version, hour, starts_ms, shape, plan = row[:7]
    # A UUID comes as 32 digits from SQLite, and JSON as text from both databases.
    return Running(run, str(UUID(str(key))), version, hour, starts_ms, json.loads(shape), plan)
