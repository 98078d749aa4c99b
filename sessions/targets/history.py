"""What athletes did of late, for the cautions that are computed: when they trained, and how much of a movement."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from django.db.models import F, Max, Min, Q

from athletes.gym.read import today
from athletes.models import Accustomed, Athlete, Benchmark, Effort, Override
from sessions.circuits.definition import Definition, Movement
from sessions.models import Attendance, Log, LogEntry, PublishedSession, Target
from sessions.scaling.cautions import EXPOSURE_DAYS, most_in_session, return_day

WINDOW = timedelta(days=60)  # a break and the four weeks after it; of what lies before only the last day matters
Caution = Override.Caution


@dataclass(frozen=True, eq=False)
class History:
    """What n athletes did up to `today`; keys are their places in `athletes`.

    `days` holds the days trained, `biggest` by (place, movement) the most done of it in one session of late,
    `recorded_from` the first day on record of each, `accustomed` by (place, movement) what a coach said of it.
    """

    athletes: list[Athlete]
    today: date
    days: dict[int, list[date]] = field(default_factory=dict)
    biggest: dict[tuple[int, int], float] = field(default_factory=dict)
    overrides: dict[int, list[Override]] = field(default_factory=dict)
    recorded_from: dict[int, date] = field(default_factory=dict)
    accustomed: dict[tuple[int, int], bool] = field(default_factory=dict)

    def return_day(self, row: int, day: date | None = None) -> date | None:
        """The day on which an athlete's growing volume begins or began; None for who is not coming back.

        For a `day` ahead also a return, the end of a leave, or a new member's first day, that is announced until then.
        """
        athlete = self.athletes[row]
        returns = (athlete.joined_on, athlete.returned_on, athlete.leave_until)
        announced = [d for d in returns if d and self.today < d <= (day or self.today)]
        if announced:
            return max(announced)
        return return_day(self.days.get(row, []), self._seen_from(day), athlete.joined_on, athlete.returned_on)

    def first_day_back(self, row: int, day: date) -> date | None:
        """The first day after a break that is on record, `day` for who is still away then; None without a break."""
        seen, days = self._seen_from(day), self.days.get(row, [])
        back = return_day(days, seen)
        return day if back == seen and seen not in days else back

    def _seen_from(self, day: date | None) -> date:
        """The day on which a break is judged: today, and for the coming week its Monday, by when it may be one."""
        monday = day and day - timedelta(days=day.weekday())
        return monday if monday and self.today < monday <= self.today + timedelta(days=7) else self.today

    def days_since_return(self, day: date) -> np.ndarray:
        """Days from everyone's return to `day`, (n,); NaN for who is not coming back, or may go on as before.

        Who is away today begins anew in the week of that day, however far ahead it is planned.
        """
        days = np.full(len(self.athletes), np.nan)
        monday = day - timedelta(days=day.weekday())
        for row in range(len(self.athletes)):
            start = self.return_day(row, day)
            if start is not None and not self.override(row, Caution.RETURN, day):
                away = start in (self.today, self._seen_from(day))
                days[row] = max((day - (max(start, monday) if away else start)).days, 0)
        return days

    def most_in_session(self, day: date, movement: Movement) -> np.ndarray:
        """The most of a movement (as in a definition) that a session may ask of everyone, (n,); inf: no limit."""
        most = np.full(len(self.athletes), np.inf)
        if not movement.high_eccentric or movement.introductory is None:
            return most
        since = self.days_since_return(day)
        for row in range(len(self.athletes)):
            if self.override(row, Caution.EXPOSURE, day, movement.id):
                continue
            said = self.accustomed.get((row, movement.id))
            judged = said is False or self.on_record(row) or not np.isnan(since[row])
            if judged and said is not True:
                most[row] = most_in_session(movement.introductory, self.biggest.get((row, movement.id), 0.0))
        return most

    def on_record(self, row: int) -> bool:
        """Whether so much of an athlete's training is on record that what is missing there was not done."""
        first = self.recorded_from.get(row)
        return first is not None and first <= self.today - timedelta(days=EXPOSURE_DAYS)

    def unanswered(self, row: int, movement: Movement) -> bool:
        """Whether nobody can tell if an athlete is used to a movement that makes sore: neither a record nor a coach."""
        return not self.on_record(row) and (row, movement.id) not in self.accustomed

    def override(self, row: int, caution: str, day: date, movement_id: int | None = None) -> Override | None:
        """What a coach decided against a caution that would apply on a day."""
        for made in self.overrides.get(row, ()):
            fits = made.movement_id is None or made.movement_id == movement_id
            if made.caution == caution and fits and made.starts_on <= day <= made.ends_on:
                return made
        return None


def load_history(athletes: list[Athlete], day: date | None = None) -> History:
    """The history of these athletes up to a day (today). Fourteen queries at most, however many they are."""
    day = day or today()
    rows = {athlete.pk: row for row, athlete in enumerate(athletes)}
    history = History(athletes, day)
    trained = _training_days(rows, day)
    for athlete_id, of in trained:
        history.days.setdefault(rows[athlete_id], []).append(of)
    for row, days in history.days.items():
        history.recorded_from[row] = min(days)
    if not trained and not Log.objects.exists() and not Attendance.objects.exists():  # the gym records neither
        first = PublishedSession.objects.live().aggregate(Min("date"))
        if first["date__min"]:
            history.recorded_from.update(dict.fromkeys(range(len(athletes)), first["date__min"]))
    totals = _session_totals({athlete.pk: athlete.returned_on for athlete in athletes}, day)
    for (athlete_id, movement_id), most in totals.items():
        history.biggest[rows[athlete_id], movement_id] = most
    for said in Accustomed.objects.filter(athlete_id__in=rows):
        history.accustomed[rows[said.athlete_id], said.movement_id] = said.accustomed
    for made in Override.objects.filter(athlete_id__in=rows, ends_on__gte=day):
        history.overrides.setdefault(rows[made.athlete_id], []).append(made)
    return history


def back_from_break(sender: object, athletes: list[Athlete], day: date, **_: object) -> dict[int, date]:
    """By athlete (id) the first day back from a break that logs and attendances show: `day` itself for who is still
    away. Five queries."""
    history = History(athletes, min(day, today()))
    rows = {athlete.pk: row for row, athlete in enumerate(athletes)}
    for athlete_id, of in _training_days(rows, history.today):
        history.days.setdefault(rows[athlete_id], []).append(of)
    found = {athlete.pk: history.first_day_back(row, day) for row, athlete in enumerate(athletes)}
    return {pk: back for pk, back in found.items() if back is not None}


def _training_days(athlete_ids: Iterable[int], day: date) -> set[tuple[int, date]]:
    """Days with a log or an attendance, and the last of each kind before the window."""
    start, found = day - WINDOW, set()
    for model in (Log.objects.standing(), Attendance.objects):
        own = model.filter(athlete_id__in=athlete_ids, date__lte=day)
        found |= set(own.filter(date__gte=start).order_by().values_list("athlete_id", "date").distinct())
        before = own.order_by().values("athlete_id").annotate(last=Max("date", filter=Q(date__lt=start)))
        found |= {(row["athlete_id"], row["last"]) for row in before if row["last"]}
    return found


def _session_totals(returned_on: dict[int, date | None], day: date) -> dict[tuple[int, int], float]:
    """The most done of a movement in one session of the last weeks, by (athlete, movement)."""
    since = day - timedelta(days=EXPOSURE_DAYS)
    totals = [
        *_logged_totals(returned_on, since, day),
        *_presumed_totals(returned_on, since, day),
        *_tested_totals(returned_on, since, day),
    ]
    most: dict[tuple[int, int], float] = defaultdict(float)
    for athlete_id, movement_id, amount in totals:
        most[athlete_id, movement_id] = max(most[athlete_id, movement_id], amount)
    return most


def _logged_totals(athlete_ids: Iterable[int], since: date, day: date) -> list[tuple[int, int, float]]:
    entries = LogEntry.objects.filter(
        log__replaced=False, log__athlete_id__in=athlete_ids, log__date__range=(since, day), movement__isnull=False
    )
    by_session: dict[tuple[int, int, int], float] = defaultdict(float)
    rows = entries.order_by().values_list("log_id", "log__athlete_id", "movement_id", F("rounds") * F("dose"))
    for log_id, athlete_id, movement_id, amount in rows:
        by_session[log_id, athlete_id, movement_id] += amount
    return [(athlete_id, movement_id, amount) for (_, athlete_id, movement_id), amount in by_session.items()]


def _tested_totals(athlete_ids: Iterable[int], since: date, day: date) -> list[tuple[int, int, float]]:
    """What was done in benchmarks that count repetitions: a test is a session too."""
    efforts = Effort.objects.standing().filter(
        athlete_id__in=athlete_ids, performed_on__range=(since, day), benchmark__measure__in=Benchmark.COUNTED
    )
    return list(efforts.order_by().values_list("athlete_id", "benchmark__movement_id", "value"))


def _presumed_totals(returned_on: dict[int, date | None], since: date, day: date) -> list[tuple[int, int, float]]:
    """What was asked in sessions that are over, of who came without logging; of everyone where nobody logs at all.

    Of who was away, as far as staff have said so, nothing is presumed.
    """
    logged = set(
        Log.objects.standing().filter(date__range=(since, day)).values_list("athlete_id", "session_key", "date")
    )
    came = set(Attendance.objects.filter(date__range=(since, day)).values_list("athlete_id", "session_key", "date"))
    everyone = not logged and not came
    if not everyone and not came:
        return []
    past = PublishedSession.objects.live().filter(date__gte=since, date__lt=day + timedelta(days=not everyone))
    sessions = {session.pk: session for session in past}
    sore = {(pk, *place): movement for pk, session in sessions.items() for place, movement in _sore(session.definition)}
    asked = Target.objects.filter(session_id__in={pk for pk, *_ in sore}, athlete_id__in=returned_on, rung__gte=0)
    by_session: dict[tuple[int, int, int], float] = defaultdict(float)
    for session_id, athlete_id, station, rung, dose, rounds in asked.order_by().values_list(
        "session_id", "athlete_id", "station", "rung", "dose", "rounds"
    ):
        movement_id = sore.get((session_id, station, rung))
        if movement_id is None:
            continue
        session = sessions[session_id]
        came_there = (athlete_id, session.class_key, session.date) in came
        open_there = came_there and (athlete_id, session.key, session.date) not in logged
        away = returned_on[athlete_id] is not None and session.date < returned_on[athlete_id]
        if open_there or (everyone and not away):
            by_session[session_id, athlete_id, movement_id] += dose * (
                session.definition.rotations if rounds is None else rounds
            )
    return [(athlete_id, movement_id, amount) for (_, athlete_id, movement_id), amount in by_session.items()]


def _sore(circuit: Definition) -> Iterator[tuple[tuple[int, int], int]]:
    """The places (station, rung) of a circuit with a movement that makes sore, and the movement."""
    for number, station in enumerate(circuit.stations, start=1):
        for rung, option in enumerate(station.options):
            if option.movement.high_eccentric:
                yield (number, rung), option.movement.id
