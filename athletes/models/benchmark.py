from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

EFFORTS_REST_ON_IT = "Stays as it is, because efforts are kept. Make a new benchmark instead."


class Benchmark(models.Model):
    """A test that is done again and again, always the same way."""

    class Measure(models.TextChoices):
        TIME_FOR_DISTANCE = "time_for_distance", "time for a distance"
        DISTANCE_IN_TIME = "distance_in_time", "distance in a time"
        TIME_FOR_CALORIES = "time_for_calories", "time for calories"
        CALORIES_IN_TIME = "calories_in_time", "calories in a time"
        REPETITIONS = "repetitions", "most unbroken repetitions"
        REPETITIONS_IN_TIME = "repetitions_in_time", "repetitions in a time"
        TIME_FOR_REPETITIONS = "time_for_repetitions", "time for repetitions"
        HOLD = "hold", "longest hold"
        LIFT = "lift", "load × repetitions"

    # Measures by the movement's kind, and the unit of what is fixed.
    FIXED_UNITS = {
        Measure.TIME_FOR_DISTANCE: "m",
        Measure.DISTANCE_IN_TIME: "s",
        Measure.TIME_FOR_CALORIES: "kcal",
        Measure.CALORIES_IN_TIME: "s",
        Measure.REPETITIONS_IN_TIME: "s",
        Measure.TIME_FOR_REPETITIONS: "repetitions",
    }
    VALUE_UNITS = {
        Measure.TIME_FOR_DISTANCE: "s",
        Measure.DISTANCE_IN_TIME: "m",
        Measure.TIME_FOR_CALORIES: "s",
        Measure.CALORIES_IN_TIME: "kcal",
        Measure.REPETITIONS: "repetitions",
        Measure.REPETITIONS_IN_TIME: "repetitions",
        Measure.TIME_FOR_REPETITIONS: "s",
        Measure.HOLD: "s",
        Measure.LIFT: "kg",
    }
    KIND_OF_MEASURE = {
        Measure.REPETITIONS: "repetitions",
        Measure.REPETITIONS_IN_TIME: "repetitions",
        Measure.TIME_FOR_REPETITIONS: "repetitions",
        Measure.HOLD: "hold",
        Measure.LIFT: "loaded",
    }
    PACED_MEASURES = (Measure.REPETITIONS_IN_TIME, Measure.TIME_FOR_REPETITIONS)
    # Where none at all is a result: the athlete cannot do one yet.
    COUNTED = (Measure.REPETITIONS, Measure.REPETITIONS_IN_TIME)

    name = models.CharField(max_length=60, unique=True)
    slug = models.SlugField(max_length=60, unique=True)
    movement = models.ForeignKey("athletes.Movement", models.PROTECT, related_name="benchmarks")
    measure = models.CharField(max_length=20, choices=Measure)
    fixed = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1)],
        help_text="What does not change: metres, seconds or calories. Empty for repetitions, holds and lifts.",
    )
    instructions = models.TextField(
        max_length=4000, blank=True, help_text="How it is done here, so that a retest is the same test."
    )
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["movement__name", "measure", "fixed"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(measure__in=["repetitions", "hold", "lift"]) & Q(fixed__isnull=True))
                | (~Q(measure__in=["repetitions", "hold", "lift"]) & Q(fixed__gt=0)),
                name="benchmark_fixes_what_its_measure_needs",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def faster_is_better(self) -> bool:
        times = (self.Measure.TIME_FOR_DISTANCE, self.Measure.TIME_FOR_CALORIES, self.Measure.TIME_FOR_REPETITIONS)
        return self.measure in times

    @property
    def value_unit(self) -> str:
        return self.VALUE_UNITS[self.measure]

    @property
    def fixed_unit(self) -> str:
        return self.FIXED_UNITS.get(self.measure, "")

    def clean(self) -> None:
        if not self.movement_id:
            return
        self._refuse_another_test()
        if self.KIND_OF_MEASURE.get(self.measure, "engine") != self.movement.kind:
            raise ValidationError({"measure": f"{self.movement} cannot be measured that way. Choose another measure."})
        if self.measure in self.PACED_MEASURES and not self.movement.paced:
            text = f"{self.movement} is not paced: test the most unbroken repetitions, or make the movement paced."
            raise ValidationError({"measure": text})
        if (self.fixed is None) == (self.measure in self.FIXED_UNITS):
            wanted = self.fixed_unit
            text = f"Say how many {wanted} the test is fixed at." if wanted else "Leave this empty for this measure."
            raise ValidationError({"fixed": text})
        calories = self.measure in (self.Measure.TIME_FOR_CALORIES, self.Measure.CALORIES_IN_TIME)
        if self.movement.engine and ("kcal" if calories else "metres") not in self.movement.dose_kinds:
            unit = "calories" if calories else "metres"
            raise ValidationError({"measure": f"{self.movement} has no {unit} to go by. Choose another measure."})

    def _refuse_another_test(self) -> None:
        """What it measures stays once there are efforts, or they would mean something else."""
        tested = Benchmark.objects.filter(pk=self.pk, efforts__isnull=False)
        before = tested.values("movement", "measure", "fixed").first() or {}
        now = {"movement": self.movement_id, "measure": self.measure, "fixed": self.fixed}
        if changed := [name for name in before if before[name] != now[name]]:
            raise ValidationError(dict.fromkeys(changed, EFFORTS_REST_ON_IT))
