"""Who changed between two revisions of a week, and how."""

from dataclasses import dataclass
from datetime import date

from athletes.models import Athlete
from athletes.words import name_order
from sessions.circuits.definition import Definition
from sessions.models import Publication, Target


@dataclass(frozen=True)
class Change:
    """One athlete's target at one station of one session, before and after (None: there was none, or is none)."""

    athlete: Athlete
    date: date
    circuit: str
    station: int
    before: dict | None
    after: dict | None


SHOWN = ("rung", "dose", "load_kg")  # what a person acts on; a hold follows from the dose


def changes_between(before: Publication, after: Publication) -> list[Change]:
    """Every target that moved, came or went, by athlete, day and station. Five queries, whatever the size."""
    old, new = _targets(before), _targets(after)
    circuits = {publication.pk: _circuits(publication) for publication in (before, after)}
    moved = [key for key in old.keys() | new.keys() if old.get(key) != new.get(key)]
    athletes = Athlete.objects.in_bulk({athlete for _, athlete, _ in moved})
    rows = []
    for key in moved:
        session, athlete, station = key
        then, now = circuits[before.pk].get(session), circuits[after.pk].get(session)
        rows.append(
            Change(
                athlete=athletes[athlete],
                date=session[1],
                circuit=(now or then).name,
                station=station,
                before=_shown(old.get(key), then, station),
                after=_shown(new.get(key), now, station),
            )
        )
    return sorted(
        rows, key=lambda change: (name_order(change.athlete.name), change.athlete.pk, change.date, change.station)
    )


def _targets(publication: Publication) -> dict[tuple, tuple]:
    """What was shown, by ((session key, day), athlete, station)."""
    rows = Target.objects.filter(publication=publication).order_by()
    names = ("session__key", "session__date", "athlete_id", "station", *SHOWN)
    return {
        ((key, day), athlete, station): tuple(shown) for key, day, athlete, station, *shown in rows.values_list(*names)
    }


def _circuits(publication: Publication) -> dict[tuple, dict]:
    return {(session.key, session.date): session.definition for session in publication.sessions.all()}


def _shown(values: tuple | None, circuit: Definition | None, station: int) -> dict | None:
    if values is None:
        return None
    rung, dose, load_kg = values
    if rung < 0:
        return {"rest": True}
    option = circuit.stations[station - 1].options[rung]
    return {"movement": option.movement.name, "dose_kind": option.dose_kind, "dose": dose, "load_kg": load_kg}
