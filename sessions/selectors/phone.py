"""What a personal link opens, in one statement: the page that everyone in the room opens in the same minute."""

from datetime import date

from django.db import connection

from athletes.models import Link

# Below the ORM, which would spend several times longer on writing the statement than the database on answering it.
OPENED = """
    SELECT athlete.name, page.path
    FROM athletes_link link
    JOIN athletes_athlete athlete ON athlete.id = link.athlete_id
    LEFT JOIN training_personalpage page ON page.athlete_id = athlete.id AND page.publication_id IN (
        SELECT publication.id
        FROM training_publication publication
        JOIN training_week week ON week.id = publication.week_id
        WHERE publication.state = 'live' AND week.starts_on IN (%s, %s)
    )
    WHERE link.kind = 'athlete' AND link.nonce = %s AND link.revoked_at IS NULL AND athlete.active
"""


def opened_by(token: str, mondays: tuple[date, date]) -> tuple[str, tuple[str, ...]] | None:
    """The athlete's name and frozen pages of the published weeks that start on `mondays`; None for a dead link."""
    nonce = Link.nonce_of(token)
    if nonce is None:
        return None
    with connection.cursor() as cursor:
        cursor.execute(OPENED, [*(monday.isoformat() for monday in mondays), nonce])
        rows = cursor.fetchall()
    return (rows[0][0], tuple(sorted(path for _, path in rows if path))) if rows else None
