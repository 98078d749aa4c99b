"""A spreadsheet that is brought in: the file, where its table begins, and which benchmark a name means."""

import uuid

from django import forms

from athletes.models import Benchmark, Import

MOST_BYTES = 20_000_000


class UploadForm(forms.Form):
    file = forms.FileField(
        help_text="CSV or .xlsx, up to 20 MB: a row for each result, or a row for each athlete and a column for each "
        "benchmark. Nothing is kept before you have looked at it.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError("The file is larger than 20 MB. Divide it, and bring in one by one.")
        return file


class ReadingForm(forms.Form):
    """Where in the file the table begins."""

    sheet = forms.ChoiceField(required=False)
    heading_row = forms.IntegerField(label="headings stand in row", min_value=1, max_value=2000)

    def __init__(self, *args, source: Import, **kwargs):
        reading = source.reading
        super().__init__(*args, initial={name: reading[name] for name in ("sheet", "heading_row")}, **kwargs)
        self.fields["sheet"].choices = [(name, name) for name in reading["sheets"]]
        if len(reading["sheets"]) < 2:
            self.fields["sheet"].widget = forms.HiddenInput()


class NamesForm(forms.Form):
    """Which benchmark the file means by a name that none has."""

    def __init__(self, *args, names: list[str], **kwargs):
        super().__init__(*args, **kwargs)
        self.names = names
        choices = [("", "none: leave these results out"), *benchmark_choices()]
        for number, name in enumerate(names):
            self.fields[f"name-{number}"] = forms.ChoiceField(label=f"“{name}”", choices=choices, required=False)

    def said(self) -> dict[str, int]:
        chosen = {name: self.cleaned_data[f"name-{number}"] for number, name in enumerate(self.names)}
        return {name: int(pk) for name, pk in chosen.items() if pk}


class KeepForm(forms.Form):
    create_athletes = forms.BooleanField(required=False)


def benchmark_choices() -> list[tuple[int, str]]:
    return list(Benchmark.objects.filter(archived=False).order_by("name").values_list("pk", "name"))
