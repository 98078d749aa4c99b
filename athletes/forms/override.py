import uuid

from django import forms

from athletes.forms.fields import DayInput
from athletes.models import Movement, Override
from athletes.selectors.gym import today
from athletes.services.overrides import LONGEST


class OverrideForm(forms.ModelForm):
    """Which caution is set aside for an athlete, from today until when, and why."""

    # Made with the page: sending the page twice keeps one override.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    class Meta:
        model = Override
        fields = ["caution", "movement", "ends_on", "reason"]
        widgets = {"caution": forms.RadioSelect(), "ends_on": DayInput()}
        labels = {"caution": "which caution", "movement": "of which movement", "reason": "why"}
        help_texts = {
            "movement": "Only for the amount of a new movement.",
            "ends_on": f"That day included, at most {LONGEST.days} days ahead.",
            "reason": "Kept with your name, and seen by all staff. No diagnosis.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["caution"].choices = Override.Caution.choices
        self.fields["movement"].queryset = Movement.objects.filter(archived=False, high_eccentric=True)
        self.fields["movement"].empty_label = "all that make sore"
        self.fields["ends_on"].widget.attrs.update(min=today().isoformat(), max=(today() + LONGEST).isoformat())
