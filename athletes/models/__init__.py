"""People and what they can do; one topic a file."""

from athletes.models.account import Account
from athletes.models.air import AirReading
from athletes.models.api_answer import ApiAnswer
from athletes.models.athlete import Athlete
from athletes.models.audit import AuditEntry
from athletes.models.benchmark import Benchmark
from athletes.models.effort import Effort
from athletes.models.estimate import Estimate
from athletes.models.evidence import Evidence
from athletes.models.gym import Gym
from athletes.models.limitation import Limitation
from athletes.models.link import Link
from athletes.models.machine import LeverReading, Machine, MachineType
from athletes.models.merge import Merge
from athletes.models.movement import Movement
from athletes.models.override import Accustomed, Override
from athletes.models.rack import Rack
from athletes.models.sign_in import Passkey, SignIn
from athletes.models.test_day import OpenCells, TestDay, TestSlot
from athletes.models.transfer import Import, ImportRemark

__all__ = [
    "Account",
    "Accustomed",
    "AirReading",
    "ApiAnswer",
    "Athlete",
    "AuditEntry",
    "Benchmark",
    "Effort",
    "Estimate",
    "Evidence",
    "Gym",
    "Import",
    "ImportRemark",
    "LeverReading",
    "Limitation",
    "Link",
    "Machine",
    "MachineType",
    "Merge",
    "Movement",
    "OpenCells",
    "Override",
    "Passkey",
    "Rack",
    "SignIn",
    "TestDay",
    "TestSlot",
]
