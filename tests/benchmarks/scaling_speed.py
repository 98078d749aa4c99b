"""How fast the two computing cores are, against plain code that treats one athlete at a time. Run by hand:

    python -m tests.benchmarks.scaling_speed

The plain code is written for reading, not for speed, and independently of the cores: sums over the rounds stand there
as sums. `tests/sessions/scaling/test_scale.py` holds both to the same targets.
"""

import math
import time
from statistics import NormalDist

import numpy as np
from scipy.optimize import least_squares

from athletes.capacity.constants import ENGINES, POWER_TRIAL_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.power_duration import log_power
from athletes.capacity.priors import engines_prior
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.room import Room
from sessions.scaling.scale import scale

ATHLETES = 10_000
SAMPLE = 200  # athletes for the plain code, scaled up
EFFORTS_EACH = 4


# --- One athlete at a time, in plain Python ---


def plain_fade(lag, tau):
    return 0.85 * math.exp(-lag / tau) + 0.15 * math.exp(-lag / 1800.0)


def plain_hold(theta, work, rotations, rotation_s, share, budget):
    cp, w_prime, ramp = (math.exp(value) for value in theta)
    tau = w_prime / (cp * (1.0 - share))
    sets = sum(plain_fade(r * (rotation_s - work), tau) for r in range(rotations))
    return cp + budget * w_prime / (work * sets + ramp)


def plain_power(option, dose, work):
    if option.dose_kind == "kcal":
        return max((3600.0 * dose / work - option.kcal_base) / option.kcal_slope, 0.0)
    return dose / work if option.engine == "run" else 2.80 * (dose / work) ** 3


def plain_dose(option, power, work):
    if option.dose_kind == "kcal":
        return (option.kcal_base + option.kcal_slope * power) * work / 3600.0
    return power * work if option.engine == "run" else (power / 2.80) ** (1.0 / 3.0) * work


def plain_floor(option, dose):
    step = 5.0 if option.dose_kind == "metres" else 1.0
    return math.floor(dose / step + 1e-6) * step


class PlainStation:
    """One station of one athlete at a chosen rung, with the cautious capacity."""

    def __init__(self, circuit, s, rung, room, athlete, intent):
        self.option = option = circuit.stations[s].options[rung]
        self.index, self.room, self.athlete, self.rung = s, room, athlete, rung
        self.work = circuit.stations[s].work_window_s - option.setup_s
        self.wanted = option.dose * min(intent, 1.0)
        self.busy = self.work if option.engine else min(self.wanted * option.seconds_per_unit, self.work)

    def become_cautious(self, circuit, others_busy, z):
        budget = 1.0 - circuit.headroom
        if self.option.engine is None:
            place = (self.athlete, self.index, self.rung)
            self.most = math.exp(self.room.repetitions_mean[place] - z * self.room.repetitions_sd[place])
            self.tau, self.refill, self.ramp_share = 90.0, circuit.rotation_s, 0.0
            return
        between = circuit.rotation_s - self.work
        share = 0.55 * others_busy / between if between > 0 else 0.0
        mean = [float(value) for value in self.room.engine_mean[self.option.engine][self.athlete]]
        cov = self.room.engine_cov[self.option.engine][self.athlete].tolist()
        gradient = []
        for axis in range(3):
            high, low = (
                math.log(plain_hold(shifted, self.work, circuit.rotations, circuit.rotation_s, share, budget))
                for shifted in ([value + side * (a == axis) for a, value in enumerate(mean)] for side in (1e-4, -1e-4))
            )
            gradient.append((high - low) / 2e-4)
        along = [sum(cov[a][b] * gradient[b] for b in range(3)) for a in range(3)]
        sd = math.sqrt(max(sum(gradient[a] * along[a] for a in range(3)), 0.0))
        self.cp, self.w_prime, ramp = (math.exp(mean[a] - z * along[a] / max(sd, 1e-12)) for a in range(3))
        self.tau = self.w_prime / (self.cp * (1.0 - share))
        self.refill, self.ramp_share = between, ramp / self.work

    def fraction(self, dose):
        if self.option.engine is None:
            return dose / self.most
        return max(plain_power(self.option, dose, self.work) - self.cp, 0.0) * self.work / self.w_prime

    def dose(self, fraction):
        if self.option.engine is None:
            return fraction * self.most
        return plain_dose(self.option, self.cp + fraction * self.w_prime / self.work, self.work)


def plain_demand(circuit, here, other):
    if here is other:
        return sum(plain_fade(r * here.refill, here.tau) for r in range(circuit.rotations)) + here.ramp_share
    lag = (here.index - other.index) % len(circuit.stations) * circuit.interval_s
    sets = circuit.rotations if other.index < here.index else circuit.rotations - 1
    common = max(a * b for a, b in zip(here.option.involvement, other.option.involvement, strict=True))
    return 0.3 * common * sum(plain_fade(lag + r * circuit.rotation_s, here.tau) for r in range(sets))


def plain_shares(load, limit):
    """Progressive filling of a list of rows `load[s][j]`."""
    size = len(load)
    share = [0.0] * size
    free = {j for j in range(size) if any(row[j] > 0 for row in load)}
    for j in set(range(size)) - free:
        share[j] = 1.0
    while free:
        levels = []
        for row in load:
            rising = sum(row[j] for j in free)
            fixed = sum(row[j] * share[j] for j in range(size) if j not in free)
            levels.append((limit - fixed) / rising if rising > 0 else math.inf)
        level = min(1.0, max(0.0, min(levels)))
        for j in free:
            share[j] = level
        stopped = {j for row, own in zip(load, levels, strict=True) if own <= level + 1e-12 for j in free if row[j] > 0}
        free = set() if level >= 1.0 else free - stopped
    return share


def plain_doses(circuit, room, athlete, rungs, intent, z):
    """For the stations that are not at rest: (station, dose alone, dose after sharing)."""
    stations = [PlainStation(circuit, s, rung, room, athlete, intent) for s, rung in enumerate(rungs) if rung >= 0]
    busy = sum(station.busy for station in stations)
    for station in stations:
        station.become_cautious(circuit, busy - station.busy, z)
    demand = [[plain_demand(circuit, here, other) for other in stations] for here in stations]
    limit = 1.0 - circuit.headroom
    capped, alone = [], []
    for k, station in enumerate(stations):
        time_limit = math.inf if station.option.engine else station.work / station.option.seconds_per_unit
        wanted = min(station.wanted, time_limit)
        capped.append(min(station.fraction(wanted), limit / demand[k][k]))
        alone.append(min(wanted, station.dose(limit / demand[k][k])))
    share = plain_shares([[g * x for g, x in zip(row, capped, strict=True)] for row in demand], limit)
    result = []
    for k, station in enumerate(stations):
        shared = station.dose(share[k] * capped[k]) if capped[k] > 0 else math.inf
        floor = (plain_floor(station.option, dose) for dose in (alone[k], min(alone[k], shared)))
        result.append((station, *floor))
    return result


def plain_scale(circuit, room, athlete, intent=1.0, quantile=0.20):
    """Rungs and doses of one athlete: two lists of length S."""
    z = NormalDist().inv_cdf(1.0 - quantile)

    def next_rung(s, first):
        options = range(first, len(circuit.stations[s].options))
        return next((rung for rung in options if room.allowed[athlete, s, rung]), -1)

    rungs = [next_rung(s, 0) for s in range(len(circuit.stations))]
    while True:
        result = plain_doses(circuit, room, athlete, rungs, intent, z)
        leave, short = [], []
        for station, alone, dose in result:
            step = 5.0 if station.option.dose_kind == "metres" else 1.0
            least = max(min(station.option.least_dose, plain_floor(station.option, station.wanted)), step)
            if alone < least:
                leave.append(station.index)
            if dose < least:
                short.append((dose / least, station.index))
        if not leave and short:
            leave = [min(short)[1]]
        if not leave:
            break
        for s in leave:
            rungs[s] = next_rung(s, rungs[s] + 1)
    doses = [0.0] * len(rungs)
    for station, _, dose in result:
        doses[station.index] = dose
    return rungs, doses


# --- The measurement ---


def example_circuit():
    """Row, pull-up with two easier rungs, ski, push-up with one easier rung, run: five minutes, five times."""
    pull_up = Option(None, "repetitions", 10, 4, 2.5, 2.0, (1.0, 0.0, 0.0, 0.0, 0.3, 0.8, 0.2))
    band = Option(None, "repetitions", 10, 4, 2.5, 4.0, (0.9, 0.0, 0.0, 0.0, 0.3, 0.6, 0.2))
    ring_row = Option(None, "repetitions", 12, 4, 2.0, 2.0, (0.7, 0.0, 0.0, 0.0, 0.2, 0.4, 0.1))
    push_up = Option(None, "repetitions", 15, 5, 1.5, 2.0, (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.1))
    high_push_up = Option(None, "repetitions", 15, 5, 1.5, 2.0, (0.0, 0.7, 0.0, 0.0, 0.3, 0.0, 0.1))
    return Circuit(
        stations=(
            Station(45.0, (Option("row", "kcal", 15, 8, 1.0, 3.0, (0.7, 0.0, 0.6, 0.7, 0.5, 0.3, 0.8)),)),
            Station(45.0, (pull_up, band, ring_row)),
            Station(45.0, (Option("ski", "kcal", 14, 8, 1.0, 3.0, (0.8, 0.0, 0.6, 0.2, 0.7, 0.3, 0.8)),)),
            Station(45.0, (push_up, high_push_up)),
            Station(50.0, (Option("run", "metres", 150, 80, 1.0, 3.0, (0.0, 0.0, 0.2, 0.7, 0.2, 0.0, 0.8)),)),
        ),
        rotations=5,
    )


def example_efforts(n, rng):
    """Efforts of n invented athletes on every engine, with gaps, and their sexes and body masses."""
    sex, body_mass = rng.choice(["male", "female", ""], n), rng.normal(75.0, 12.0, n)
    mean, cov = engines_prior(sex, body_mass)
    theta = mean + np.einsum("nab,nb->na", np.linalg.cholesky(cov), rng.normal(size=mean.shape))
    efforts = {}
    for engine, own in zip(ENGINES, np.split(theta, len(ENGINES), axis=1), strict=True):
        seconds = np.exp(rng.uniform(np.log(30.0), np.log(1200.0), (n, EFFORTS_EACH)))
        power = np.exp(log_power(seconds, own[:, None, :]) + POWER_TRIAL_SD * rng.normal(size=seconds.shape))
        power[rng.random(power.shape) < 0.25] = np.nan
        efforts[engine] = Efforts(power, seconds, np.full(power.shape, POWER_TRIAL_SD))
    return efforts, sex, body_mass


def example_room(n, rng):
    """A room of n invented athletes for `example_circuit`."""
    efforts, sex, body_mass = example_efforts(n, rng)
    mean, cov = estimate_engines(efforts, sex, body_mass)
    medians = np.array([[1, 1, 1], [8, 14, 20], [1, 1, 1], [22, 40, 1], [1, 1, 1]], float)
    log_most = np.log(medians) + 0.5 * rng.normal(size=(n, 5, 3))
    return Room(mean, cov, log_most, np.full((n, 5, 3), 0.10), rng.random((n, 5, 3)) > 0.03)


def seconds_of(call):
    """Processor time, the best of three: whatever else the machine does counts for neither side."""
    taken = []
    for _ in range(3):
        start = time.process_time()
        call()
        taken.append(time.process_time() - start)
    return min(taken)


def plain_estimates(efforts, sex, body_mass, n):
    """The same joint estimate of all engines, one athlete at a time."""
    prior_mean, prior_cov = engines_prior(sex[:n], body_mass[:n])
    power, duration = (np.stack([getattr(e, name) for e in efforts.values()], 1) for name in ("power_w", "duration_s"))
    for i in range(n):
        seen = ~np.isnan(power[i])
        root = np.linalg.cholesky(np.linalg.inv(prior_cov[i])).T
        observed, seconds, engine = np.log(power[i, seen]), duration[i, seen], np.nonzero(seen)[0]

        def residuals(theta, observed=observed, seconds=seconds, engine=engine, root=root, mean=prior_mean[i]):
            fit = (observed - log_power(seconds, theta.reshape(-1, 3)[engine])) / POWER_TRIAL_SD
            return np.concatenate([fit, root @ (theta - mean)])

        least_squares(residuals, prior_mean[i])


def report(what, batch_s, plain_s):
    print(
        f"{what}: batch {batch_s:.2f} s, one at a time {plain_s:.1f} s (from {SAMPLE}), ratio {plain_s / batch_s:.0f}"
    )


def main():
    rng = np.random.default_rng(20)
    scale_up = ATHLETES / SAMPLE
    efforts, sex, body_mass = example_efforts(ATHLETES, rng)
    batch = seconds_of(lambda: estimate_engines(efforts, sex, body_mass))
    plain = seconds_of(lambda: plain_estimates(efforts, sex, body_mass, SAMPLE)) * scale_up
    report(f"estimates, {ATHLETES} athletes × {len(ENGINES)} engines together", batch, plain)
    circuit, room = example_circuit(), example_room(ATHLETES, rng)
    batch = seconds_of(lambda: scale(circuit, room))
    plain = seconds_of(lambda: [plain_scale(circuit, room, i) for i in range(SAMPLE)]) * scale_up
    report(f"targets, {ATHLETES} athletes × {len(circuit.stations)} stations", batch, plain)


if __name__ == "__main__":
    main()
