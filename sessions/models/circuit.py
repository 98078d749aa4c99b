import uuid

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q


class DoseKind(models.TextChoices):
    """How a station measures the work asked for."""

    KCAL = "kcal", "kcal"
    METRES = "metres", "metres"
    REPETITIONS = "repetitions", "repetitions"
    LOAD_REPETITIONS = "load_repetitions", "load × repetitions"
    SECONDS = "seconds", "seconds"


class Scaling(models.TextChoices):
    """What gives way first for those who cannot do all of a circuit."""

    DOSE = "dose", "the dose"
    ROUNDS = "rounds", "the rounds, then the dose"


class Format(models.TextChoices):
    """How a circuit runs."""

    EVERY = "every", "on the clock"
    FOR_TIME = "for_time", "for time"
    AS_MANY = "as_many", "as many rounds as fit"


class Circuit(models.Model):
    """Stations done one after the other, one per interval, for a number of rounds (`rotations`).

    What is not on the clock goes on without intervals: for time, all rounds within `limit_s`, or as many as fit in it.
    """

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=200)
    interval_s = models.PositiveSmallIntegerField(
        default=60, validators=[MinValueValidator(20), MaxValueValidator(900)]
    )
    rotations = models.PositiveSmallIntegerField(default=4, validators=[MinValueValidator(1), MaxValueValidator(40)])
    format = models.CharField("how it runs", max_length=8, choices=Format, default=Format.EVERY)
    limit_s = models.PositiveSmallIntegerField(
        "limit [s]",
        null=True,
        blank=True,
        validators=[MinValueValidator(60), MaxValueValidator(7200)],
        help_text="The cap of what is for time; the time in which as many rounds as fit are done.",
    )
    partners = models.PositiveSmallIntegerField(
        "athletes sharing a station",
        default=1,
        choices=[(1, "one athlete"), (2, "two, in turns")],
    )
    headroom = models.FloatField(
        "left in the tank",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(0.6)],
        help_text="Of a hard day, as a share. Empty: by the intent of the day.",
    )
    scaling = models.CharField("what gives way", max_length=6, choices=Scaling, default=Scaling.DOSE)
    open_last = models.BooleanField(
        "open last round", default=False, help_text="As far as it goes, one short of failing: it measures like a test."
    )
    notes = models.TextField(max_length=4000, blank=True)
    text = models.TextField(max_length=20_000, blank=True, default="", help_text="As it was typed, where it was.")
    version = models.PositiveIntegerField(
        default=1, help_text="Counts what was saved: who began from an older one asks."
    )
    archived = models.BooleanField(default=False)
    created_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(interval_s__range=(20, 900), rotations__range=(1, 40)), name="circuit_fits_the_method"
            ),
            models.CheckConstraint(condition=Q(partners__in=(1, 2)), name="circuit_is_shared_by_one_or_two"),
            models.CheckConstraint(
                condition=Q(format="every", limit_s__isnull=True)
                | (
                    ~Q(format="every")
                    & Q(limit_s__isnull=False, limit_s__range=(60, 7200), partners=1, scaling="dose", open_last=False)
                ),
                name="what_is_not_on_the_clock_has_a_limit",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def duration_s(self) -> int:
        """Seconds that the circuit lasts at most (its stations prefetched)."""
        return self.limit_s or len(self.stations.all()) * self.partners * self.interval_s * self.rotations


MOST_OF_A_DRAFT = 80  # letters by which one is told apart from others


class CircuitDraft(models.Model):
    """A circuit half written by one person, as text: a new one, or a change of `circuit` from its `version` on."""

    key = models.UUIDField(unique=True, default=uuid.uuid4)
    account = models.ForeignKey("athletes.Account", models.CASCADE, related_name="+")
    circuit = models.ForeignKey(Circuit, models.CASCADE, null=True, blank=True, related_name="drafts")
    version = models.PositiveIntegerField(default=0)
    text = models.TextField(max_length=20_000, blank=True)
    written_at = models.DateTimeField(auto_now=True)
    thrown_away_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-written_at"]

    def __str__(self) -> str:
        lines = [line.strip() for line in self.text.splitlines() if line.strip()] or ["empty"]
        if lines[0].casefold().startswith("name:"):
            return lines[0][len("name:") :].strip() or "without a name"
        words = " / ".join(lines[:3])
        return words if len(words) <= MOST_OF_A_DRAFT else words[:MOST_OF_A_DRAFT].rstrip() + " …"


class Station(models.Model):
    """One place in a circuit, with the seconds of the interval in which its dose is done."""

    circuit = models.ForeignKey(Circuit, models.CASCADE, related_name="stations")
    position = models.PositiveSmallIntegerField()
    work_window_s = models.PositiveSmallIntegerField(default=40, validators=[MinValueValidator(5)])
    note = models.CharField(max_length=200, blank=True, help_text="A cue for this station in this circuit.")
    closed = models.BooleanField(
        default=False, help_text="No easier forms beyond the swaps that are written: then it is rest."
    )

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["circuit", "position"], name="station_position_is_unique"),
            models.CheckConstraint(condition=Q(work_window_s__gte=5), name="station_leaves_time_to_work"),
        ]

    def __str__(self) -> str:
        return f"{self.circuit}, station {self.position}"


class StationOption(models.Model):
    """A rung of a station's swap ladder: rung 0 is the prescription, each next one is easier."""

    station = models.ForeignKey(Station, models.CASCADE, related_name="options")
    rung = models.PositiveSmallIntegerField()
    movement = models.ForeignKey("athletes.Movement", models.PROTECT, related_name="+")
    dose_kind = models.CharField(max_length=16, choices=DoseKind)
    dose = models.FloatField()
    least_dose = models.FloatField(
        null=True, blank=True, help_text="The foot of a range, 7 of 7–9: below it, swap. Empty: half the dose."
    )
    load_kg = models.FloatField("load [kg]", null=True, blank=True)
    percent = models.FloatField("load [% of the maximum]", null=True, blank=True)
    reserve = models.FloatField("repetitions in reserve", null=True, blank=True)

    class Meta:
        ordering = ["rung"]
        constraints = [
            models.UniqueConstraint(fields=["station", "rung"], name="station_rung_is_unique"),
            models.CheckConstraint(
                condition=Q(dose__gt=0) & (Q(least_dose__isnull=True) | Q(least_dose__gt=0, least_dose__lte=F("dose"))),
                name="option_dose_is_useful",
            ),
            models.CheckConstraint(
                condition=(
                    Q(dose_kind="load_repetitions")
                    & (Q(load_kg__gt=0) | Q(percent__range=(1, 100)) | Q(reserve__range=(0, 10)))
                )
                | (
                    ~Q(dose_kind="load_repetitions")
                    & Q(load_kg__isnull=True, percent__isnull=True, reserve__isnull=True)
                ),
                name="option_has_a_load_when_it_needs_one",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.station}, rung {self.rung}: {self.movement}"
