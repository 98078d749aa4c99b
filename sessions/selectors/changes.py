"""Who changed between two revisions of a week, and how."""

from dataclasses import dataclass

from athletes.models import Athlete
from sessions.models import Publication, Target


@dataclass(frozen=True)
class Change:
    """One athlete's target at one station of one session, before and after (None: there was none, or is none)."""

    athlete: Athlete
    date: str
    circuit: str
    station: int
    before: dict | None
    after: dict | None


SHOWN = ("rung", "dose", "load_kg")  # what a person acts on; a hold follows from the dose


def changes_between(before: Publication, after: Publication) -> list[Change]:
    """Every target that moved, came or went, by athlete, day and station. Five queries, whatever the size."""
    old, new = _targets(before), _targets(after)
    moved = [key for key in old.keys() | new.keys() if old.get(key) != new.get(key)]
    sessions = {str(s.key): s for publication in (before, after) for s in publication.sessions.all()}
    athletes = Athlete.objects.in_bulk({athlete for _, athlete, _ in moved})
    rows = [
        Change(
            athlete=athletes[athlete],
            date=sessions[session].date,
            circuit=sessions[session].circuit["name"],
            station=station,
            before=_shown(old.get(key), before, session, station),
            after=_shown(new.get(key), after, session, station),
        )
        for key in moved
        for session, athlete, station in [key]
    ]
    return sorted(rows, key=lambda change: (change.athlete.name, change.athlete.pk, change.date, change.station))


def _targets(publication: Publication) -> dict[tuple, tuple]:
    rows = Target.objects.filter(publication=publication).order_by()
    return {
        (str(key), athlete, station): tuple(shown)
        for key, athlete, station, *shown in rows.values_list("session__key", "athlete_id", "station", *SHOWN)
    }


def _shown(values: tuple | None, publication: Publication, session: str, station: int) -> dict | None:
    if values is None:
        return None
    rung, dose, load_kg = values
    circuit = next(s.circuit for s in publication.sessions.all() if str(s.key) == session)
    if rung < 0:
        return {"rest": True}
    option = circuit["stations"][station - 1]["options"][rung]
    return {"movement": option["movement"]["name"], "dose_kind": option["dose_kind"], "dose": dose, "load_kg": load_kg}
