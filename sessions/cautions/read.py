"""The cautions that are computed for one athlete, in words for staff."""

from datetime import timedelta

import numpy as np

from athletes.estimates.people import load_people
from athletes.models import Athlete, Movement
from athletes.words import day as day_text
from athletes.words import number, percent
from sessions.scaling.cautions import BREAK_DAYS, EXPOSURE_DAYS, RAMP_DAYS, ramp_week, rounds_share
from sessions.targets.compute import ADULT_YEARS, no_target
from sessions.targets.history import Caution, History, load_history


def caution_lines(athlete: Athlete) -> list[str]:
    """What holds for an athlete today: no automatic targets, the first weeks, and how much of what makes sore.

    Twenty-five queries at most.
    """
    history = load_history([athlete])
    lines = [_no_target_line(history), _return_line(history)]
    for movement in Movement.objects.filter(high_eccentric=True, archived=False):
        lines.append(_exposure_line(history, movement))
    return [line for line in lines if line]


def _no_target_line(history: History) -> str:
    """For staff alone, and no more than they need: what is entered stands under limitations."""
    people, day = load_people([history.athletes[0].pk]), history.today
    if not no_target(people, history, day)[0]:
        return ""
    why = " without a coach's consent: under 18" if people.age(day)[0] < ADULT_YEARS else " for now"
    return f"No automatic targets{why}. A coach sets them by hand, or releases them."


def _return_line(history: History) -> str:
    start = history.return_day(0)
    if start is None or history.override(0, Caution.RETURN, history.today):
        return ""
    days = (history.today - start).days
    until = day_text(start + timedelta(days=RAMP_DAYS - 1))
    if start == history.today and (trained := max(history.days.get(0, []), default=None)):
        since = f"No session since {day_text(trained)}, {BREAK_DAYS} days or more"
    else:
        since = f"Back or new since {day_text(start)}"
    week = int(ramp_week(days))
    share = percent(float(rounds_share(week)))
    return f"{since}: week {week} of 4, {share} of the rounds and loads, more left in the tank, until {until}."


def _exposure_line(history: History, movement: Movement) -> str:
    if history.override(0, Caution.EXPOSURE, history.today, movement.pk):
        return ""
    most = history.most_in_session(history.today, movement)[0]
    if np.isinf(most):
        answer = "used to it, a coach says" if history.accustomed.get((0, movement.pk)) else "nothing on record yet"
        return f"{movement}: no limit ({answer})."
    biggest = history.biggest.get((0, movement.pk), 0.0)
    done = f"biggest session of the last {EXPOSURE_DAYS} days: {number(biggest, 0)}" if biggest else "new or long ago"
    return f"{movement}: up to {number(float(most), 0)} in a session ({done})."
