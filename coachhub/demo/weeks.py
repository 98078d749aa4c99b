"""What is planned: the weeks before, this week, and the next one, still in draft."""

from collections.abc import Iterator
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
    warm_up: str = ""  # its words; with them the class has parts
    before: tuple[str, int, str, str] | None = None  # kind, minutes, words and circuit of a part before the main one
    cool_down: int = 6

    @property
    def hours(self) -> tuple[str, ...]:
        return {5: SATURDAY_HOURS, 6: SUNDAY_HOURS}.get(self.weekday, WEEKDAY_HOURS)

    @property
    def parts(self) -> Iterator[dict]:
        """The parts of the class in order, a circuit by its name; none where it is its circuit alone."""
        if not self.warm_up:
            return
        yield {"kind": "briefing", "minutes": 3, "words": BRIEFING}
        yield {"kind": "warm_up", "minutes": 10, "words": self.warm_up}
        if self.before:
            kind, minutes, words, circuit = self.before
            yield {"kind": kind, "minutes": minutes, "words": words, "circuit": circuit or None}
        yield {"kind": "circuit", "words": self.note}
        yield {"kind": "cool_down", "minutes": self.cool_down, "words": COOL_DOWN}


BRIEFING = "What today is for, who is new, what to look out for at each station."
COOL_DOWN = "Walk two laps. Calves, hips and lats, a minute each.\nLog before you leave."
ROWING = "6 minutes of easy rowing, each one a little quicker.\nThen hips and shoulders."
BAR = "Three sets with an empty bar: squat, press, hinge.\nThen 10 ring rows and a 20 m crawl."
BELL = "3 rounds, easy: 250 m row, 10 air squats, 10 swings with the lightest bell."
LIFT_WORDS = "Warm-up sets at 40, 55 and 65 % in the first 4 minutes.\nRacks in pairs: one lifts, one rests."
LIFT = ("strength", 14, LIFT_WORDS, "Millstone")
PULL = ("skill", 12, "Two sets to find the grip first. Chest to the bar, no swing.", "Headstock")
ROPE = ("skill", 8, "Double-unders: 20 s on, 40 s off. Single-unders until the rope sings.", "")

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
    Day(0, "Spindle", "steady", warm_up=ROWING, before=PULL),
    Day(1, "Along the Race", "steady", "Bring a second layer.", warm_up="Walk the loop, then four short pick-ups."),
    Day(2, "Still Water", "hard", warm_up=ROWING, before=LIFT),
    Day(3, "Lock Gates", "steady", warm_up=BAR, cool_down=8),
    Day(4, "Seven Sluices", "hard", warm_up=BELL, before=ROPE),
    Day(5, "Floodgate", "hard", "Rounds first: who runs out stops, and stretches.", warm_up=BELL, before=LIFT),
    Day(6, "Low Tide", "easy"),
]
NEXT_WEEK = [
    Day(0, "Granary Steps", "hard", warm_up=ROWING, before=LIFT),
    Day(1, "Ebb and Flow", "steady", warm_up="8 minutes, four short pick-ups."),
    Day(2, "Mill Race", "hard", warm_up=BELL, before=ROPE),
    Day(3, "Lock Gates", "hard", warm_up=BAR),
    Day(4, "Weir", "hard", warm_up=ROWING, before=PULL),
    Day(5, "Wheelhouse", "hard"),
]
TEMPLATES = {"Lift, then circuit": THIS_WEEK[2], "Skill first": THIS_WEEK[4], "Long circuit": THIS_WEEK[3]}
LAST_NOTE = "The test weeks are over: your numbers are fresh. Ask for the why behind any of them."
THIS_NOTE = "Doors open ten minutes before class. Tuesday is outside: dress for the river."
# Noticed after the first revision of this week was out.
SECOND_NOTE = f"{THIS_NOTE} Sunday's easy hour is open to guests."
