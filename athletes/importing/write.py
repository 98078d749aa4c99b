"""What a coach does with a file: bring it in, say how it is read, look at what was found, keep it or not.

The work itself is done by a worker, see `import_run`.
"""

from datetime import timedelta
from functools import partial
from hashlib import sha256
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes.importing.read import MOVED_ON
from athletes.importing.reading import guessed
from athletes.importing.sheets.reading import CannotRead, open_table, refuse_misnamed
from athletes.models import Account, Import, ImportRemark
from athletes.once import insert_once, kept_before
from athletes.sending import send

State = Import.State
TASK = "athletes.import_run"
CONTENT = ("filename", "made_by_id", "digest")
FORGOTTEN_AFTER = timedelta(days=7)  # a file that nobody went on with: it holds people's names
REMEMBERED = timedelta(days=30)  # remarks on a file that is kept: they hold names too


def import_begin(*, key: UUID, filename: str, content: bytes, by: Account | None) -> Import:
    """Take a file in and guess how it is to be read. Nothing of it is kept yet.

    The same again under the same `key` returns the import that is there. Raises ValidationError on `file`.
    """
    source = Import(
        key=key,
        filename=filename[-120:],
        content=content,
        made_by=by,
        heartbeat_at=timezone.now(),
        digest=sha256(content).hexdigest(),
    )
    if kept := kept_before(source, CONTENT):
        return kept
    source.reading = _read(content, "", None, filename)
    return insert_once(source, CONTENT)


def import_reread(*, source: Import, sheet: str, heading_row: int) -> None:
    """Guess anew with another sheet, or another row of headings."""
    reading = _read(bytes(source.content), sheet, heading_row if sheet == source.reading["sheet"] else None)
    _move(source, State.MATCHING, reading=reading)


def import_check(*, source: Import, **reading) -> None:
    """Have the whole file checked as a coach says that it is read: by names of `Import.reading`."""
    _move(source, State.CHECKING, reading={**source.reading, **reading})


def import_keep(*, source: Import, create_athletes: bool) -> None:
    """Have everything kept that was found right, and athletes added who are not here yet, if the coach says so.

    Athletes whose estimates an earlier, broken-off keeping left behind stay in `touched`.
    """
    _move(source, State.KEEPING, only_from=[State.CHECKED], create_athletes=create_athletes, counts={})


def import_discard(*, source: Import) -> None:
    """Forget a file that is not being worked on. What was kept of it stays."""
    if not Import.objects.filter(pk=source.pk).exclude(state__in=Import.RUNNING).delete()[0]:
        raise ValidationError("This file is being worked on. Wait until it is done.")


def imports_forget() -> int:
    """Forget files that nobody went on with for a week, and remarks on older ones; how many files there were."""
    old = ImportRemark.objects.filter(source__state=State.DONE, source__finished_at__lt=timezone.now() - REMEMBERED)
    old.delete()
    idle = Import.objects.exclude(state__in=[*Import.RUNNING, State.DONE])
    return idle.filter(heartbeat_at__lt=timezone.now() - FORGOTTEN_AFTER).delete()[0]


def _read(content: bytes, sheet: str, heading_row: int | None, filename: str = "") -> dict:
    try:
        refuse_misnamed(filename, content)
        return guessed(open_table(content, sheet), heading_row)
    except CannotRead as error:
        raise ValidationError({"file": str(error)}) from None


@transaction.atomic
def _move(source: Import, state: str, only_from: list[str] | None = None, **changes) -> None:
    """To another state, unless the import has moved on since the page was made; then ValidationError."""
    free = Import.objects.filter(pk=source.pk).exclude(state__in=[*Import.RUNNING, State.DONE])
    if only_from:
        free = free.filter(state__in=only_from)
    fresh = {"claim": None, "attempts": 0, "done": 0, "total": 0, "failure": "", "heartbeat_at": timezone.now()}
    if not free.update(**{**fresh, **changes, "state": state}):
        raise ValidationError(MOVED_ON)
    if state in Import.RUNNING:
        transaction.on_commit(partial(send, TASK, source.pk))
