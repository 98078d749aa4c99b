"""One station of repetitions or a hold: what fits into the window, and when it is done."""


def time_limit(window_s, seconds_per_unit):
    """Most repetitions (or seconds of a hold) that fit into a window [s] which has no set-up time in it any more."""
    return window_s / seconds_per_unit


def done_by(setup_s, dose, seconds_per_unit):
    """Second of the interval by which a dose is done, set-up time included."""
    return setup_s + dose * seconds_per_unit
