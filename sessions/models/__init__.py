"""What people are asked to do; one topic a file."""

from sessions.models.build import Build, Grows
from sessions.models.circuit import Circuit, CircuitDraft, Station, StationOption
from sessions.models.log import Attendance, Log, LogEntry
from sessions.models.part import Part, PartTemplate
from sessions.models.pin import Pin
from sessions.models.place import ClassVersion, Coming, Start
from sessions.models.publication import PersonalPage, Publication, PublishedSession, Target
from sessions.models.run import ClassRun, RunChange
from sessions.models.week import ClassHour, PlannedSession, Week

__all__ = [
    "Build",
    "Grows",
    "Attendance",
    "Circuit",
    "CircuitDraft",
    "ClassHour",
    "ClassRun",
    "ClassVersion",
    "Coming",
    "Log",
    "LogEntry",
    "Part",
    "PartTemplate",
    "PersonalPage",
    "Pin",
    "PlannedSession",
    "Publication",
    "PublishedSession",
    "RunChange",
    "Start",
    "Station",
    "StationOption",
    "Target",
    "Week",
]
