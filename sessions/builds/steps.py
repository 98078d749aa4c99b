"""The steps of a build: what is asked for each time. Plain numbers, no Django."""

from collections.abc import Sequence
from datetime import date, timedelta

MOST_SESSIONS = 26  # half a year, every week
EASED_SHARE = 0.7  # of the step before, on an easier week (common practice: a third off)
BOUNDS = {"rounds": (1, 40), "dose": (25, 200), "rest": (20, 900)}


def days_of(starts_on: date, until: date, every: int) -> list[date]:
    """The days of a series, the first and the last included; at most `MOST_SESSIONS`."""
    count = min((until - starts_on).days // (7 * every) + 1, MOST_SESSIONS)
    return [starts_on + timedelta(weeks=every * place) for place in range(max(count, 0))]


def eased_places(count: int, each: int) -> list[int]:
    """Every so manieth place is easier, never the last; none where `each` is 0."""
    return [place for place in range(count - 1) if each and (place + 1) % each == 0]


def growing(first: float, last: float, count: int, eased: Sequence[int] = ()) -> list[int]:
    """Whole numbers from `first` to `last` in steps of the same share, and on eased places less than the step before.

    Rounds and doses grow, an interval may shrink; then an eased place is not shorter than the first.
    """
    hard = [place for place in range(count) if place not in eased]
    ratio = (last / first) ** (1 / max(len(hard) - 1, 1))
    steps: list[int] = []
    reached = 0
    for place in range(count):
        if place in hard:
            steps.append(round(first * ratio**reached))
            reached += 1
        elif last >= first:
            steps.append(max(round(EASED_SHARE * steps[-1]), 1))
        else:
            steps.append(round(first))
    return steps


def held_back(steps: Sequence[int], place: int) -> list[int]:
    """The step at `place` once more, and what was to follow a time later; as many steps as before."""
    return [*steps[: place + 1], *steps[place : len(steps) - 1]]


def stepped_back(steps: Sequence[int], place: int) -> list[int]:
    """After `place` the step before it, then it again, and what was to follow two times later; as many as before."""
    before = steps[place - 1] if place else steps[0]
    return [*steps[: place + 1], before, *steps[place:]][: len(steps)]
