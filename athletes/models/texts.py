import re

from django.core.exceptions import ValidationError

CONTROLS = re.compile("[\x00-\x1f\x7f\x85\u2028\u2029]")


def validate_one_line(text: str) -> None:
    """Names stand in headings, calendars and file names, which have one line."""
    if CONTROLS.search(text):
        raise ValidationError("Write this on one line.")
