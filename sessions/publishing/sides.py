"""A week as people see it, or as they will: the two sides of a comparison."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from sessions.circuits.definition import Definition
from sessions.models import Publication, PublishedSession, Target
from sessions.targets.detail import Detail, detail_of

COLUMNS = ("session", "athlete", "station", "rung", "dose", "load_kg", "rounds", "detail")


@dataclass(frozen=True)
class Shown:
    """A target as it is compared: what a person acts on, for a hold follows from the dose; and the detail behind it."""

    rung: int
    dose: float
    load_kg: float | None
    rounds: int | None
    detail: Detail

    @property
    def asked(self) -> bool:
        """Whether anything is asked here: no rest, and nothing that a coach sets."""
        return self.rung >= 0

    @property
    def acted_on(self) -> tuple:
        return self.rung, self.dose, self.load_kg, self.rounds


@dataclass(frozen=True)
class Day:
    """A session of a week on one side of the comparison, with its targets by athlete and station."""

    key: UUID
    date: date
    hours: tuple[str, ...]
    intent: str
    hot: bool
    definition: Definition
    targets: dict[tuple[int, int], Shown]
    kept: bool = False


@dataclass(frozen=True)
class Side:
    """A week as people see it, or as they will: its sessions, and the moment up to which results are in it."""

    days: tuple[Day, ...]
    computed_at: datetime | None


def side_of(publication: Publication) -> Side:
    """A publication as it stands, with what was set by hand since it went live. Two queries."""
    rows = Target.objects.filter(publication=publication).only(*COLUMNS)
    sessions = publication.sessions.all()
    return Side(days_of(publication, sessions, rows.order_by()), publication.computed_at)


def days_of(
    publication: Publication, sessions: Iterable[PublishedSession], targets: Iterable[Target]
) -> tuple[Day, ...]:
    """Sessions with their targets; both may be rows that are not kept."""
    by_session: dict[tuple, dict[tuple[int, int], Shown]] = {}
    places = {session.pk: (str(session.key), session.date) for session in sessions if session.pk}
    for target in targets:
        place = places.get(target.session_id) or (str(target.session.key), target.session.date)
        found = Shown(target.rung, target.dose, target.load_kg, target.rounds, detail_of(target))
        by_session.setdefault(place, {})[target.athlete_id, target.station] = found
    hot = {(day["key"], day["date"]): day.get("hot", False) for day in publication.content.get("sessions", ())}
    return tuple(
        Day(
            key=UUID(str(session.key)),
            date=session.date,
            hours=tuple(session.hours),
            intent=session.intent,
            hot=hot.get((str(session.key), session.date.isoformat()), False),
            definition=session.definition,
            targets=by_session.get((str(session.key), session.date), {}),
            kept=session.kept_from_id is not None,
        )
        for session in sessions
    )
