"""The work on an import: claimed, checked or kept or taken back, batch by batch, and at the end the estimates.

Rows that are kept are counted in the transaction that keeps them: another worker goes on behind them.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import islice

from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone

from athletes import claims
from athletes.claims import beat
from athletes.estimates.write import estimates_refresh
from athletes.importing.batch import FACTS, Batch, Outcome, take
from athletes.importing.read import benches, doubtful, efforts_of, roll
from athletes.importing.reading import plan_of, without_samples
from athletes.importing.sheets.names import name_key
from athletes.importing.sheets.reading import CannotRead, Row, Table, open_table
from athletes.locks import give_way
from athletes.models import Athlete, Benchmark, Effort, Estimate, Import, ImportRemark, Link

State = Import.State
BATCH = 1000  # rows at a time: bounds memory; a batch costs a constant number of queries
TICKED = ("sheet", "row", "column", "benchmark", "result")  # what a tick was about
MOST_CLASHES = 3  # with athletes who are added by someone else at the same moment
DEFECT = (
    "This stopped on an error in coachhub itself. What was kept before stays, and nothing is kept twice. Try again; if "
    "it stops again, whoever hosts coachhub finds the reason in the worker's log."
)


def run(import_id: int) -> None:
    """Check, keep or take back a file: nothing happens when another worker has it, or when it is gone or done."""
    source = claims.claim(Import.objects.filter(state__in=Import.RUNNING, claim=None), import_id)
    if source is not None:
        work = {State.CHECKING: _check, State.KEEPING: _keep, State.TAKING_BACK: _take_back}[source.state]
        with claims.held(source, CannotRead, DEFECT):
            work(source)


def _check(source: Import) -> None:
    """Go through the whole file without writing anything but what there is to say of it."""
    tables, work = _tables(source), _work(source)
    beat(source, total=sum(table.length() for _, table in tables), done=0, counts={})
    ticked = set(source.remarks.filter(wanted=True).values_list(*TICKED))
    source.remarks.all().delete()
    counts = Counter()
    for done, part, rows in _batches(tables, 0):
        outcome = take(rows, _at(work, source, part), write=False)
        counts += outcome.counts
        with transaction.atomic():
            beat(source, done=done, counts=counts)
            for remark in outcome.remarks:
                remark.source = source
                asked = remark.kind == ImportRemark.Kind.QUESTIONED
                remark.wanted = asked and tuple(getattr(remark, name) for name in TICKED) in ticked
            ImportRemark.objects.bulk_create(outcome.remarks, batch_size=500)
    beat(source, state=State.CHECKED, claim=None, done=F("total"))


def _keep(source: Import) -> None:
    tables, work = _tables(source), _work(source)
    if not source.total:
        beat(source, total=sum(table.length() for _, table in tables))
    for done, part, rows in _batches(tables, source.done):
        work = _keep_rows(source, done, part, rows, work)
        give_way()
    _refresh(source)
    over = {"state": State.DONE, "claim": None, "finished_at": timezone.now(), "done": F("total")}
    # The file, and the rows of people that its page showed as examples, are not needed any more.
    beat(source, **over, content=b"", reading=without_samples(source.reading))


def _keep_rows(source: Import, done: int, part: dict, rows: list[Row], work: Batch) -> Batch:
    for clash in range(MOST_CLASHES):
        try:
            with transaction.atomic():
                beat(source)
                outcome = take(rows, _at(work, source, part), write=True)
                source.counts = dict(Counter(source.counts) + outcome.counts)
                source.touched = sorted({*source.touched, *outcome.touched})
                source.made = _made(source.made, outcome)
                beat(source, done=done, counts=source.counts, touched=source.touched, made=source.made)
            return work
        except IntegrityError:  # someone added an athlete of the same name on the board: look again who is here
            if clash == MOST_CLASHES - 1:
                raise
            source.refresh_from_db(fields=["counts", "touched", "made"])
            work = _work(source)
    return work


def _made(made: dict, outcome: Outcome) -> dict:
    """What there is to take back, with what some rows added: athletes, and facts of others as text."""
    facts = {pk: dict(facts) for pk, facts in made.get("facts", {}).items()}
    for pk, news in outcome.filled.items():
        facts.setdefault(str(pk), {}).update((name, str(value)) for name, value in news.items())
    return {"athletes": [*made.get("athletes", []), *outcome.added], "facts": facts}


def _take_back(source: Import) -> None:
    """Void what came in, clear facts that stand as the file said them, remove newcomers on whom nothing else rests."""
    with transaction.atomic():
        beat(source)
        source.touched = sorted({*source.touched, *efforts_of(source).values_list("athlete_id", flat=True)})
        voided = efforts_of(source).update(
            voided_at=timezone.now(), voided_by=source.taken_back_by, void_reason=f"Import taken back: {source}."[:200]
        )
        cleared = _clear_facts(source.made.get("facts", {}))
        removed = _remove_newcomers(source)
        news = {"voided": voided, "cleared": len(cleared), "removed": removed}  # added: it may go on after a break
        source.counts |= {name: source.counts.get(name, 0) + count for name, count in news.items()}
        source.touched = sorted({*source.touched, *cleared})
        beat(source, counts=source.counts, touched=source.touched, total=len(source.touched), done=0)
    _refresh(source)
    beat(source, state=State.TAKEN_BACK, claim=None, taken_back_at=timezone.now(), made={}, content=b"")


def _clear_facts(facts: dict[str, dict[str, str]]) -> list[int]:
    """Take facts out again that nobody changed since; ids of whom they were."""
    changed = []
    for athlete in Athlete.objects.filter(pk__in=map(int, facts)):
        same = [name for name, value in facts[str(athlete.pk)].items() if str(getattr(athlete, name)) == value]
        for name in same:
            setattr(athlete, name, Athlete._meta.get_field(name).get_default())
        changed += [athlete] if same else []
    Athlete.objects.bulk_update(changed, FACTS)
    return [athlete.pk for athlete in changed]


def _remove_newcomers(source: Import) -> int:
    """Delete athletes whom the file added, unless something else rests on them by now; how many."""
    added = Athlete.objects.filter(pk__in=source.made.get("athletes", []))
    of_the_file = {Effort: Q(import_key=source.key), Link: Q(kind=Link.Kind.ATHLETE), Estimate: Q()}
    rest = set()
    for relation in Athlete._meta.related_objects:
        own, name = of_the_file.get(relation.related_model), relation.field.name
        if own == Q():
            continue
        others = relation.related_model._base_manager.filter(**{f"{name}__in": added})
        rest |= set((others.exclude(own) if own else others).values_list(name, flat=True))
    gone = added.exclude(pk__in=rest)
    count = gone.count()
    gone.delete()
    return count


def _refresh(source: Import) -> None:
    """Bring the estimates up to date of everyone with something new, once."""
    beat(source, total=F("done") + len(source.touched))
    while source.touched:
        batch, source.touched = source.touched[:BATCH], source.touched[BATCH:]
        estimates_refresh(athletes=Athlete.objects.filter(pk__in=batch).values_list("pk", flat=True))
        beat(source, done=F("done") + len(batch), touched=source.touched)
        give_way()


def requeue_silent() -> dict[int, bool]:
    """Let imports whose worker has fallen silent wait again; ids of all that should be sent again, and whether a
    worker had begun them.
    """
    return claims.requeue_silent(Import, "This")


def _work(source: Import) -> Batch:
    known = benches()
    taken_back = Import.objects.filter(state=State.TAKEN_BACK).values_list("key", flat=True)
    keeps = source.state == State.KEEPING
    unticked = source.remarks.filter(kind=ImportRemark.Kind.QUESTIONED, wanted=False)
    return Batch(
        plan=None,
        roll=roll(source.reading.get("people")),
        benchmarks=Benchmark.objects.select_related("movement__machine_type").in_bulk([bench.pk for bench in known]),
        by=source.made_by,
        create=source.create_athletes,
        asks=not keeps,
        import_key=source.key,
        taken_back=list(taken_back),
        doubtful={name_key(name) for name in doubtful(source).values_list("subject", flat=True)} if keeps else set(),
        left_out=set(unticked.values_list("sheet", "row", "column")) if keeps else None,
    )


def _at(work: Batch, source: Import, part: dict) -> Batch:
    """The same work, on the rows of this part."""
    if work.plan is None or work.sheet != part["sheet"]:
        work.plan, work.sheet = plan_of(source.reading, part, benches()), part["sheet"]
    return work


def _tables(source: Import) -> list[tuple[dict, Table]]:
    """The parts that are brought in, with their tables."""
    content = bytes(source.content)
    return [(part, open_table(content, part["sheet"])) for part in source.reading["parts"] if part["take"]]


def _batches(tables: list[tuple[dict, Table]], after: int) -> Iterator[tuple[int, dict, list[Row]]]:
    """Rows below the headings, some at a time, each time of one part: how many are done with them, and the part. The
    first `after` are left out."""
    done = 0
    for part, table in tables:
        rows = (row for row in table.rows() if row[0] > part["heading_row"])
        skipped = sum(1 for _ in islice(rows, max(after - done, 0)))
        done += skipped
        while batch := list(islice(rows, BATCH)):
            done += len(batch)
            yield done, part, batch
