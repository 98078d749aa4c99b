"""What people are asked to do; one topic a file."""

from sessions.models.circuit import Circuit, Station, StationOption
from sessions.models.publication import PersonalPage, Publication, PublishedSession, Target
from sessions.models.week import ClassHour, PlannedSession, Week

__all__ = [
    "Circuit",
    "ClassHour",
    "PersonalPage",
    "PlannedSession",
    "Publication",
    "PublishedSession",
    "Station",
    "StationOption",
    "Target",
    "Week",
]
