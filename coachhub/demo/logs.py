"""Who came to the sessions that are over, and what they logged: most of it as planned, now and then a miss."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

import numpy as np

from athletes.models import Account, Athlete, Gym
from coachhub.demo.keys import demo_key
from coachhub.demo.people import PEOPLE
from coachhub.demo.truth import SEED
from sessions.logs.write import log_write
from sessions.models import Attendance, Log, Publication, PublishedSession, Target

COMING = 4  # a purpose of random numbers, beside those of `schedule`
CAME, LOGGED, MISSED = 0.5, 0.8, 0.07  # of who never misses a test; of who came; of who logged
EASIEST, HARDEST = 3, 10  # RPE
RPE_SD, OWN_RPE_SD = 0.7, 0.6  # of a day, and between people
NOTES = ("Felt good.", "Short night.", "", "", "", "Grip went first.", "", "")


def logs_create(athletes: dict[str, Athlete], by: Account, monday: date, before: date) -> None:
    """Attendance and logs of the live sessions from `monday` to the day before `before`."""
    zone = Gym.objects.get().zone
    live = PublishedSession.objects.filter(publication__state=Publication.State.LIVE, date__gte=monday, date__lt=before)
    for session in live.order_by("date"):
        asked = _asked(session)
        for row, person in enumerate(PEOPLE):
            athlete = athletes[person.name]
            rng = np.random.default_rng([SEED, COMING, row, session.date.toordinal()])
            if athlete.pk not in asked or rng.random() > CAME * person.shows:
                continue
            hour = session.hours[int(rng.integers(len(session.hours)))] if session.hours else ""
            Attendance.objects.create(
                athlete=athlete, session_key=session.key, date=session.date, hour=hour, marked_by=by
            )
            if rng.random() < LOGGED:
                done_at = datetime.combine(session.date, time.fromisoformat(hour or "12:00"), zone) + timedelta(hours=1)
                _log(session, athlete, row, asked[athlete.pk], done_at, rng)


def _asked(session: PublishedSession) -> dict[int, list[Target]]:
    """Everyone's targets of a session, but of who rests throughout."""
    found: dict[int, list[Target]] = {}
    for target in session.targets.order_by("station"):
        found.setdefault(target.athlete_id, []).append(target)
    return {athlete: targets for athlete, targets in found.items() if any(target.rung >= 0 for target in targets)}


def _log(session: PublishedSession, athlete: Athlete, row: int, targets: list[Target], done_at: datetime, rng) -> None:
    own = np.random.default_rng([SEED, COMING, row]).normal(0.0, OWN_RPE_SD)
    used = 1.0 - min(target.headroom for target in targets if target.rung >= 0)
    missed = rng.random() < MISSED
    rpe = 10.0 * used + own + rng.normal(0.0, RPE_SD) + 1.5 * missed
    said = {
        "key": demo_key("log", session.key, session.date, athlete.key),
        "rpe": float(np.clip(round(rpe), EASIEST, HARDEST)),
        "pain": False,
        "stopped": False,
        "note": NOTES[int(rng.integers(len(NOTES)))],
        "done_at": done_at,
        "entries": list(_entries(session, targets, missed)),
    }
    log_write(athlete=athlete, session=session, said=said, source=Log.Source.PHONE)


def _entries(session: PublishedSession, targets: list[Target], missed: bool) -> Iterator[dict]:
    """Everything as asked; in a bad session the last round of the hardest station stayed undone."""
    rotations = session.definition.rotations
    working = [target for target in targets if target.rung >= 0]
    hardest = min(working, key=lambda target: target.headroom)
    for target in working:
        rounds = rotations - 1 if missed and target is hardest and rotations > 1 else rotations
        yield {"station": target.station, "rounds": rounds, "dose": target.dose}
