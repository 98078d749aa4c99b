"""People and what they can do; one topic a file."""

from athletes.models.account import Account
from athletes.models.athlete import Athlete
from athletes.models.benchmark import Benchmark
from athletes.models.effort import Effort
from athletes.models.estimate import Estimate
from athletes.models.gym import Gym
from athletes.models.limitation import Limitation
from athletes.models.link import Link
from athletes.models.machine import Machine, MachineType
from athletes.models.movement import Movement

__all__ = [
    "Account",
    "Athlete",
    "Benchmark",
    "Effort",
    "Estimate",
    "Gym",
    "Limitation",
    "Link",
    "Machine",
    "MachineType",
    "Movement",
]
