from django import forms

from athletes.models import Athlete


class AccustomedForm(forms.Form):
    """Of whom it was `asked`, ids with commas between, and who of them is `used` to it; `everyone` says all are."""

    asked = forms.CharField(max_length=200_000)
    used = forms.TypedMultipleChoiceField(coerce=int, required=False)
    everyone = forms.BooleanField(required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        ids = [part for part in str(self.data.get("asked", "")).split(",") if part.isascii() and part.isdecimal()]
        self._asked = set(Athlete.objects.filter(pk__in=[int(part[:12]) for part in ids]).values_list("pk", flat=True))
        self.fields["used"].choices = [(athlete, athlete) for athlete in self._asked]

    def clean_asked(self) -> set[int]:
        if not self._asked:
            raise forms.ValidationError("Nobody of these is an athlete here any more. Reload the page.")
        return self._asked

    def clean(self) -> dict:
        cleaned = super().clean()
        if cleaned.get("everyone"):
            cleaned["used"] = self._asked
        return cleaned
