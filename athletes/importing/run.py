"""An import in the background: claim, check or keep, batch by batch, and at the end the estimates.

Rows that are kept are counted in the transaction that keeps them: another worker goes on behind them.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import islice

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from athletes import claims
from athletes.claims import beat
from athletes.estimates.write import estimates_refresh
from athletes.importing.batch import Batch, take
from athletes.importing.read import benches, roll
from athletes.importing.reading import plan_of
from athletes.importing.sheets.reading import CannotRead, Row, Table, open_table
from athletes.models import Athlete, Benchmark, Import, ImportRemark

State = Import.State
BATCH = 1000  # rows at a time: bounds memory; a batch costs a constant number of queries
MOST_CLASHES = 3  # with athletes who are added by someone else at the same moment
DEFECT = (
    "This stopped on an error in coachhub itself. What was kept before stays, and nothing is kept twice. Try again; if "
    "it stops again, whoever hosts coachhub finds the reason in the worker's log."
)


def run(import_id: int) -> None:
    """Check or keep a file: nothing happens when another worker has it, or when it is gone or done."""
    source = claims.claim(Import.objects.filter(state__in=Import.RUNNING, claim=None), import_id)
    if source is not None:
        with claims.held(source, CannotRead, DEFECT):
            (_check if source.state == State.CHECKING else _keep)(source)


def _check(source: Import) -> None:
    """Go through the whole file without writing anything but what there is to say of it."""
    table, work = open_table(bytes(source.content), source.reading["sheet"]), _work(source)
    beat(source, total=table.length(), done=0, counts={})
    source.remarks.all().delete()
    counts = Counter()
    for rows in _batches(table, source.reading["heading_row"]):
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
    for rows in _batches(table, max(source.reading["heading_row"], source.done)):
        work = _keep_rows(source, rows, work)
    _refresh(source)
    over = {"state": State.DONE, "claim": None, "finished_at": timezone.now(), "done": F("total")}
    # The file, and the rows of people that its page showed as examples, are not needed any more.
    beat(source, **over, content=b"", reading={**source.reading, "samples": []})


def _keep_rows(source: Import, rows: list[Row], work: Batch) -> Batch:
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


def requeue_silent() -> list[int]:
    """Let imports whose worker has fallen silent wait again; ids of all that should be sent again."""
    return claims.requeue_silent(Import, "This")


def _work(source: Import) -> Batch:
    known = benches()
    used = Benchmark.objects.select_related("movement__machine_type").in_bulk([bench.pk for bench in known])
    plan = plan_of(source.reading, known)
    return Batch(plan=plan, roll=roll(), benchmarks=used, by=source.made_by, create=source.create_athletes)


def _batches(table: Table, after: int) -> Iterator[list[Row]]:
    rows = (row for row in table.rows() if row[0] > after)
    while batch := list(islice(rows, BATCH)):
        yield batch
