"""What a personal link opens, in one statement: the page that everyone in the room opens in the same minute."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db import connection

from athletes.models import Link
from sessions.models import Log

# Below the ORM, which would spend several times longer on writing the statement than the database on answering it.
OPENED = """
    SELECT athlete.id, athlete.key, athlete.name, athlete.load_unit, page.path,
           log.session_key, log.date, log.key, log.rpe
    FROM athletes_link link
    JOIN athletes_athlete own ON own.id = link.athlete_id
    JOIN athletes_athlete athlete ON athlete.id = COALESCE(own.merged_into_id, own.id)
    LEFT JOIN training_personalpage page ON page.athlete_id = athlete.id AND page.publication_id IN (
        SELECT publication.id
        FROM training_publication publication
        JOIN training_week week ON week.id = publication.week_id
        WHERE publication.state = 'live' AND week.starts_on IN ({weeks})
    )
    LEFT JOIN training_log log ON log.athlete_id = athlete.id AND NOT log.replaced AND log.date >= %s
    WHERE link.kind = 'athlete' AND link.nonce = %s AND link.revoked_at IS NULL AND athlete.active
"""


@dataclass(frozen=True)
class Opened:
    """Whose page a link opens, what it is made of, and which sessions are logged: (session, day) → (log, RPE)."""

    athlete_id: int
    athlete_key: str
    name: str
    load_unit: str
    pages: tuple[str, ...]
    logged: tuple[tuple[tuple[str, str], tuple[str, float | None]], ...]


def opened_by(token: str, mondays: list[date]) -> Opened | None:
    """Frozen pages of the published weeks that start on `mondays`, logs from the first of them on.

    None for a dead link. Equal whenever what a page shows is equal.
    """
    nonce = Link.nonce_of(token)
    if nonce is None:
        return None
    weeks = [monday.isoformat() for monday in mondays]
    with connection.cursor() as cursor:
        cursor.execute(OPENED.format(weeks=", ".join(["%s"] * len(weeks))), [*weeks, min(weeks), nonce])
        rows = cursor.fetchall()
    if not rows:
        return None
    athlete_id, key, name, load_unit = rows[0][:4]
    pages = tuple(sorted({row[4] for row in rows if row[4]}))
    logged = {_session(*row[5:7]): (_key(row[7]), row[8]) for row in rows if row[5]}
    return Opened(athlete_id, _key(key), name, load_unit, pages, tuple(sorted(logged.items())))


def _session(key: str | UUID, day: str | date) -> tuple[str, str]:
    return _key(key), str(day)


def _key(value: str | UUID) -> str:
    """A UUID as text, whichever way this database keeps it."""
    return str(value if isinstance(value, UUID) else UUID(value))


def logs_with_entries(keys: list[str]) -> dict[str, Log]:
    """Logs and what they say of each station, by key; two queries."""
    logs = Log.objects.filter(key__in=keys).prefetch_related("entries") if keys else ()
    return {str(log.key): log for log in logs}
