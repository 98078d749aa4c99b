from django import forms

from athletes.fields import PlainNumbers, free_slug, lines
from athletes.models import Benchmark, Movement
from athletes.models.benchmark import EFFORTS_REST_ON_IT


class BenchmarkForm(PlainNumbers, forms.ModelForm):
    """A benchmark. What it measures can no longer change once there are efforts, or they would mean something else."""

    class Meta:
        model = Benchmark
        fields = ["name", "movement", "measure", "fixed", "instructions", "archived"]
        widgets = {"instructions": lines(4)}
        help_texts = {
            "fixed": "What does not change: metres, seconds or calories. Leave empty for repetitions, holds and lifts.",
            "archived": "No longer tested; its efforts stay.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        current = self.instance.movement_id
        movements = Movement.objects.filter(archived=False) | Movement.objects.filter(pk=current)
        self.fields["movement"].queryset, self.fields["movement"].empty_label = movements, "Choose a movement"
        self.fields["measure"].choices = [("", "Choose a measure"), *Benchmark.Measure.choices]
        if not self.instance.pk:
            del self.fields["archived"]
        elif self.instance.efforts.exists():
            for name in ("movement", "measure", "fixed"):
                self.fields[name].disabled = True
                self.fields[name].help_text = EFFORTS_REST_ON_IT

    def save(self, commit: bool = True) -> Benchmark:
        if not self.instance.slug:
            self.instance.slug = free_slug(Benchmark, self.instance.name)
        return super().save(commit)
