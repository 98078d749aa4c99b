"""Text that a spreadsheet would run as a formula, made harmless on the way out and given back on the way in."""

# What spreadsheets take for the beginning of a formula; tab and the ends of a line are skipped by them and lead to one.
BEGINS = ("=", "+", "-", "@", "\t", "\r", "\n")
MARK = "'"  # a spreadsheet's own sign for “this is text”


def harmless(text: str) -> str:
    """`text` with a leading apostrophe where a spreadsheet would run it; `as_written` takes exactly that off again."""
    return MARK + text if text.lstrip(MARK).startswith(BEGINS) else text


def as_written(text: str) -> str:
    """What was there before `harmless`."""
    return text[1:] if text.startswith(MARK) and text.lstrip(MARK).startswith(BEGINS) else text
