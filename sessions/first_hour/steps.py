"""The five steps from an empty gym to a published week. What is done is seen from what is there, nothing else."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from athletes.models import Athlete, Effort, Gym, Machine, Movement
from sessions.models import PlannedSession, Publication
from sessions.weeks.read import monday_of


@dataclass(frozen=True)
class Step:
    """A step with the name of its page, whether it is done, and what is there in a few words."""

    number: int
    page: str
    title: str
    done: bool
    says: str


def steps(gym: Gym, day: date) -> list[Step]:
    """All five as they stand on a day. Five queries."""
    standing = Effort.objects.standing().filter(athlete=OuterRef("pk"))
    active = Athlete.objects.filter(active=True)
    people = active.aggregate(all=Count("pk"), known=Count("pk", filter=Q(Exists(standing))))
    movements = Movement.objects.filter(archived=False).count()
    machines = Machine.objects.filter(active=True, type__engine__gt="").count()
    planned = sessions_ahead(day).count()
    published = something_published()
    times = len(gym.class_times)
    return [
        Step(1, "gym", "The gym", bool(times), f"{gym.name}, {_count(times, 'class time')}" if times else GYM),
        Step(
            2,
            "people",
            "The people",
            people["all"] > 0,
            f"{people['all']} in, {people['known']} with a result" if people["all"] else PEOPLE,
        ),
        Step(
            3,
            "room",
            "What stands in it",
            movements > 0,
            f"{_count(machines, 'machine')}, {_count(movements, 'movement')}" if movements else ROOM,
        ),
        Step(
            4,
            "week",
            "The first week",
            planned > 0 or published,
            f"{_count(planned, 'session')} planned" if planned else WEEK,
        ),
        Step(5, "publish", "Publish", published, "people see their numbers" if published else PUBLISH),
    ]


GYM = "name, time zone, class times"
PEOPLE = "a list, as you have it"
ROOM = "machines, and the starter library"
WEEK = "ten circuits, a short test day"
PUBLISH = "and everyone's code on one sheet"


def sessions_ahead(day: date) -> QuerySet[PlannedSession]:
    """Sessions planned for what is left of this week, and for the next."""
    monday = monday_of(day)
    weeks = (monday, monday + timedelta(days=7))
    rows = PlannedSession.objects.standing().filter(week__starts_on__in=weeks)
    return rows.exclude(week__starts_on=monday, weekday__lt=day.weekday())


def something_published() -> bool:
    """Whether people ever saw a week."""
    return Publication.objects.filter(state__in=(Publication.State.LIVE, Publication.State.SUPERSEDED)).exists()


def is_beginning(gym: Gym) -> bool:
    """Whether the gym is still on its way to its first published week. One query, none where it is over."""
    return not gym.first_hour_over and not something_published()


def is_empty() -> bool:
    """Whether nobody and nothing is in yet. Two queries."""
    return not Athlete.objects.exists() and not Movement.objects.exists()


def _count(number: int, word: str) -> str:
    return f"{number or 'no'} {word}{'' if number == 1 else 's'}"
