from datetime import date

from sessions.models import Build, PlannedSession


def sessions_of(build: Build) -> list[PlannedSession]:
    """The sessions of a build that stand, in the order of their steps."""
    rows = build.sessions.standing().select_related("week", "circuit").order_by("build_step")
    return list(rows)


def builds() -> list[Build]:
    return list(Build.objects.select_related("circuit"))


def days_to_show(build: Build, days: list[date]) -> list[date]:
    """The day of each step: where its session stands now, or else where it was planned."""
    stands = {session.build_step: session.date for session in sessions_of(build)}
    return [stands.get(place, day) for place, day in enumerate(days)]
