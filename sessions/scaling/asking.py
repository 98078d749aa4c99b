"""What is asked of the athletes before their capacity is looked at."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.options import whole_steps


@dataclass(frozen=True, eq=False)
class Asking:
    """Doses (S, n), 0 at rest; "steps" are the same in whole steps."""

    wanted: np.ndarray  # prescription times the intent of the day
    wanted_steps: np.ndarray
    most: np.ndarray  # as much of it as may be asked of this athlete
    most_steps: np.ndarray
    least: np.ndarray  # that keeps a movement
    exposed: np.ndarray | bool  # whether it is `Room.most_dose` that limits it
    pinned: np.ndarray | None  # where rung and dose are set by hand; None where nobody's are
    planned: np.ndarray  # the dose set by hand there, `most` elsewhere


def asking_of(crowd, chosen):
    """The `Asking` of a `Crowd` at the rungs that were chosen."""
    asked, pinned = chosen.asked, crowd.pinned
    wanted, steps = (np.where(chosen.present, dose, 0.0) for dose in (asked.wanted, asked.wanted_steps))
    everywhere = range(len(wanted))
    most, exposed = most_of(crowd, wanted, lambda array: crowd.at_options([array], chosen.option, everywhere)[0])
    most_steps = steps if most is wanted else whole_steps(most, asked.step)
    return Asking(
        wanted=wanted,
        wanted_steps=steps,
        most=most,
        most_steps=most_steps,
        least=least_useful(asked, most_steps),
        exposed=exposed,
        pinned=pinned,
        planned=most if pinned is None else np.where(pinned, crowd.pinned_dose, most),
    )


def most_of(crowd, wanted, read):
    """As much of a wanted dose as may be asked, and whether it is `most_dose` that limits it.

    `read` gives the values of an array (S, L, n) of the crowd at the rungs that are meant.
    """
    most, exposed = wanted, False
    if crowd.share is not None:
        most = wanted * read(crowd.share)
    if crowd.most_dose is not None:
        limit = read(crowd.most_dose)
        exposed, most = limit < most, np.minimum(limit, most)
    return most, exposed


def least_useful(asked, most_steps):
    """Least dose that keeps a movement: the coach's, or all that may be asked; one step at least."""
    return np.maximum(np.minimum(asked.least_dose, most_steps), asked.step)
