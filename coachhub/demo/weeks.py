"""What is planned: the weeks before, this week, and the next one, still in draft."""

from dataclasses import dataclass

from coachhub.demo.gym import GYM

WEEKDAY_HOURS = tuple(GYM["class_times"])
SATURDAY_HOURS, SUNDAY_HOURS = ("08:30", "10:00", "11:15"), ("10:00",)


@dataclass(frozen=True)
class Day:
    """A session on a weekday (0 is Monday); a circuit by its name."""

    weekday: int
    circuit: str
    intent: str
    note: str = ""

    @property
    def hours(self) -> tuple[str, ...]:
        return {5: SATURDAY_HOURS, 6: SUNDAY_HOURS}.get(self.weekday, WEEKDAY_HOURS)


# The weeks before, in turn; the one just over is always the first of them.
BEFORE = 8
PAST_WEEKS = (
    [
        Day(0, "Still Water", "hard", "Warm-up: 6 minutes of easy rowing, then hips and shoulders."),
        Day(1, "Lock Gates", "steady", "Warm-up: three sets with an empty bar."),
        Day(2, "Mill Race", "hard", "Warm-up: swings with the lightest bell."),
        Day(3, "Granary Steps", "steady"),
        Day(4, "Seven Sluices", "steady"),
        Day(5, "Wheelhouse", "hard", "Places are shared: start at any station."),
        Day(6, "Low Tide", "easy"),
    ],
    [
        Day(0, "Seven Sluices", "hard", "Warm-up: 6 minutes of easy rowing, then hips and shoulders."),
        Day(1, "Beam Engine", "steady", "Warm-up: three sets with an empty bar."),
        Day(2, "Ebb and Flow", "hard", "Warm-up: 8 minutes, four short pick-ups."),
        Day(3, "Floodgate", "steady"),
        Day(4, "Spindle", "hard"),
        Day(5, "Wheelhouse", "steady", "Places are shared: start at any station."),
        Day(6, "Low Tide", "easy"),
    ],
)
THIS_WEEK = [
    Day(0, "Spindle", "steady", "Warm-up: 6 minutes of easy skiing, then hips and shoulders."),
    Day(1, "Along the Race", "steady", "Warm-up: walk the loop once. Bring a second layer."),
    Day(2, "Still Water", "hard", "Warm-up: 6 minutes of easy rowing, then hips and shoulders."),
    Day(3, "Lock Gates", "steady", "Warm-up: three sets with an empty bar."),
    Day(4, "Seven Sluices", "hard", "Warm-up: swings with the lightest bell."),
    Day(5, "Floodgate", "hard", "Rounds first: who runs out stops, and stretches."),
    Day(6, "Low Tide", "easy"),
]
NEXT_WEEK = [
    Day(0, "Granary Steps", "hard"),
    Day(1, "Ebb and Flow", "steady", "Warm-up: 8 minutes, four short pick-ups."),
    Day(2, "Mill Race", "hard"),
    Day(3, "Lock Gates", "hard"),
    Day(5, "Wheelhouse", "hard"),
]
LAST_NOTE = "The test weeks are over: your numbers are fresh. Ask for the why behind any of them."
THIS_NOTE = "Doors open ten minutes before class. Tuesday is outside: dress for the river."
# Noticed after the first revision of this week was out.
SECOND_NOTE = f"{THIS_NOTE} Sunday's easy hour is open to guests."
