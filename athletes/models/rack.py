from django.core.exceptions import ValidationError
from django.db import models

from athletes.capacity.loading import bar_loads

MOST_KG = 500.0


def validate_loads(loads: list) -> None:
    if not isinstance(loads, list) or not all(_is_mass(kg) for kg in loads):
        raise ValidationError(f"Write loads in kilograms, above zero and up to {MOST_KG:g}.")


def validate_pairs(pairs: list) -> None:
    shaped = isinstance(pairs, list) and all(isinstance(pair, list | tuple) and len(pair) == 2 for pair in pairs)
    if not shaped or not all(_is_mass(kg) and isinstance(count, int) and 0 < count <= 20 for kg, count in pairs):
        raise ValidationError("Write each plate with how many pairs there are, like 20 × 4.")


class Rack(models.Model):
    """The loads that the gym owns of one kind: implements of fixed load, or a bar with pairs of plates."""

    name = models.CharField(max_length=60, unique=True)
    loads = models.JSONField(
        "fixed loads [kg]", default=list, blank=True, validators=[validate_loads], help_text="Kettlebells, sandbags …"
    )
    bar_kg = models.FloatField("empty bar [kg]", null=True, blank=True)
    pairs = models.JSONField(
        "pairs of plates", default=list, blank=True, validators=[validate_pairs], help_text="[[kg of one plate, pairs]]"
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(bar_kg__isnull=True) | models.Q(bar_kg__gt=0, bar_kg__lte=MOST_KG),
                name="rack_bar_is_plausible",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if not self.loads and not self.bar_kg:
            raise ValidationError("Give fixed loads, or a bar with its plates.")
        if self.pairs and not self.bar_kg:
            raise ValidationError({"bar_kg": "Plates need a bar: give what the empty bar weighs."})
        if self.pairs:
            try:
                bar_loads(self.bar_kg, dict(self.pairs))
            except ValueError as error:
                raise ValidationError({"pairs": str(error)}) from None

    def owned(self) -> list[float]:
        """Every load [kg] that can be made, from light to heavy."""
        on_the_bar = bar_loads(self.bar_kg, dict(self.pairs)) if self.bar_kg else []
        return sorted({float(kg) for kg in [*self.loads, *on_the_bar]})


def _is_mass(kg) -> bool:
    return isinstance(kg, int | float) and not isinstance(kg, bool) and 0 < kg <= MOST_KG
