"""Published pages on disk, named by their content: the same page is written once, and a name never changes meaning."""

import hashlib
import os
import tempfile
from pathlib import Path

from django.conf import settings


def write(content: str | bytes, suffix: str) -> str:
    """Keep `content`; the name under which `read` finds it. Complete or not there at all."""
    data = content.encode() if isinstance(content, str) else content
    digest = hashlib.sha256(data).hexdigest()[:40]
    name = f"{digest[:2]}/{digest}{suffix}"
    path = Path(settings.MEDIA_ROOT) / name
    if path.exists():
        os.utime(path)  # in use again: not to be swept away as one that nobody names
        return name
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor, draft = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
    os.replace(draft, path)
    return name


def read(name: str) -> bytes:
    """The page kept as `name`; FileNotFoundError when it is gone."""
    return (Path(settings.MEDIA_ROOT) / name).read_bytes()
