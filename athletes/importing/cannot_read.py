class CannotRead(ValueError):
    """The file as a whole has no reading; the message says what to do about it."""
