"""The scaling method for one athlete at a time, in plain Python: what the product's is measured against. Independent
and for reading: sums over the rounds stand as sums. It scales by dose, and knows all but targets set by hand.
"""

import math

DAYS = (0.0, 0.10, 0.25, 0.45)  # headroom, from the hardest day to the easiest
HARD, STEADY = 0.10, 0.25
TEN_PERCENT = 1.2815515655446004  # SDs below the median


def fade(lag, tau):
    return 0.85 * math.exp(-lag / tau) + 0.15 * math.exp(-lag / 1800.0)


class Rung:
    """One option for one athlete: dose = how much, intensity = how hard, and what the athlete holds of it."""

    def __init__(self, circuit, room, i, s, r):
        station = circuit.stations[s]
        self.option = option = station.options[r]
        self.s, self.r, self.rounds, self.period = s, r, circuit.rotations, circuit.rotation_s
        self.work = station.work_window_s - option.setup_s
        busy = [other.work_window_s - other.options[0].setup_s for j, other in enumerate(circuit.stations) if j != s]
        between = self.period - self.work
        self.recovery = 0.55 * sum(busy) / between if between > 0 else 0.0
        self.refill = 4.0 if room.refill is None else float(room.refill[i])
        self.untested = room.untested is not None and bool(room.untested[i, s, r])
        self.curve = None
        unknown = room.unknown is not None and bool(room.unknown[i, s, r])
        if option.engine:
            self.curve = [float(x) for x in room.engine_mean[option.engine][i]]
            cov = room.engine_cov[option.engine][i]
        elif (
            option.paced and room.paced_mean is not None and not unknown and not math.isnan(room.paced_mean[i, s, r, 0])
        ):
            self.curve = [float(x) for x in room.paced_mean[i, s, r]]
            cov = room.paced_cov[i, s, r]
        if self.curve:
            slope = []
            for axis in range(3):
                up, down = ([x + sign * 1e-4 * (a == axis) for a, x in enumerate(self.curve)] for sign in (1, -1))
                slope.append((math.log(self.curve_most(up)) - math.log(self.curve_most(down))) / 2e-4)
            sd = math.sqrt(max(sum(slope[a] * cov[a][b] * slope[b] for a in range(3) for b in range(3)), 0.0))
            self.doubt = math.hypot(sd, 0.06)
        else:
            mean, sd = float(room.repetitions_mean[i, s, r]), float(room.repetitions_sd[i, s, r])
            if (unknown and option.dose_kind != "load_repetitions") or math.isnan(mean):
                sd, fitness = 0.35, 0.0 if room.fitness is None else float(room.fitness[i])
                margin = min(1.0 - HARD, math.exp(-TEN_PERCENT * math.hypot(sd, 0.15)))
                mean = math.log(option.dose * self.own_demand() / margin) + 0.35 * (fitness - 0.8416)
            self.doubt = math.hypot(sd, 0.15)
            self.unbroken = math.exp(mean)

    def parts(self, curve):
        cp, w_prime, k = (math.exp(x) for x in curve)
        return cp, w_prime, k, self.refill * w_prime / (cp * (1.0 - self.recovery))

    def curve_most(self, curve):
        cp, w_prime, k, tau = self.parts(curve)
        g = sum(fade(r * (self.period - self.work), tau) for r in range(self.rounds))
        return cp + w_prime / (self.work * g + k)

    @property
    def tau(self):
        return self.parts(self.curve)[3] if self.curve else 90.0

    def own_demand(self):
        if not self.curve:
            return sum(fade(r * self.period, 90.0) for r in range(self.rounds))
        _, _, k, tau = self.parts(self.curve)
        return sum(fade(r * (self.period - self.work), tau) for r in range(self.rounds)) + k / self.work

    def intensity(self, dose):
        option = self.option
        if option.engine and option.dose_kind == "kcal":
            return max((3600.0 * dose / self.work - option.kcal_base) / option.kcal_slope, 0.0)
        if option.engine:
            return dose / self.work if option.engine == "run" else 2.80 * (dose / self.work) ** 3
        return 60.0 * dose / self.work if self.curve else dose

    def dose(self, intensity):
        option = self.option
        if option.engine and option.dose_kind == "kcal":
            return (option.kcal_base + option.kcal_slope * intensity) * self.work / 3600.0
        if option.engine:
            return intensity * self.work if option.engine == "run" else (intensity / 2.80) ** (1 / 3) * self.work
        return intensity * self.work / 60.0 if self.curve else intensity

    def fraction(self, dose, headroom):
        asked = self.intensity(dose) / (1.0 - headroom)
        if not self.curve:
            return asked / self.unbroken
        cp, w_prime, _, _ = self.parts(self.curve)
        return max(asked - cp, 0.0) * self.work / w_prime

    def own(self, headroom):
        most = self.curve_most(self.curve) if self.curve else self.unbroken / self.own_demand()
        return self.dose(most * min(1.0 - headroom, math.exp(-TEN_PERCENT * self.doubt)))

    def fits_in_time(self):
        return math.inf if self.option.engine else self.work / self.option.seconds_per_unit

    def most(self):
        most = self.option.dose
        if self.untested:  # two thirds, to the nearest step
            step = self.step(2 / 3 * most)
            most = min(max(math.ceil(2 / 3 * most / step - 0.5 - 1e-6), 1) * step, most)
        return min(most, self.fits_in_time())

    def step(self, dose):
        if self.option.dose_kind == "metres":
            return 10.0 if dose < 100 else 25.0
        return 5.0 if self.option.dose_kind == "seconds" else 1.0


def choose(circuit, room, i, s):
    """The rung of one station, None for rest."""
    if room.no_target is not None and room.no_target[i]:
        return None
    options, week = circuit.stations[s].options, 0 if room.newcomer_week is None else int(room.newcomer_week[i])
    allowed = [r for r in range(len(options)) if room.allowed[i, s, r]]
    if week:
        allowed = [r for r in allowed if not (options[r].makes_sore or options[r].needs_skill)] or allowed
    rungs = {r: Rung(circuit, room, i, s, r) for r in allowed}
    reach = {r: min(rung.own(HARD), rung.fits_in_time()) for r, rung in rungs.items()}

    least = {r: max(options[r].least, 2 / 3 * options[r].dose * rungs[r].untested) for r in allowed}

    def first_useful(among):
        useful = [r for r in among if reach[r] >= least[r] * (1 - 1e-6)]
        closest = max((reach[r] / least[r] for r in among), default=0.0)
        return useful[0] if useful else max((r for r in among if reach[r] / least[r] >= 0.8 * closest), default=None)

    found = first_useful(allowed)
    if found is not None and room.most_in_session is not None and options[found].makes_sore:
        total = min(reach[found], options[found].dose) * circuit.rotations * (1.0, 0.5, 0.7, 0.8, 0.9)[week]
        below = [r for r in allowed if r > found and not options[r].makes_sore]
        if total > room.most_in_session[i, s, found] and below:
            found = first_useful(below)
    return None if found is None else rungs[found]


def demand(circuit, here, other):
    if here is other:
        return here.own_demand()
    lag = (here.s - other.s) % len(circuit.stations) * circuit.interval_s * circuit.partners
    sets = circuit.rotations if other.s < here.s else circuit.rotations - 1
    a, b = here.option, other.option
    common = 0.3 * max(x * y for x, y in zip(a.involvement, b.involvement, strict=True))
    coupling = 1.0 if a.engine and a.engine == b.engine else common
    return coupling * sum(fade(lag + r * circuit.rotation_s, here.tau) for r in range(sets))


def smallest_cut(rows, least, weight):
    """Shares from `least` to 1 that minimise Σ weight·(1 − share)² with rows · share <= 1: Hildreth's plain way."""
    size = len(rows)
    tight = [1.0 / total for row in rows if (total := sum(a * b for a, b in zip(row, least, strict=True))) > 1.0]
    floors = [x * min([1.0, *tight]) for x in least]
    limits = [(row, 1.0) for row in rows]
    limits += [([-float(j == k) for k in range(size)], -floors[j]) for j in range(size)]
    share, push = [1.0] * size, [0.0] * len(limits)
    for _ in range(5000):
        moved = 0.0
        for c, (row, limit) in enumerate(limits):
            length = sum(a * a / w for a, w in zip(row, weight, strict=True))
            if length == 0.0:
                continue
            more = max(-push[c], (sum(a * b for a, b in zip(row, share, strict=True)) - limit) / length)
            push[c] += more
            share = [x - more * a / w for x, a, w in zip(share, row, weight, strict=True)]
            moved = max(moved, abs(more) * length)
        if moved < 1e-12:
            break
    return share


def day_doses(circuit, rungs, headroom):
    size, g = len(rungs), [[demand(circuit, a, b) for b in rungs] for a in rungs]
    alone = [min(rung.own(headroom), rung.most()) for rung in rungs]
    wanted = [rung.fraction(dose, headroom) for rung, dose in zip(rungs, alone, strict=True)]
    free = [rung.dose(rung.parts(rung.curve)[0] * (1 - headroom)) if rung.curve else 0.0 for rung in rungs]
    free = [f if w > 0 else 0.0 for f, w in zip(free, wanted, strict=True)]
    weight = [max(1 - f / a, 1e-6) ** 2 if w > 0 else 1.0 for f, a, w in zip(free, alone, wanted, strict=True)]
    least = [min(max((a / 2 - f) / max(a - f, 1e-6), 0.0), 1.0) for a, f in zip(alone, free, strict=True)]
    share = smallest_cut([[g[a][b] * wanted[b] for b in range(size)] for a in range(size)], least, weight)
    ideal = []
    for rung, dose, part, x in zip(rungs, alone, share, wanted, strict=True):
        if part < 1.0 - 1e-12 and x > 0:
            cp, per = (
                (rung.parts(rung.curve)[0], rung.work / rung.parts(rung.curve)[1])
                if rung.curve
                else (0, 1 / rung.unbroken)
            )
            dose = min(dose, rung.dose((1 - headroom) * (cp + part * x / per)))
        ideal.append(dose)

    def fits(doses, s):
        x = [rung.fraction(dose, headroom - 0.05) for rung, dose in zip(rungs, doses, strict=True)]
        return all(sum(a * b for a, b in zip(row, x, strict=True)) <= 1 + 1e-9 for row in g if row[s] > 0)

    called = []
    for rung, dose in zip(rungs, ideal, strict=True):
        below = max(math.floor(dose / rung.step(dose) + 1e-6), 1) * rung.step(dose)
        called.append(rung.option.dose if dose >= rung.option.dose else min(below, rung.most()))
    for near in (True, False):
        for s, (rung, dose) in enumerate(zip(rungs, ideal, strict=True)):
            top, step = rung.option.dose, rung.step(dose)
            wish = max(math.ceil(dose / step - 0.5 - 1e-6), 1) * step
            if near:
                wish = top if dose >= min(0.92 * top, top - rung.step(top)) - 1e-6 * rung.step(top) else 0.0
            trial = [*called[:s], wish, *called[s + 1 :]]
            if called[s] < wish <= rung.most() * (1 + 1e-9) and fits(trial, s):
                called = trial
    return called


def plain_scale(circuit, room, i, headroom):
    """Rungs, doses and rounds of one athlete, three lists of length S."""
    week = 0 if room.newcomer_week is None else int(room.newcomer_week[i])
    rungs = [choose(circuit, room, i, s) for s in range(len(circuit.stations))]
    there = [rung for rung in rungs if rung is not None]
    doses = [math.inf] * len(there)
    for level in [*(day for day in DAYS if day < headroom), headroom]:
        level = max(level, STEADY) if week else level
        doses = [min(pair) for pair in zip(doses, day_doses(circuit, there, level), strict=True)]
    cut = sum(2 / 3 if rung.untested else 1.0 for rung in there) / len(there) if there else 1.0
    part = min((1.0, 0.5, 0.7, 0.8, 0.9)[week] / cut, 1.0) if week else 1.0
    found = {}
    for rung, dose in zip(there, doses, strict=True):
        rounds = min(max(math.floor(circuit.rotations * part + 0.5), 1), circuit.rotations)
        if rung.option.makes_sore and room.most_in_session is not None:
            most = float(room.most_in_session[i, rung.s, rung.r])
            rounds = max(min(rounds, math.floor(min(most, dose * rounds) / dose + 1e-6)), 1)
        found[rung.s] = rung.r, dose, rounds
    return tuple(list(column) for column in zip(*(found.get(s, (-1, 0.0, 0)) for s in range(len(rungs))), strict=True))
