"""The scaling method for one athlete at a time, in plain Python: what the batched core is measured against.

Written for reading, not for speed, and independently of the core: sums over the rounds stand here as sums. It knows
everything but targets set by hand, and `tests/sessions/scaling/test_scale.py` holds both to the same targets.
"""

import math
from statistics import NormalDist


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


def plain_step(option):
    return 5.0 if option.dose_kind == "metres" else 1.0


def plain_floor(option, dose):
    step = plain_step(option)
    return math.floor(dose / step + 1e-6) * step


class PlainStation:
    """One station of one athlete at a chosen rung, with the cautious capacity."""

    def __init__(self, circuit, s, rung, room, athlete, intent):
        self.option = option = circuit.stations[s].options[rung]
        self.index, self.room, self.athlete, self.rung = s, room, athlete, rung
        self.work = circuit.stations[s].work_window_s - option.setup_s
        self.asked = option.dose * min(intent, 1.0)
        if room.share is not None:
            self.asked *= room.share[athlete, s, rung]
        if room.most_dose is not None:
            self.asked = min(self.asked, room.most_dose[athlete, s, rung])
        self.busy = self.work if option.engine else min(self.asked * option.seconds_per_unit, self.work)

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
    lag = (here.index - other.index) % len(circuit.stations) * circuit.interval_s * circuit.partners
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
        asked = min(station.asked, time_limit)
        capped.append(min(station.fraction(asked), limit / demand[k][k]))
        alone.append(min(asked, station.dose(limit / demand[k][k])))
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
            step = plain_step(station.option)
            least = max(min(station.option.least_dose, plain_floor(station.option, station.asked)), step)
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
        if room.ramp is not None:
            part = max(plain_floor(station.option, dose * room.ramp[athlete]), plain_step(station.option))
            dose = min(part, dose)
        doses[station.index] = dose
    return rungs, doses
