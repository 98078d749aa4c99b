from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from athletes.capacity.constants import PATTERNS


class Engine(models.TextChoices):
    """What drives an endurance movement; each has its own power–duration estimate."""

    ROW = "row", "rowing ergometer"
    SKI = "ski", "ski ergometer"
    BIKE = "bike", "fan bike"
    RUN = "run", "running"


def validate_involvement(weights: dict) -> None:
    known = isinstance(weights, dict) and set(weights) <= set(PATTERNS)
    if not known or not all(isinstance(w, int | float) and 0 <= w <= 1 for w in weights.values()):
        raise ValidationError(f"Give each pattern a weight from 0 to 1; the patterns are {', '.join(PATTERNS)}.")


class Movement(models.Model):
    """Something a station can ask for: a machine, a repetition, a lift, a hold or a run."""

    class Kind(models.TextChoices):
        ENGINE = "engine", "machine or run"
        REPETITIONS = "repetitions", "repetitions"
        LOADED = "loaded", "load × repetitions"
        HOLD = "hold", "seconds of hold"

    name = models.CharField(max_length=60, unique=True)
    slug = models.SlugField(max_length=60, unique=True)
    kind = models.CharField(max_length=12, choices=Kind)
    engine = models.CharField(max_length=4, choices=Engine, blank=True, default="")
    machine_type = models.ForeignKey(
        "athletes.MachineType", models.PROTECT, null=True, blank=True, related_name="movements"
    )
    involvement = models.JSONField(
        default=dict, blank=True, validators=[validate_involvement], help_text="Patterns it loads, 0 to 1."
    )
    setup_s = models.FloatField(
        "getting set [s]",
        default=3,
        validators=[MinValueValidator(0), MaxValueValidator(30)],
        help_text="Seconds of the work window that pass before the first stroke or repetition counts.",
    )
    seconds_per_repetition = models.FloatField(
        default=2,
        validators=[MinValueValidator(0.2), MaxValueValidator(30)],
        help_text="At a pace that can be repeated.",
    )
    typical_best = models.FloatField(
        default=20,
        validators=[MinValueValidator(0.5), MaxValueValidator(1000)],
        help_text="A first guess for someone without a benchmark: unbroken repetitions, seconds, or kilograms once.",
    )
    typical_spread = models.FloatField(
        default=0.5, validators=[MinValueValidator(0.1), MaxValueValidator(1.5)], help_text="Log-SD of that guess."
    )
    high_eccentric = models.BooleanField(
        default=False, help_text="Lowers a load or the body in large volume: sore when unaccustomed."
    )
    cue_set_up = models.TextField("set-up", blank=True)
    cue_drive = models.TextField("drive", blank=True)
    cue_recovery = models.TextField("recovery", blank=True)
    look_for = models.TextField("what to look for", blank=True)
    caution = models.TextField(blank=True)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(kind="engine") & ~Q(engine="")) | (~Q(kind="engine") & Q(engine="")),
                name="movement_with_an_engine_names_it",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def dose_kinds(self) -> tuple[str, ...]:
        """The ways a station can measure this movement."""
        return dose_kinds(self.kind, self.engine)

    @property
    def cues(self) -> dict[str, str]:
        """The cues that are filled in, by the words shown above them."""
        named = {
            "Set-up": self.cue_set_up,
            "Drive": self.cue_drive,
            "Recovery": self.cue_recovery,
            "Look for": self.look_for,
        }
        return {title: text for title, text in named.items() if text}


def dose_kinds(kind: str, engine: str) -> tuple[str, ...]:
    """Dose kinds for a movement kind; runs are dosed in metres, fan bikes in calories (no common metre exists)."""
    if kind == Movement.Kind.ENGINE:
        return {"run": ("metres",), "bike": ("kcal",)}.get(engine, ("kcal", "metres"))
    return {"repetitions": ("repetitions",), "loaded": ("load_repetitions",), "hold": ("seconds",)}[kind]
