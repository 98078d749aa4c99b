import uuid

from django.db import models
from django.db.models import Q


class Import(models.Model):
    """A spreadsheet that a coach brings in: matched, checked, and only then kept.

        matching ──> checking ──> checked ──> keeping ──> done ──> taking back ──> taken back
            ^           │            │           │                      │
            ├───────────┼────────────┘           │                      │     (the coach reads it in another way)
            └─────── failed <────────────────────┴──────────────────────┘     (with a reason; what is kept stays)

    A coach who stops a check is at matching again, and so is one who stops a keeping of which nothing stands yet; what
    stands of it already is taken back.

    Checking is the same work as keeping, without writing. Whoever works on it, a page or a worker, owns the row while
    `claim` holds its token; the heartbeat shows that it is alive. When it has fallen silent another worker goes on
    after the first `done` rows.
    """

    class State(models.TextChoices):
        MATCHING = "matching", "columns to look over"
        CHECKING = "checking", "being checked"
        CHECKED = "checked", "checked, nothing kept yet"
        KEEPING = "keeping", "being kept"
        DONE = "done", "done"
        TAKING_BACK = "taking_back", "being taken back"
        TAKEN_BACK = "taken_back", "taken back"
        FAILED = "failed", "failed"

    RUNNING = (State.CHECKING, State.KEEPING, State.TAKING_BACK)

    # Made by the client, so that sending the same file twice from one page brings it in once.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    filename = models.CharField(max_length=120)
    content = models.BinaryField(help_text="The file; emptied when it is done with.")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the file.")
    reading = models.JSONField(blank=True, default=dict, help_text="How the file is read, see importing.reading.")
    state = models.CharField(max_length=12, choices=State, default=State.MATCHING)
    create_athletes = models.BooleanField(default=False, help_text="Athletes who are not here yet are added.")
    claim = models.UUIDField(null=True, blank=True)
    heartbeat_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    done = models.PositiveIntegerField(default=0, help_text="Rows done, and afterwards athletes, of `total`.")
    total = models.PositiveIntegerField(default=0)
    counts = models.JSONField(blank=True, default=dict, help_text="What became of the rows, see importing.batch.")
    made = models.JSONField(
        blank=True,
        default=dict,
        help_text="What goes when it is taken back: athletes added, facts filled in of others.",
    )
    touched = models.JSONField(blank=True, default=list, help_text="Athletes whose estimates are behind.")
    failure = models.TextField(blank=True)
    made_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(state="failed") | ~Q(failure=""), name="failed_import_says_why")
        ]

    def __str__(self) -> str:
        return self.filename

    @property
    def running(self) -> bool:
        return self.state in self.RUNNING


class ImportRemark(models.Model):
    """What is to be said of one cell of an imported file, found by a check; also a result or fact that is right."""

    class Kind(models.TextChoices):
        REFUSED = "refused", "left out"
        QUESTIONED = "questioned", "left out unless ticked"
        NEWCOMER = "newcomer", "not here yet"
        UNKNOWN = "unknown", "no such benchmark"
        KEPT = "kept", "new result"
        FACT = "fact", "new fact"

    source = models.ForeignKey(Import, models.CASCADE, related_name="remarks")
    kind = models.CharField(max_length=10, choices=Kind)
    sheet = models.CharField(max_length=60, blank=True)
    row = models.PositiveIntegerField()
    column = models.CharField(max_length=200, blank=True)
    subject = models.CharField(max_length=200, blank=True, help_text="The athlete, or the benchmark's name.")
    text = models.CharField(max_length=400, blank=True)
    benchmark = models.CharField(max_length=60, blank=True, help_text="Of a result that is understood.")
    performed_on = models.DateField(null=True, blank=True)
    result = models.CharField(max_length=60, blank=True, help_text="As it is kept, in words.")
    wanted = models.BooleanField(default=False, help_text="Ticked by the coach: kept although it was questioned.")

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["source", "kind", "row"], name="remarks_of_an_import")]

    def __str__(self) -> str:
        return f"row {self.row}: {self.text}"
