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
    other_names = models.CharField(
        max_length=200, blank=True, default="", help_text="By which typing knows it too, with commas between."
    )
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
        help_text="Seconds of the work time that pass before the first stroke or repetition counts.",
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
    paced = models.BooleanField(
        default=False,
        help_text="Limited by breath and rhythm before the muscle: burpees, step-ups, skipping. Only of repetitions.",
    )
    needs_skill = models.BooleanField(
        default=False, help_text="Jumps, swings, kipping, olympic lifts: not in somebody's first weeks."
    )
    easier_form = models.ForeignKey(
        "self",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="harder_forms",
        help_text="What comes below it where a circuit's own swaps end: push-up, then hands on a box.",
    )
    high_eccentric = models.BooleanField(
        default=False, help_text="Lowers a load or the body in large volume: sore when unaccustomed."
    )
    introductory = models.PositiveSmallIntegerField(
        "introductory amount",
        default=30,
        help_text="Repetitions in a whole session for someone new to it; only where lowering makes sore.",
    )
    rack = models.ForeignKey(
        "athletes.Rack",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="movements",
        help_text="Which loads the gym owns for it. Empty: loads go in steps of 2.5 kg.",
    )
    cue_set_up = models.TextField("set-up", max_length=4000, blank=True)
    cue_drive = models.TextField("drive", max_length=4000, blank=True)
    cue_recovery = models.TextField("recovery", max_length=4000, blank=True)
    look_for = models.TextField("what to look for", max_length=4000, blank=True)
    caution = models.TextField(max_length=4000, blank=True)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(kind="engine") & ~Q(engine="")) | (~Q(kind="engine") & Q(engine="")),
                name="movement_with_an_engine_names_it",
            ),
            models.CheckConstraint(condition=Q(paced=False) | Q(kind="repetitions"), name="only_repetitions_are_paced"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """What drives it fits its kind and its machine, and stays once something rests on it."""
        self._clean_easier_form()
        now = (self.kind, self.engine, self.machine_type_id, self.paced)
        before = Movement.objects.filter(pk=self.pk).values_list("kind", "engine", "machine_type", "paced").first()
        if before == now:
            return
        if before and before[:2] != now[:2] and self._in_use():
            changed = "kind" if before[0] != self.kind else "engine"
            raise ValidationError({changed: "Benchmarks or circuits rest on it. Make a new movement instead."})
        if self.kind == self.Kind.ENGINE and not self.engine:
            raise ValidationError({"engine": "Say which engine drives it."})
        if self.kind not in ("", self.Kind.ENGINE) and self.engine:
            raise ValidationError({"engine": "Only machines and runs have an engine. Leave this empty."})
        monitor = self.machine_type.engine if self.machine_type else ""
        if self.paced and self.kind != self.Kind.REPETITIONS:
            raise ValidationError({"paced": "Only repetitions are paced. Untick this."})
        if before and before[3] and not self.paced:
            self._refuse_to_end_pace()
        if self.engine and monitor and monitor != self.engine:
            text = f"{self.machine_type} has another engine: {self.machine_type.get_engine_display()}. Choose another."
            raise ValidationError({"machine_type": text})

    def _clean_easier_form(self) -> None:
        """Easier forms make a ladder of one kind of movement that ends somewhere."""
        below, seen = self.easier_form, {self.pk}
        while below is not None:
            if below.pk in seen:
                raise ValidationError({"easier_form": f"{below} stands above it already. Choose another."})
            if below.kind != self.kind:
                raise ValidationError({"easier_form": f"{below} is measured in another way. Choose another."})
            seen.add(below.pk)
            below = below.easier_form

    def _refuse_to_end_pace(self) -> None:
        """A benchmark that goes by the clock says nothing of the most unbroken repetitions."""
        timed = self.benchmarks.filter(measure__in=self.benchmarks.model.PACED_MEASURES).values_list("name", flat=True)
        if timed:
            names = ", ".join(timed)
            text = f"Its pace is tested ({names}). Leave this ticked, or make a new movement for unbroken repetitions."
            raise ValidationError({"paced": text})

    def _in_use(self) -> bool:
        """Whether a row of any app rests on it: those that keep it from being deleted."""
        relations = self._meta.get_fields(include_hidden=True)
        keepers = [r for r in relations if r.one_to_many and r.on_delete is models.PROTECT]
        return any(r.related_model.objects.filter(**{r.field.name: self.pk}).exists() for r in keepers)

    @property
    def also_called(self) -> tuple[str, ...]:
        """Its other names, one by one."""
        return tuple(name.strip() for name in self.other_names.split(",") if name.strip())

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
    """Dose kinds for a movement kind; runs are dosed in metres, fan bikes in calories (no common metre exists).

    Seconds on an engine are done at a pace: the pace is then what is worked out.
    """
    if kind == Movement.Kind.ENGINE:
        return (*{"run": ("metres",), "bike": ("kcal",)}.get(engine, ("kcal", "metres")), "seconds")
    return {"repetitions": ("repetitions",), "loaded": ("load_repetitions",), "hold": ("seconds",)}[kind]
