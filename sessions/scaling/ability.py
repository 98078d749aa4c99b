"""What every rung asks, and what every athlete can do of it.

All kinds of work are put into one form. A dose is an intensity: the power or speed that does it in the work window, the
rate of a paced movement in repetitions a minute, or simply the repetitions or seconds themselves. A set then takes

    x = max(intensity − free, 0) · per

of the capacity: for an engine free = CP and per = w / W', for repetitions free = 0 and per = 1 / M. With G[s,s] the
station's own demand, free + 1 / (per · G[s,s]) can just be held to the last round: CP + W' / (w·g + k), or M / G.
"""

from dataclasses import dataclass, fields
from statistics import NormalDist

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from athletes.capacity.constants import AIR_BRAKE_W_S3_PER_M3, SECONDS_PER_HOUR
from sessions.scaling.circuit import Circuit, Option
from sessions.scaling.constants import (
    ANCHOR_FITNESS,
    ANCHOR_SD,
    HEADROOMS,
    QUANTILE,
    REPETITIONS_TAU_S,
)
from sessions.scaling.demand import fade_sum, recovery_share
from sessions.scaling.engine import fast_tau
from sessions.scaling.room import Room
from sessions.scaling.steps import step_of

SECONDS_PER_MINUTE = 60.0
NUDGE = 1e-3  # of a log parameter, to see how fast what can be held changes with it
# Of seconds at a pace the dose that is worked out is the power [W] (running: m/s), as exact as it is held; none is too
# much to be wished for, and none too little
MOST_POWER, LEAST_POWER, POWER_STEP = 1e5, 1e-3, 1e-3
QUANTILE_SD = -NormalDist().inv_cdf(QUANTILE)  # SDs below the median at which the cautious capacity lies


@dataclass(frozen=True, eq=False)
class Ladder:
    """The numbers of every option, (S, L), where a station has one (`exists`), or of the chosen ones, (n, S).

    An intensity is gain · dose^`power` − `offset`, and never below zero.
    """

    exists: BoolArray
    dose: Array
    least: Array
    step: Array
    is_metres: BoolArray
    setup_s: Array
    work_s: Array  # the window without set-up
    seconds_per_unit: Array  # of a movement's dose, 0 for an engine
    is_steady: BoolArray  # an engine or a paced movement: an even intensity through the window
    gain: Array
    offset: Array
    power: Array
    makes_sore: BoolArray
    needs_skill: BoolArray
    pace_s: Array  # seconds to be done at a pace, whatever it is, else 0; then a dose is the power itself

    def at(self, rung: IntArray) -> "Ladder":
        """The numbers of rungs (n, S); those of the first option at rest."""
        stations, chosen = np.arange(rung.shape[1]), np.maximum(rung, 0)
        return Ladder(*(getattr(self, field.name)[stations, chosen] for field in fields(self)))

    def take(self, rows: IntArray) -> "Ladder":
        """The chosen numbers (n, S) of some athletes."""
        return Ladder(*(getattr(self, field.name)[rows] for field in fields(self)))

    def intensity(self, dose: Array) -> Array:
        """What a dose asks when it is done in the window."""
        return np.maximum(self.gain * np.maximum(dose, 0.0) ** self.power - self.offset, 0.0)

    def dose_of(self, intensity: Array) -> Array:
        """The dose done at an intensity >= 0."""
        return np.asarray(((intensity + self.offset) / self.gain) ** (1.0 / self.power), float)

    @property
    def most_by_time(self) -> Array:
        """The largest dose that fits into the window."""
        with np.errstate(divide="ignore"):
            return np.where(self.seconds_per_unit > 0, self.work_s / self.seconds_per_unit, np.inf)


@dataclass(frozen=True, eq=False)
class Ability:
    """What n athletes can do at every rung, (n, S, L), or at the chosen ones, (n, S), in the form above."""

    free: Array
    per: Array
    ramp_share: Array  # k / w
    tau_s: Array  # fast time constant of the fatigue
    refill_s: Array  # time between two sets in which it fades
    sd: Array  # SD of the log of what can be held, as far as the capacity is known
    doubt: Array  # the same with the model's own
    cautious: Array  # what the capacity that is as good as sure is of the median one

    def at(self, rung: IntArray) -> "Ability":
        """The same at rungs (n, S)."""
        chosen = np.maximum(rung, 0)[..., None]
        return Ability(*(np.take_along_axis(getattr(self, f.name), chosen, 2)[..., 0] for f in fields(self)))

    def take(self, rows: IntArray) -> "Ability":
        """The same of some athletes."""
        return Ability(*(getattr(self, field.name)[rows] for field in fields(self)))

    def own_demand(self, rounds: Array | int) -> Array:
        """G[s,s] after so many rounds."""
        return fade_sum(0.0, self.refill_s, rounds, self.tau_s) + self.ramp_share

    def most(self, rounds: Array | int) -> Array:
        """The intensity that the most probable capacity just holds for so many rounds, at this station alone."""
        return self.free + 1.0 / (self.per * self.own_demand(rounds))

    def own(self, rounds: Array | int, headroom: Array | float) -> Array:
        """Own intensity: held by the median capacity with the headroom, by the cautious one with nothing left."""
        return self.most(rounds) * np.minimum(1.0 - headroom, self.cautious)


def ladder_of(circuit: Circuit) -> Ladder:
    """The `Ladder` of a valid circuit."""
    length = max(len(station.options) for station in circuit.stations)
    exists = np.array([[rung < len(station.options) for rung in range(length)] for station in circuit.stations])
    rows = []
    for station in circuit.stations:
        padded = station.options + station.options[:1] * (length - len(station.options))
        rows.append([_numbers(option, station.work_window_s) for option in padded])
    return Ladder(
        exists, *(np.array([[numbers[i] for numbers in row] for row in rows]) for i in range(len(rows[0][0])))
    )


def _numbers(option: Option, window_s: float) -> tuple[float, ...]:
    """The fields of `Ladder` but `exists` for one option."""
    work_s, kind = option.work_s(window_s), option.dose_kind
    gain, offset, power = 1.0, 0.0, 1.0
    if option.at_pace:
        return (
            MOST_POWER, LEAST_POWER, POWER_STEP, False, 0.0, work_s,
            0.0, True, gain, offset, power, False, False, work_s,
        )  # fmt: skip
    if option.engine and kind == "kcal":
        gain, offset = SECONDS_PER_HOUR / (work_s * option.kcal_slope), option.kcal_base / option.kcal_slope
    elif option.engine == "run":
        gain = 1.0 / work_s
    elif option.engine:
        gain, power = AIR_BRAKE_W_S3_PER_M3 / work_s**3, 3.0
    elif option.paced:
        gain = SECONDS_PER_MINUTE / work_s
    return (
        option.dose, option.least, float(step_of(kind, option.dose)), kind == "metres", option.setup_s, work_s,
        0.0 if option.engine else option.seconds_per_unit, option.engine is not None or option.paced,
        gain, offset, power, option.makes_sore, option.needs_skill, 0.0,
    )  # fmt: skip


def ability_of(
    circuit: Circuit, room: Room, engine_model_sd: float, repetitions_model_sd: float, hard: float = HEADROOMS["hard"]
) -> Ability:
    """The `Ability` of a `Room` at every rung of a valid circuit. `hard` is the headroom of a hard day.

    Recovery between an engine's sets takes the other stations' whole windows as work, whatever is done in them: so that
    a dose that is edited changes nothing at another station.
    """
    found = Ability(*(np.ones(room.allowed.shape) for _ in fields(Ability)))
    busy_s = sum(station.options[0].work_s(station.work_window_s) for station in circuit.stations)
    for s, station in enumerate(circuit.stations):
        others_s = busy_s - station.options[0].work_s(station.work_window_s)
        for rung, option in enumerate(station.options):
            work_s = option.work_s(station.work_window_s)
            share = float(recovery_share(others_s + work_s, work_s, circuit.rotation_s))
            if option.engine is None:
                own = _repetitions(circuit, room, s, rung, option, work_s, repetitions_model_sd, hard)
                if option.paced and room.paced_mean is not None and room.paced_cov is not None:
                    mean, cov = room.paced_mean[:, s, rung], room.paced_cov[:, s, rung]
                    paced = _curve(circuit, room, mean, cov, work_s, share, engine_model_sd)
                    known = np.isfinite(mean).all(-1) & ~room.flags("unknown")[:, s, rung]
                    own = [np.where(known, *both) for both in zip(paced, own, strict=True)]
            else:
                mean, cov = room.engine_mean[option.engine], room.engine_cov[option.engine]
                own = _curve(circuit, room, mean, cov, work_s, share, engine_model_sd)
            own = [*own, np.exp(-NormalDist().inv_cdf(room.sure) * own[-1])]
            for field, values in zip(fields(Ability), own, strict=True):
                getattr(found, field.name)[:, s, rung] = values
    return found


def _curve(
    circuit: Circuit, room: Room, mean: Array, cov: Array, work_s: float, share: float, model_sd: float
) -> list[Array]:
    """The fields of `Ability` (n,), but the last, of an engine or a paced movement: `mean` (n, 3), `cov` (n, 3, 3)."""
    rest_s, refill = circuit.rotation_s - work_s, room.athlete_refill

    def parts(theta: Array) -> tuple[Array, Array, Array, Array]:
        critical, reserve, ramp_s = np.exp(theta.T)
        return critical, work_s / reserve, ramp_s / work_s, fast_tau(critical, reserve, share, refill)

    def log_most(theta: Array) -> Array:
        free, per, ramp_share, tau_s = parts(theta)
        demand = fade_sum(0.0, rest_s, circuit.rotations, tau_s) + ramp_share
        return np.asarray(np.log(free + 1.0 / (per * demand)), float)

    nudges = NUDGE * np.eye(3)
    slope = np.stack([log_most(mean + nudge) - log_most(mean - nudge) for nudge in nudges], -1) / (2.0 * NUDGE)
    variance = np.maximum(np.einsum("na,nab,nb->n", slope, cov, slope), 0.0)
    free, per, ramp_share, tau_s = parts(mean)
    return [
        free,
        per,
        ramp_share,
        tau_s,
        np.full(len(mean), rest_s),
        np.sqrt(variance),
        np.sqrt(variance + model_sd**2),
    ]


def _repetitions(
    circuit: Circuit, room: Room, s: int, rung: int, option: Option, work_s: float, model_sd: float, hard: float
) -> list[Array]:
    """The fields of `Ability` (n,), but the last, of what unbroken repetitions or the seconds of a hold limit."""
    n = len(room)
    tau_s, refill_s = np.full(n, REPETITIONS_TAU_S), np.full(n, circuit.rotation_s)
    # A lift is known by the other lifts, and its load has given way to that already: the anchor would take it twice
    anchored = room.flags("unknown")[:, s, rung] & (option.dose_kind != "load_repetitions")
    unknown = anchored | np.isnan(room.repetitions_mean[:, s, rung])
    sd = np.where(unknown, ANCHOR_SD, room.repetitions_sd[:, s, rung])
    doubt = np.hypot(sd, model_sd)
    # The written dose is just right on a hard day for the athlete at the anchor, and the others follow their fitness
    margin = np.minimum(1.0 - hard, np.exp(-QUANTILE_SD * doubt))
    anchor = np.log(option.dose * fade_sum(0.0, refill_s, circuit.rotations, tau_s) / margin)
    fitness = np.zeros(n) if room.fitness is None else room.fitness
    mean = np.where(unknown, anchor + ANCHOR_SD * (fitness - ANCHOR_FITNESS), room.repetitions_mean[:, s, rung])
    in_window = SECONDS_PER_MINUTE / work_s if option.paced else 1.0
    return [np.zeros(n), np.exp(-mean) / in_window, np.zeros(n), tau_s, refill_s, sd, doubt]
