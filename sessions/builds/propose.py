"""After each time of a build: progress, hold or step back, for the class and for whoever is not like it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from athletes.models import Athlete
from athletes.words import name_order, number
from sessions.builds.read import sessions_of
from sessions.models import Attendance, Build, Log, Target
from sessions.targets.detail import detail_of

# (common practice) most hold every round, and it feels as hard as it was meant to
MOST_HOLD, FEW_HOLD = 0.8, 0.5
HARDER, MUCH_HARDER = 1.0, 2.0  # RPE above what was expected
FEWEST_LOGS = 3  # from which on a class says something
SLACK = 1e-6
SENTENCES = {"progress": "Progress", "hold": "Hold it once more", "back": "Step back"}


@dataclass(frozen=True)
class OfAthlete:
    """What one athlete's log of a step says: `held` every round at every station, and RPE against what was expected."""

    athlete: Athlete
    held: bool
    missed: str
    rpe: float | None
    expected: float | None
    stopped: bool

    @property
    def harder(self) -> float:
        return (self.rpe - self.expected) if self.rpe is not None and self.expected is not None else 0.0

    @property
    def proposal(self) -> str:
        if self.stopped or self.harder >= MUCH_HARDER and not self.held:
            return "back"
        return "progress" if self.held and self.harder <= HARDER else "hold"

    @property
    def reason(self) -> str:
        said = f"RPE {number(self.rpe, 0)}" if self.rpe is not None else "no RPE"
        expected = f", {number(self.expected, 0)} was expected" if self.expected is not None else ""
        done = "stopped early" if self.stopped else "held every round" if self.held else self.missed
        return f"{done}; {said}{expected}"


@dataclass(frozen=True)
class Proposal:
    """What is proposed after a step, with its reason, and who is not like the class."""

    place: int
    day: date
    came: int
    logs: list[OfAthlete]
    decided: str

    @property
    def held(self) -> int:
        return sum(log.held for log in self.logs)

    @property
    def decision(self) -> str:
        """progress, hold or back; empty where too few logged."""
        if len(self.logs) < FEWEST_LOGS:
            return ""
        share, harder = self.held / len(self.logs), self.harder
        if share < FEW_HOLD or harder >= MUCH_HARDER:
            return "back"
        return "progress" if share >= MOST_HOLD and harder <= HARDER else "hold"

    @property
    def harder(self) -> float:
        rated = [log.harder for log in self.logs if log.rpe is not None and log.expected is not None]
        return sum(rated) / len(rated) if rated else 0.0

    @property
    def words(self) -> str:
        return SENTENCES.get(self.decision, "")

    @property
    def reason(self) -> str:
        if not self.decision:
            return f"{len(self.logs)} logged so far: too few to say anything of the class."
        rated = [(log.rpe, log.expected) for log in self.logs if log.rpe is not None and log.expected is not None]
        said = ""
        if rated:
            mean, expected = (sum(values) / len(rated) for values in zip(*rated, strict=True))
            said = f", RPE {number(mean)} where {number(expected)} was expected"
        return f"{self.held} of {len(self.logs)} held every round{said}."

    @property
    def unlike(self) -> list[OfAthlete]:
        """Athletes for whom something else is proposed than for the class."""
        return [log for log in self.logs if self.decision and log.proposal != self.decision]


def proposal(build: Build, day: date) -> Proposal | None:
    """After the newest step that is over and was logged; None before the first. Seven queries at most."""
    over = [session for session in sessions_of(build) if session.date <= day]
    if not over:
        return None
    logged = set(
        Log.objects.standing().filter(session_key__in=[s.key for s in over]).values_list("session_key", flat=True)
    )
    session = next((session for session in reversed(over) if session.key in logged), over[-1])
    logs = Log.objects.standing().filter(session_key=session.key, date=session.date)
    found = [_of_athlete(log, expected) for log, expected in _with_expected(logs)]
    return Proposal(
        place=session.build_step or 0,
        day=session.date,
        came=Attendance.objects.filter(session_key=session.key, date=session.date).count(),
        logs=sorted(found, key=lambda one: name_order(one.athlete.name)),
        decided=build.decisions.get(str(session.build_step), {}).get("decision", ""),
    )


def _with_expected(logs) -> list[tuple[Log, float | None]]:
    rows = list(logs.select_related("athlete").prefetch_related("entries__movement"))
    targets: dict[tuple[int, int], list[float]] = defaultdict(list)
    for target in Target.objects.filter(session__in={log.session_id for log in rows}, rung__gte=0):
        expected = detail_of(target).expected_rpe
        if expected is not None:
            targets[target.session_id, target.athlete_id].append(expected)
    return [(log, max(targets[log.session_id, log.athlete_id], default=None)) for log in rows]


def _of_athlete(log: Log, expected: float | None) -> OfAthlete:
    entries = [entry for entry in log.entries.all() if entry.movement_id]
    missed = [e for e in entries if e.rounds < e.asked_rounds or e.dose < e.asked_dose - SLACK]
    words = ", ".join(f"{entry.movement}: {_short(entry)}" for entry in missed[:2])
    return OfAthlete(log.athlete, not missed and bool(entries), words, log.rpe, expected, log.stopped or log.pain)


def _short(entry) -> str:
    if entry.rounds < entry.asked_rounds:
        return f"{entry.rounds} of {entry.asked_rounds} rounds"
    return f"{number(entry.dose, 0)} of {number(entry.asked_dose, 0)}"
