"""Pace advice for one athlete: what a leg, or a sequence of legs, can be done in, and at which even pace."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.best import interval
from athletes.capacity.ergometer import kcal_in, metres_in
from athletes.estimates.people import People, load_people
from athletes.gym.read import today
from athletes.models import Athlete
from athletes.models.movement import Engine
from athletes.words import clock, dose_text, hold_text, number, percent
from sessions.scaling.pacing import Pacing, pace_sequence
from sessions.scaling.sequence import Leg, Sequence


@dataclass(frozen=True)
class LegAdvice:
    """One leg in words."""

    number: int
    name: str
    hold: str
    watts: str
    time: str
    does: str
    ends: str
    of_best: str


@dataclass(frozen=True)
class Advice:
    """A whole sequence in words."""

    legs: list[LegAdvice]
    total: str
    low: str
    high: str
    level: str
    rough: bool
    carried_over: list[str]
    limited: bool


def advise(athlete: Athlete, sequence: Sequence) -> Advice:
    """Even-effort advice; ValueError, in words for the coach, when it cannot be given. Six queries."""
    people = load_people([athlete.pk])
    pacing = pace_sequence(sequence, people.engine_mean, people.engine_cov)
    legs = [*sequence.legs] * sequence.times
    restrictions = people.restrictions.get(0, ())
    low, high = interval(pacing.total_s[0], pacing.sd_log[0])
    return Advice(
        legs=[_leg(pacing, index, leg) for index, leg in enumerate(legs)],
        total=clock(float(pacing.total_s[0])),
        low=clock(float(low), tenths=False),
        high=clock(float(high), tenths=False),
        level=percent(float(pacing.level[0])),
        rough=bool(pacing.rough[0]),
        carried_over=_untested(people, sequence),
        limited=any(r.starts_on <= today() and (r.review_on is None or r.review_on > today()) for r in restrictions),
    )


def _leg(pacing: Pacing, index: int, leg: Leg) -> LegAdvice:
    hold, seconds = float(pacing.hold[0, index]), float(pacing.seconds[0, index])
    return LegAdvice(
        number=index + 1,
        name=f"{_asked(leg)} {leg.engine}",
        hold=hold_text(leg.engine, hold),
        watts="" if leg.engine in ("run", "bike") else f"{hold:.0f} W",
        time=clock(seconds),
        does=_does(leg, hold, seconds),
        ends=clock(float(pacing.ends_s[0, index])),
        of_best=percent(float(pacing.of_best[0, index])),
    )


def _asked(leg: Leg) -> str:
    return clock(leg.amount, tenths=False) if leg.kind == "seconds" else dose_text(leg.kind, leg.amount)


def _does(leg: Leg, hold: float, seconds: float) -> str:
    """What the leg makes on the monitor beside what was asked: metres, or calories on the bike."""
    if leg.engine == "bike":
        return "" if leg.kind == "kcal" else f"{kcal_in(seconds, hold, leg.kcal_base, leg.kcal_slope):.0f} kcal"
    metres = hold * seconds if leg.engine == "run" else metres_in(seconds, np.array(hold))
    return "" if leg.kind == "metres" else f"{number(float(metres), 0)} m"


def _untested(people: People, sequence: Sequence) -> list[str]:
    """Engines of the sequence on which the athlete has no effort of their own."""
    engines = dict.fromkeys(leg.engine for leg in sequence.legs)
    return [Engine(engine).label for engine in engines if not people.tested(0, engine, 0)]
