NO_TABLE = "This is no spreadsheet. Save it as CSV or as .xlsx, and choose that file."


class CannotRead(ValueError):
    """The file as a whole has no reading; the message says what to do about it."""
