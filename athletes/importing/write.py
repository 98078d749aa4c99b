"""What a coach does with a file: bring it in, say how it is read, look at what was found, keep it or not.

The work itself is `importing.run`: at once for what a page can wait for, else by a worker.
"""

import logging
from collections.abc import Iterable
from datetime import timedelta
from functools import partial
from hashlib import sha256
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes.importing.read import MOVED_ON, at_once, benches, efforts_of, names_explained
from athletes.importing.reading import guessed, part_guessed, without_samples
from athletes.importing.run import run
from athletes.importing.sheets.benches import Benches
from athletes.importing.sheets.reading import CannotRead, open_table, refuse_misnamed
from athletes.models import Account, Import, ImportRemark
from athletes.once import insert_once, kept_before
from athletes.sending import send

logger = logging.getLogger(__name__)

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
    source.reading = _read(content, filename)
    return insert_once(source, CONTENT)


def import_reread(*, source: Import, part: int, heading_row: int) -> None:
    """Guess one part anew, with another row of headings."""
    parts = list(source.reading["parts"])
    known = Benches(benches(), names_explained())
    try:
        table = open_table(bytes(source.content), parts[part]["sheet"])
        parts[part] = {**part_guessed(table, known, heading_row), "take": parts[part]["take"]}
    except CannotRead:  # it was done with in this very moment
        raise ValidationError(MOVED_ON) from None
    _move(source, State.MATCHING, reading={**source.reading, "parts": parts})


def import_check(*, source: Import, ticked: dict | None = None, **reading) -> None:
    """Have the whole file checked as a coach says that it is read: by names of `Import.reading`.

    `ticked` holds what `import_keep` is told: it stays ticked for when the file is looked at again.
    """
    changes = {} if ticked is None else {"create_athletes": ticked["create_athletes"]}
    with transaction.atomic():
        _move(source, State.CHECKING, reading={**source.reading, **reading}, **changes)
        if ticked is not None:
            _tick(source, ticked["wanted"])
    _run_short(source)


def import_keep(*, source: Import, create_athletes: bool, wanted: Iterable[int] | None = None) -> None:
    """Have everything kept that was found right, athletes added who are not here yet if the coach says so, and of what
    is questioned the remarks `wanted` (None: those that are ticked already).

    Athletes whose estimates an earlier, broken-off keeping left behind stay in `touched`.
    """
    changes = {"create_athletes": create_athletes, "counts": {}}
    with transaction.atomic():
        _move(source, State.KEEPING, only_from=[State.CHECKED], **changes)  # first: a refused keep changes no ticks
        if wanted is not None:
            _tick(source, wanted)
    _run_short(source)


def import_take_back(*, source: Import, by: Account | None) -> None:
    """Void everything that was kept of a file, and remove whom it added where nothing else rests on them.

    A file that is taken back already stays as it is.
    """
    if not Import.objects.filter(pk=source.pk, state=State.TAKEN_BACK).exists():
        _move(source, State.TAKING_BACK, only_from=[State.DONE, State.FAILED], taken_back_by=by)
        _run_short(source)


@transaction.atomic
def import_cancel(*, source: Import, by: Account | None) -> bool:
    """Stop a check or a keeping that a worker is at; False when none is under way.

    Whoever works on it has lost the claim with this, and writes nothing more. Of a keeping, what is kept already is
    taken back.
    """
    row = Import.objects.select_for_update().defer("content").get(pk=source.pk)
    if row.state not in (State.CHECKING, State.KEEPING):
        return False
    kept = efforts_of(row).exists() or row.made.get("athletes") or row.made.get("facts")
    if kept and row.state == State.KEEPING:
        changes = {"state": State.TAKING_BACK, "taken_back_by": by}
        transaction.on_commit(partial(send, TASK, row.pk))
    else:
        changes = {"state": State.MATCHING, "counts": {}}
        row.remarks.all().delete()
    return bool(Import.objects.filter(pk=row.pk).update(**_fresh(), **changes))


def import_discard(*, source: Import) -> None:
    """Forget a file that is not being worked on. What was kept of it stays, and so does the row by which to take it
    back; forgotten already, that one stays as it is."""
    free = Import.objects.filter(pk=source.pk).exclude(state__in=Import.RUNNING)
    if efforts_of(source).exists() or source.made.get("athletes"):
        if free.filter(state=State.DONE, content=b"").exists():
            return
        over = {"state": State.DONE, "content": b"", "finished_at": timezone.now(), "failure": ""}
        gone = free.update(**over, reading=without_samples(source.reading))
    else:
        gone = free.delete()[0]
    if not gone:
        raise ValidationError("This file is being worked on. Wait until it is done.")


def imports_forget() -> int:
    """Forget files that nobody went on with for a week, and remarks on older ones; how many files there were."""
    over = (State.DONE, State.TAKEN_BACK)
    old = ImportRemark.objects.filter(source__state__in=over, source__finished_at__lt=timezone.now() - REMEMBERED)
    old.delete()
    idle = Import.objects.exclude(state__in=[*Import.RUNNING, *over]).defer("content")
    before = idle.filter(heartbeat_at__lt=timezone.now() - FORGOTTEN_AFTER)
    for source in before:
        import_discard(source=source)
    return len(before)


def _read(content: bytes, filename: str) -> dict:
    try:
        refuse_misnamed(filename, content)
        return guessed(content)
    except CannotRead as error:
        raise ValidationError({"file": str(error)}) from None


def _tick(source: Import, wanted: Iterable[int]) -> None:
    questioned = source.remarks.filter(kind=ImportRemark.Kind.QUESTIONED)
    wanted = list(wanted)
    questioned.update(wanted=False)
    questioned.filter(pk__in=wanted).update(wanted=True)


def _run_short(source: Import) -> None:
    """Have it worked on while the page waits, where that is short; else a worker has been told."""
    if at_once(source):
        try:
            run(source.pk)
        except Exception:  # its page says so, and what to do
            logger.exception("import %d stopped on a defect", source.pk)


@transaction.atomic
def _move(source: Import, state: str, only_from: list[str] | None = None, **changes) -> None:
    """To another state, unless the import has moved on since the page was made; then ValidationError. Work that is not
    short goes to a worker."""
    free = Import.objects.filter(pk=source.pk).exclude(state__in=Import.RUNNING)
    free = free.filter(state__in=only_from) if only_from else free.exclude(state__in=[State.DONE, State.TAKEN_BACK])
    if not free.update(**{**_fresh(), **changes, "state": state}):
        raise ValidationError(MOVED_ON)
    if state in Import.RUNNING and not at_once(source):
        transaction.on_commit(partial(send, TASK, source.pk))


def _fresh() -> dict:
    """Of a row that nobody works on yet, or any more."""
    return {"claim": None, "attempts": 0, "done": 0, "total": 0, "failure": "", "heartbeat_at": timezone.now()}
