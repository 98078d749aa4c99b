"""Who came to the sessions that are over, and what they logged: most of it as planned, now and then a miss."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from statistics import NormalDist

import numpy as np

from athletes.models import Account, Athlete, Gym
from coachhub.demo.keys import demo_key
from coachhub.demo.people import PEOPLE, Person
from coachhub.demo.truth import SEED
from sessions.logs.write import log_rows
from sessions.models import Attendance, Log, LogEntry, PublishedSession, Target
from sessions.targets.detail import detail_of

COMING = 4  # a purpose of random numbers, beside those of `schedule`
CAME, LOGGED = 0.75, 0.85  # of who never misses a test; of who came
EASIEST, HARDEST = 2, 10  # RPE
RPE_SD, OWN_RPE_SD, OF_A_MISS = 0.6, 0.4, 1.0  # of a day, between people, and above the others after a miss
SHARED = 0.8  # correlation of the stations of one session: a bad day is bad everywhere
OPEN_SD = 0.08
NOTES = ("Felt good.", "Short night.", "", "", "", "Grip went first.", "", "")


def logs_create(athletes: dict[str, Athlete], by: Account, monday: date, before: date) -> None:
    """Attendance and logs of the live sessions from `monday` to the day before `before`."""
    zone = Gym.objects.get().zone
    live = PublishedSession.objects.live().filter(date__gte=monday, date__lt=before)
    came: list[Attendance] = []
    logs: list[tuple[Log, list[LogEntry]]] = []
    for session in live.order_by("date"):
        asked = _asked(session)
        for row, person in enumerate(PEOPLE):
            athlete = athletes[person.name]
            rng = np.random.default_rng([SEED, COMING, row, session.date.toordinal()])
            if athlete.pk not in asked or _away(person, athlete, session.date) or rng.random() > CAME * person.shows:
                continue
            hour = session.hours[int(rng.integers(len(session.hours)))] if session.hours else ""
            if session.part_of is None:
                came.append(
                    Attendance(athlete=athlete, session_key=session.key, date=session.date, hour=hour, marked_by=by)
                )
            if rng.random() < LOGGED:
                done_at = datetime.combine(session.date, time.fromisoformat(hour or "12:00"), zone) + timedelta(hours=1)
                logs.append(_log(session, athlete, row, asked[athlete.pk], done_at, rng))
    Attendance.objects.bulk_create(came)
    Log.objects.bulk_create(log for log, _ in logs)
    for log, entries in logs:
        for entry in entries:
            entry.log = log
    LogEntry.objects.bulk_create(entry for _, entries in logs for entry in entries)


def _away(person: Person, athlete: Athlete, day: date) -> bool:
    since = athlete.joined_on or athlete.returned_on
    return since is not None and day < since


def _asked(session: PublishedSession) -> dict[int, list[Target]]:
    """Everyone's targets of a session, but of who rests throughout."""
    found: dict[int, list[Target]] = {}
    for target in session.targets.order_by("station"):
        found.setdefault(target.athlete_id, []).append(target)
    return {athlete: targets for athlete, targets in found.items() if any(target.rung >= 0 for target in targets)}


def _log(
    session: PublishedSession, athlete: Athlete, row: int, targets: list[Target], done_at: datetime, rng
) -> tuple[Log, list[LogEntry]]:
    own = np.random.default_rng([SEED, COMING, row]).normal(0.0, OWN_RPE_SD)
    working = [target for target in targets if target.rung >= 0]
    entries = list(_entries(session, working, rng))
    expected = detail_of(working[0]).expected_rpe or EASIEST
    missed = any(entry["rounds"] < _rounds(session, target) for entry, target in zip(entries, working, strict=True))
    rpe = expected + own + rng.normal(0.0, RPE_SD) + OF_A_MISS * missed
    content = {
        "key": demo_key("log", session.key, session.date, athlete.key),
        "rpe": float(np.clip(round(rpe), EASIEST, HARDEST)),
        "pain": False,
        "stopped": False,
        "note": NOTES[int(rng.integers(len(NOTES)))],
        "done_at": done_at,
        "entries": entries,
    }
    return log_rows(
        athlete=athlete, session=session, targets=targets, content=content, source=Log.Source.PHONE, by=None
    )


def _entries(session: PublishedSession, working: list[Target], rng: np.random.Generator) -> Iterator[dict]:
    """Everything as asked; where the day was worse than the chance allows, the last rounds stayed undone."""
    day = rng.standard_normal()
    for target in working:
        rounds = _rounds(session, target)
        luck = NormalDist().cdf(SHARED * day + (1 - SHARED**2) ** 0.5 * rng.standard_normal())
        missed = luck > (1.0 if target.probability is None else target.probability)
        done = max(rounds - 1 - (rng.random() < 0.3), 1) if missed and rounds > 1 else rounds
        yield {"station": target.station, "rounds": done, "dose": target.dose, **_open(target, missed, rng)}


def _open(target: Target, missed: bool, rng: np.random.Generator) -> dict:
    """What an open last round came to: as far as there was left, one short of failing."""
    further = np.exp(rng.normal(0.0, OPEN_SD))
    if missed or not detail_of(target).open_last:
        return {}
    most = target.dose / max(1.0 - (target.headroom or 0.0), 0.4) * further
    return {"open_last": float(max(np.floor(most), target.dose))}


def _rounds(session: PublishedSession, target: Target) -> int:
    return session.definition.rotations if target.rounds is None else target.rounds
