"""The cautions that are computed for one athlete, in words for staff."""

from datetime import timedelta

from athletes.models import Athlete, Movement
from athletes.words import day as day_text
from athletes.words import number, percent
from sessions.scaling.cautions import BREAK_DAYS, EXPOSURE_DAYS, RAMP_DAYS, ramp_factor, ramp_week
from sessions.targets.history import Caution, History, load_history


def caution_lines(athlete: Athlete) -> list[str]:
    """What holds for an athlete today: the way back after a break, and how much of what makes sore. Eleven queries."""
    history = load_history([athlete])
    lines = [_return_line(history)]
    for movement in Movement.objects.filter(high_eccentric=True, archived=False):
        lines.append(_exposure_line(history, movement))
    return [line for line in lines if line]


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
    share, week = percent(float(ramp_factor(days))), int(ramp_week(days))
    return f"{since}: week {week} of 4, {share} of the usual work and short work windows at first, until {until}."


def _exposure_line(history: History, movement: Movement) -> str:
    if history.override(0, Caution.EXPOSURE, history.today, movement.pk):
        return ""
    most = history.most_in_session(history.today, movement)[0]
    biggest = history.biggest.get((0, movement.pk), 0.0)
    done = f"biggest session of the last {EXPOSURE_DAYS} days: {number(biggest, 0)}" if biggest else "new or long ago"
    return f"{movement}: up to {number(float(most), 0)} in a session ({done})."
