"""An import in the background: claim, check or keep, batch by batch, and at the end the estimates.

Every step may be killed and done again. A worker owns an import by its claim token; each write first renews the
heartbeat under that token in the same transaction, so a worker that lost its claim can write nothing more. Rows that
are kept are counted in the transaction that keeps them: another worker goes on behind them.
"""

import logging
import uuid
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from itertools import islice

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from athletes.estimates.write import estimates_refresh
from athletes.importing.batch import take
from athletes.importing.read import benches, roll
from athletes.importing.reading import plan_of
from athletes.importing.sheets.cannot_read import CannotRead
from athletes.importing.sheets.reading import Row, Table, open_table
from athletes.importing.work import Work
from athletes.models import Athlete, Benchmark, Import, ImportRemark

logger = logging.getLogger(__name__)

State = Import.State
BATCH = 1000  # rows at a time: bounds memory; a batch costs a constant number of queries
SILENT_AFTER = timedelta(seconds=60)
MOST_ATTEMPTS = 4
MOST_CLASHES = 3  # with athletes who are added by someone else at the same moment
DEFECT = (
    "This stopped on an error in coachhub itself. What was kept before stays, and nothing is kept twice. Try again; if "
    "it stops again, whoever hosts coachhub finds the reason in the worker's log."
)


class ClaimLost(Exception):
    """Another worker has taken this import over."""


def run(import_id: int) -> None:
    """Check or keep a file: nothing happens when another worker has it, or when it is gone or done."""
    claim = uuid.uuid4()
    waiting = Import.objects.filter(pk=import_id, state__in=Import.RUNNING, claim=None)
    if not waiting.update(claim=claim, heartbeat_at=timezone.now(), attempts=F("attempts") + 1):
        logger.info("import %d is not waiting any more; skipping", import_id)
        return
    source = Import.objects.select_related("made_by").get(pk=import_id)
    try:
        (_check if source.state == State.CHECKING else _keep)(source)
    except ClaimLost:
        logger.warning("import %d was taken over by another worker", import_id)
    except CannotRead as error:
        _fail(source, str(error))
    except Exception:
        _fail(source, DEFECT)
        raise  # a task that failed must look failed


def _check(source: Import) -> None:
    """Go through the whole file without writing anything but what there is to say of it."""
    table, work = open_table(bytes(source.content), source.reading["sheet"]), _work(source)
    beat(source, total=table.length(), done=0, counts={})
    source.remarks.all().delete()
    counts = Counter()
    for rows in _batches(_rows_below(table, source)):
        outcome = take(rows, work, write=False)
        counts += outcome.counts
        with transaction.atomic():
            beat(source, done=rows[-1][0], counts=counts)
            for remark in outcome.remarks:
                remark.source = source
            ImportRemark.objects.bulk_create(outcome.remarks, batch_size=500)
    beat(source, state=State.CHECKED, claim=None, done=F("total"))


def _keep(source: Import) -> None:
    table, work = open_table(bytes(source.content), source.reading["sheet"]), _work(source)
    if not source.total:
        beat(source, total=table.length())
    rest = (row for row in _rows_below(table, source) if row[0] > source.done)
    for rows in _batches(rest):
        work = _keep_rows(source, rows, work)
    _refresh(source)
    over = {"state": State.DONE, "claim": None, "finished_at": timezone.now(), "content": b"", "done": F("total")}
    beat(source, **over, **_forgotten(source))


def _forgotten(source: Import) -> dict:
    """What a finished import does not need any more: the rows of people that its page showed as examples."""
    return {"reading": {**source.reading, "samples": []}}


def _keep_rows(source: Import, rows: list[Row], work: Work) -> Work:
    for clash in range(MOST_CLASHES):
        try:
            with transaction.atomic():
                beat(source)
                outcome = take(rows, work, write=True)
                source.counts = dict(Counter(source.counts) + outcome.counts)
                source.touched = sorted({*source.touched, *outcome.touched})
                beat(source, done=rows[-1][0], counts=source.counts, touched=source.touched)
            return work
        except IntegrityError:  # someone added an athlete of the same name on the board: look again who is here
            if clash == MOST_CLASHES - 1:
                raise
            source.refresh_from_db(fields=["counts", "touched"])
            work = _work(source)
    return work


def _refresh(source: Import) -> None:
    """Bring the estimates up to date of everyone with something new, once."""
    beat(source, total=F("done") + len(source.touched))
    while source.touched:
        batch, source.touched = source.touched[:BATCH], source.touched[BATCH:]
        estimates_refresh(athletes=Athlete.objects.filter(pk__in=batch).values_list("pk", flat=True))
        beat(source, done=F("done") + len(batch), touched=source.touched)


def beat(source: Import, **changes) -> None:
    """Renew the heartbeat, with `changes` to the row; ClaimLost when another worker owns the import."""
    mine = Import.objects.filter(pk=source.pk, claim=source.claim, state__in=Import.RUNNING)
    if not mine.update(heartbeat_at=timezone.now(), **changes):
        raise ClaimLost


def requeue_silent() -> list[int]:
    """Let imports whose worker has fallen silent wait again; ids of all that should be sent again."""
    silent = Import.objects.filter(state__in=Import.RUNNING, heartbeat_at__lt=timezone.now() - SILENT_AFTER)
    silent.filter(attempts__gte=MOST_ATTEMPTS).update(
        state=State.FAILED,
        claim=None,
        failure=f"This was cut off {MOST_ATTEMPTS} times. Ask whoever hosts coachhub to look at the worker.",
    )
    ids = list(silent.values_list("pk", flat=True))
    silent.filter(pk__in=ids).update(claim=None, heartbeat_at=timezone.now())
    return ids


def _work(source: Import) -> Work:
    known = benches()
    used = Benchmark.objects.select_related("movement__machine_type").in_bulk([bench.pk for bench in known])
    plan = plan_of(source.reading, known)
    return Work(plan=plan, roll=roll(), benchmarks=used, by=source.made_by, create=source.create_athletes)


def _rows_below(table: Table, source: Import) -> Iterator[Row]:
    heading = source.reading["heading_row"]
    return (row for row in table.rows() if row[0] > heading)


def _batches(rows: Iterator[Row]) -> Iterator[list[Row]]:
    while batch := list(islice(rows, BATCH)):
        yield batch


def _fail(source: Import, reason: str) -> None:
    mine = Import.objects.filter(pk=source.pk, claim=source.claim, state__in=Import.RUNNING)
    mine.update(state=State.FAILED, claim=None, failure=reason)
