from django import forms

from athletes.capacity.loading import bar_loads
from athletes.forms.loads import LoadField, LoadsField, PlatesField
from athletes.models import Rack


class RackForm(forms.ModelForm):
    """Loads of one kind that the gym owns: fixed ones, or a bar with its plates."""

    loads = LoadsField(
        label="fixed loads",
        required=False,
        help_text="Kettlebells, dumbbells, sandbags: 8, 12, 16. In pounds with the unit: 35 lb; kept in kilograms.",
    )
    bar_kg = LoadField(label="empty bar", required=False, help_text="What it weighs: 20, or 45 lb. Only for a bar.")
    pairs = PlatesField(
        label="plates in pairs",
        required=False,
        help_text="One plate times the pairs that one bar can have: 20 × 4, 15 × 2, 2.5 × 2. An x will do.",
    )

    class Meta:
        model = Rack
        fields = ["name", "loads", "bar_kg", "pairs"]
        help_texts = {"name": "As the room calls them: Kettlebells, Light bar."}
        error_messages = {"name": {"unique": "Loads of this name are listed already. Change those, or rename these."}}

    def clean(self) -> dict:
        cleaned = super().clean()
        if cleaned.get("bar_kg") and cleaned.get("pairs"):
            try:
                bar_loads(cleaned["bar_kg"], dict(cleaned["pairs"]))
            except ValueError as error:
                self.add_error("pairs", str(error))
        return cleaned
