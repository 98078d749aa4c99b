import uuid
from datetime import date

from django.db import models
from django.db.models import Q
from django.utils.functional import cached_property

from sessions.circuits.definition import Definition, read
from sessions.classes import definition as classes


class Publication(models.Model):
    """One revision of a week, with everything frozen that people see of it.

        queued ──> computing ──> rendering ──> live ──> superseded
           │           │             │
           └───────────┴─────────────┴──────> failed (with a reason; the previous revision stays live)

    A worker owns a publication while `claim` holds its token; the heartbeat shows that it is alive. A publication
    whose heartbeat is old goes back to `queued` and is done by another worker, which keeps what was already written.
    """

    class State(models.TextChoices):
        QUEUED = "queued", "waiting for the worker"
        COMPUTING = "computing", "working out targets"
        RENDERING = "rendering", "making boards and pages"
        LIVE = "live", "live"
        SUPERSEDED = "superseded", "replaced by a newer one"
        FAILED = "failed", "failed"

    RUNNING = (State.QUEUED, State.COMPUTING, State.RENDERING)

    week = models.ForeignKey("training.Week", models.CASCADE, related_name="publications")
    revision = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=State, default=State.QUEUED)
    content = models.JSONField(help_text="The week as it was when publishing was asked for.")
    content_hash = models.CharField(max_length=64)
    method_version = models.CharField(max_length=20)
    requested_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    requested_at = models.DateTimeField(auto_now_add=True)
    claim = models.UUIDField(null=True, blank=True)
    heartbeat_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    done = models.PositiveIntegerField(default=0, help_text="Steps done, of `total`.")
    total = models.PositiveIntegerField(default=0)
    computed_at = models.DateTimeField(null=True, blank=True, help_text="Estimates up to here are in the targets.")
    live_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)
    brings_back = models.ForeignKey(
        "self", models.SET_NULL, null=True, blank=True, related_name="+", help_text="The earlier revision it repeats."
    )
    paper_a3 = models.CharField(max_length=120, blank=True)
    paper_a4 = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-revision"]
        constraints = [
            models.UniqueConstraint(fields=["week", "revision"], name="publication_revision_is_unique"),
            models.UniqueConstraint(fields=["week"], condition=Q(state="live"), name="one_live_publication_a_week"),
            models.UniqueConstraint(
                fields=["week"],
                condition=Q(state__in=["queued", "computing", "rendering"]),
                name="one_running_publication_a_week",
            ),
            models.CheckConstraint(condition=~Q(state="failed") | ~Q(failure=""), name="failed_publication_says_why"),
        ]

    def __str__(self) -> str:
        return f"{self.week} revision {self.revision}"

    @property
    def running(self) -> bool:
        return self.state in self.RUNNING


class PublishedSessionQuerySet(models.QuerySet):
    def live(self) -> "PublishedSessionQuerySet":
        """Sessions as everyone sees them now."""
        return self.filter(publication__state=Publication.State.LIVE)

    def classes(self) -> "PublishedSessionQuerySet":
        """Whole classes, without the parts of them that have a circuit of their own."""
        return self.filter(part_of__isnull=True)

    def as_seen(self, key: uuid.UUID, day: date) -> "PublishedSession | None":
        """The session with this key on a day as everyone sees it now, whichever revision that is; with its week."""
        return self.live().select_related("publication__week").filter(key=key, date=day).first()


class PublishedSession(models.Model):
    """A session as frozen in a publication: its day, class times and whole circuit.

    A part of a class with a circuit of its own is a session too, so that it has targets and logs like any other:
    `part_of` is the class it belongs to, `place` where it stands in it. A class has its `parts` in order; none where it
    is its circuit alone.
    """

    publication = models.ForeignKey(Publication, models.CASCADE, related_name="sessions")
    key = models.UUIDField(help_text="The planned session's key, or its part's, the same in every revision.")
    part_of = models.UUIDField("key of the class", null=True, blank=True)
    place = models.PositiveSmallIntegerField("place in the class", default=0)
    parts = models.JSONField(default=list, blank=True, help_text="Of a class, see sessions.classes.definition.")
    date = models.DateField()
    hours = models.JSONField(default=list)
    circuit = models.JSONField(help_text="The circuit's definition, see sessions.circuits.definition.")
    intent = models.CharField(max_length=6)
    note = models.CharField(max_length=200, blank=True)
    caution = models.CharField(max_length=300, blank=True, help_text="Of that day, such as heat.")
    kept_from = models.ForeignKey(
        "self",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="Its day was over when this revision was published, or this revision brings an earlier one back: the "
        "targets are those of that one.",
    )

    objects = PublishedSessionQuerySet.as_manager()

    class Meta:
        ordering = ["date", "id"]
        constraints = [
            models.UniqueConstraint(fields=["publication", "key", "date"], name="published_session_is_unique")
        ]

    def __str__(self) -> str:
        return f"{self.circuit.get('name', '')}, {self.date:%a %d %b}"

    @cached_property
    def definition(self) -> Definition:
        """The whole circuit as it was frozen."""
        return read(self.circuit)

    @cached_property
    def class_parts(self) -> tuple[classes.ClassPart, ...]:
        return classes.read(self.parts)

    @property
    def class_key(self) -> uuid.UUID:
        """The key of the class that this is, or is a part of: who came is kept by it, and the clock runs by it."""
        return self.part_of or self.key

    @property
    def lasts_s(self) -> int:
        """Seconds that the class takes with all its parts."""
        return 60 * sum(part.minutes for part in self.class_parts) or self.definition.duration_s


class Target(models.Model):
    """What one athlete is asked to do at one station: a number that never moves once it is live.

    `rung` −1 is rest. `hold` is watts on machines and m/s in runs. `detail` keeps what the explanation needs.
    """

    publication = models.ForeignKey(Publication, models.CASCADE, related_name="targets")
    session = models.ForeignKey(PublishedSession, models.CASCADE, related_name="targets")
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="targets")
    station = models.PositiveSmallIntegerField(help_text="Position in the circuit, from 1.")
    rung = models.SmallIntegerField(default=0)
    dose = models.FloatField()
    load_kg = models.FloatField(null=True, blank=True)
    hold = models.FloatField(null=True, blank=True)
    finish_by_s = models.FloatField(null=True, blank=True)
    rounds = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="The first so many of the circuit's. Empty in old targets: all of them."
    )
    headroom = models.FloatField(null=True, blank=True)
    probability = models.FloatField(null=True, blank=True)
    sd_log = models.FloatField(null=True, blank=True)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering = ["session_id", "athlete_id", "station"]
        constraints = [
            models.UniqueConstraint(
                fields=["publication", "session", "athlete", "station"], name="one_target_per_athlete_and_station"
            ),
            models.CheckConstraint(condition=Q(dose__gte=0), name="target_dose_is_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id} at station {self.station}: {self.dose}"


class PersonalPage(models.Model):
    """Where the frozen page of one athlete lies, in the boards folder."""

    publication = models.ForeignKey(Publication, models.CASCADE, related_name="pages")
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="pages")
    path = models.CharField(max_length=120)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["publication", "athlete"], name="one_page_per_athlete_and_publication")
        ]

    def __str__(self) -> str:
        return self.path
