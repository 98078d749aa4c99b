"""What Django's own checks leave out. The database is looked at before it is brought up to date, and by doctor."""

from collections.abc import Collection

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections

HINT = "Make another one: createdb --encoding=UTF8 --template=template0 coachhub"


@register(Tags.database)
def keeps_any_text(databases: Collection[str] | None = None, **_) -> list[CheckMessage]:
    """PostgreSQL on a machine without a language of its own makes databases that refuse every name with an accent."""
    found: list[CheckMessage] = []
    for alias in databases or ():
        if connections[alias].vendor == "postgresql":
            with connections[alias].cursor() as cursor:
                cursor.execute("SHOW server_encoding")
                [encoding] = cursor.fetchone()
            if encoding != "UTF8":
                found.append(Error(f"The database keeps text as {encoding}, not as UTF8.", HINT, id="coachhub.E001"))
    return found
