from django import forms

from athletes.forms.fields import DayInput, PlainNumbers, lines
from athletes.models import Athlete


class AthleteForm(PlainNumbers, forms.ModelForm):
    class Meta:
        model = Athlete
        fields = [
            "name", "board_name", "born", "sex", "body_mass_kg", "load_unit", "joined_on", "returned_on", "active",
            "note",
        ]  # fmt: skip
        widgets = {"born": DayInput(), "joined_on": DayInput(), "returned_on": DayInput(), "note": lines()}
        labels = {"joined_on": "joined on", "active": "Takes part"}
        help_texts = {
            "board_name": "Short, as the room knows this athlete; shown on wall and paper. Empty: the first name.",
            "body_mass_kg": "Private to staff and the athlete. Helps the first guess.",
            "active": "Gets targets and stands on the board.",
        }
        error_messages = {
            "board_name": {"unique": "Someone else has this name on the board. Add an initial or use a nickname."}
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["board_name"].required = False

    def clean(self) -> dict:
        cleaned = super().clean()
        if not cleaned.get("board_name") and cleaned.get("name"):
            cleaned["board_name"] = cleaned["name"].split()[0][:24]
        return cleaned
