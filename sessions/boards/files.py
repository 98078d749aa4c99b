"""Published pages, named by their content: the same page is kept once, and a name never changes meaning."""

import hashlib
from functools import lru_cache

from django.conf import settings

from sessions.boards.stores import store

IN_MEMORY = 1000  # pages, of those that come from a bucket


def write(content: str | bytes, suffix: str) -> str:
    """Keep `content`; the name under which `read` finds it. Complete or not there at all.

    What is there already is in use again: not to be swept away as one that nobody names.
    """
    data = content.encode() if isinstance(content, str) else content
    digest = hashlib.sha256(data).hexdigest()[:40]
    name = f"{digest[:2]}/{digest}{suffix}"
    store().put(name, data)
    return name


def read(name: str) -> bytes:
    """The page kept as `name`; FileNotFoundError when it is gone."""
    return _fetched(settings.BOARDS_URL, name) if settings.BOARDS_URL else store().get(name)


@lru_cache(maxsize=IN_MEMORY)
def _fetched(url: str, name: str) -> bytes:
    return store().get(name)
