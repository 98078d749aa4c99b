import uuid

from django import forms

from athletes.forms.fields import DayInput
from athletes.models import Benchmark

TYPED_EXAMPLES = "7:42.3 · 1:52.4/500 · 12 in 0:40 · 85x5 · 23"


class EffortForm(forms.Form):
    """One typed result. What it means is decided by athletes.services.efforts, not here."""

    benchmark = forms.ModelChoiceField(Benchmark.objects.none(), empty_label="Choose a benchmark")
    typed = forms.CharField(
        label="result",
        max_length=60,
        help_text=TYPED_EXAMPLES,
        widget=forms.TextInput(attrs={"class": "input-figure", "autocomplete": "off", "spellcheck": "false"}),
    )
    performed_on = forms.DateField(label="day", widget=DayInput())
    # Made with the page: sending the page twice keeps one effort.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    def __init__(self, *args, benchmark: Benchmark | None = None, **kwargs):
        super().__init__(*args, **kwargs)
        offered = Benchmark.objects.filter(archived=False)
        if benchmark is not None:
            offered = offered | Benchmark.objects.filter(pk=benchmark.pk)
            self.initial["benchmark"] = benchmark
        self.fields["benchmark"].queryset = offered.select_related("movement")

    def answer(self) -> str:
        """What a “keep it” answers: it counts for exactly this result, not for one that was typed since."""
        cleaned = self.cleaned_data
        return f"{cleaned['benchmark'].pk} {cleaned['performed_on']} {cleaned['typed']}"

    def say(self, error: forms.ValidationError) -> None:
        """Put what the service says beside the field it concerns, or above all of them."""
        by_field = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
        for name, sentences in by_field.items():
            self.add_error(name if name in self.fields else None, sentences)


class VoidForm(forms.Form):
    reason = forms.CharField(
        label="why it does not count",
        max_length=200,
        help_text="For example: damper at 10, stopped early, typed for the wrong athlete.",
    )
