"""How fast the two computing cores are, against plain code that treats one athlete at a time. Run by hand:

    python -m tests.benchmarks.scaling_speed

Targets are worked out for a thousand to a hundred thousand athletes: the time of each must stay about the same, and
what memory it takes beside inputs and results is bounded by the block that `scale` works on.
"""

import time
import tracemalloc

import numpy as np
from scipy.optimize import least_squares

from athletes.capacity.constants import ENGINES, POWER_TRIAL_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power
from athletes.capacity.priors import engines_prior
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from tests.benchmarks.plain_scaling import plain_scale

ATHLETES = 10_000
SAMPLE = 50  # athletes for the plain code, scaled up
EFFORTS_EACH = 4
LEAST_S = 0.5  # of each measurement
CROWDS = (42, 1_000, 10_000, 100_000)


def example_circuit():
    """Row, pull-up with two easier rungs, ski, push-up with one easier rung, run: five minutes, five times."""
    pull_up = Option(None, "repetitions", 6, None, 2.5, 2.0, (1.0, 0.0, 0.0, 0.0, 0.3, 0.8, 0.2))
    band = Option(None, "repetitions", 8, None, 2.5, 4.0, (0.9, 0.0, 0.0, 0.0, 0.3, 0.6, 0.2))
    ring_row = Option(None, "repetitions", 12, None, 2.0, 2.0, (0.7, 0.0, 0.0, 0.0, 0.2, 0.4, 0.1))
    push_up = Option(None, "repetitions", 15, None, 1.5, 2.0, (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.1))
    high_push_up = Option(None, "repetitions", 15, None, 1.5, 2.0, (0.0, 0.7, 0.0, 0.0, 0.3, 0.0, 0.1))
    return Circuit(
        stations=(
            Station(45.0, (Option("row", "kcal", 13, None, 1.0, 3.0, (0.7, 0.0, 0.6, 0.7, 0.5, 0.3, 0.8)),)),
            Station(45.0, (pull_up, band, ring_row)),
            Station(45.0, (Option("ski", "kcal", 12, None, 1.0, 3.0, (0.8, 0.0, 0.6, 0.2, 0.7, 0.3, 0.8)),)),
            Station(45.0, (push_up, high_push_up)),
            Station(50.0, (Option("run", "metres", 150, None, 1.0, 3.0, (0.0, 0.0, 0.2, 0.7, 0.2, 0.0, 0.8)),)),
        ),
        rotations=5,
    )


def example_efforts(n, rng):
    """Efforts of n invented athletes on every engine, with gaps, and their sexes and body masses."""
    sex, body_mass = rng.choice(["male", "female", ""], n), rng.normal(75.0, 12.0, n)
    mean, cov = engines_prior(People.of(sex, body_mass))
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
    mean, cov = estimate_engines(efforts, People.of(sex, body_mass))
    medians = np.array([[1, 1, 1], [8, 14, 20], [1, 1, 1], [22, 40, 1], [1, 1, 1]], float)
    log_most = np.log(medians) + 0.5 * rng.normal(size=(n, 5, 3))
    return Room(mean, cov, log_most, np.full((n, 5, 3), 0.10), rng.random((n, 5, 3)) > 0.03)


def seconds_of(call):
    """Processor time, the best of as many as fit into half a second, and of three at least: whatever else the machine
    does counts for neither side.
    """
    taken = []
    while len(taken) < 3 or sum(taken) < LEAST_S:
        start = time.process_time()
        call()
        taken.append(time.process_time() - start)
    return min(taken)


def plain_estimates(efforts, sex, body_mass, n):
    """The same joint estimate of all engines, one athlete at a time."""
    prior_mean, prior_cov = engines_prior(People.of(sex[:n], body_mass[:n]))
    power, duration = (np.stack([getattr(e, name) for e in efforts.values()], 1) for name in ("power_w", "duration_s"))
    for i in range(n):
        seen = ~np.isnan(power[i])
        root = np.linalg.cholesky(np.linalg.inv(prior_cov[i])).T
        observed, seconds, engine = np.log(power[i, seen]), duration[i, seen], np.nonzero(seen)[0]

        def residuals(theta, observed=observed, seconds=seconds, engine=engine, root=root, mean=prior_mean[i]):
            fit = (observed - log_power(seconds, theta.reshape(-1, 3)[engine])) / POWER_TRIAL_SD
            return np.concatenate([fit, root @ (theta - mean)])

        least_squares(residuals, prior_mean[i])


def megabytes_beside(call):
    """Most memory that a call takes beside what it returns, in MB."""
    tracemalloc.start()
    result = call()
    kept, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del result
    return (most - kept) / 1e6


def report(what, batch_s, plain_s):
    print(
        f"{what}: batch {batch_s:.3f} s, one at a time {plain_s:.1f} s (from {SAMPLE}), ratio {plain_s / batch_s:.0f}"
    )


def report_growth(circuit, room):
    for n in CROWDS:
        crowd = room.take(np.arange(n) % len(room))
        seconds, beside = (
            seconds_of(lambda crowd=crowd: scale(circuit, crowd)),
            megabytes_beside(lambda crowd=crowd: scale(circuit, crowd)),
        )
        print(f"  {n:7} athletes: {1e6 * seconds / n:.2f} µs each, {beside:.0f} MB beside inputs and results")


def main():
    rng = np.random.default_rng(20)
    scale_up = ATHLETES / SAMPLE
    efforts, sex, body_mass = example_efforts(ATHLETES, rng)
    batch = seconds_of(lambda: estimate_engines(efforts, People.of(sex, body_mass)))
    plain = seconds_of(lambda: plain_estimates(efforts, sex, body_mass, SAMPLE)) * scale_up
    report(f"estimates, {ATHLETES} athletes × {len(ENGINES)} engines together", batch, plain)
    circuit, room = example_circuit(), example_room(ATHLETES, rng)
    plain = seconds_of(lambda: [plain_scale(circuit, room, i, circuit.headroom) for i in range(SAMPLE)]) * scale_up
    batch = seconds_of(lambda: scale(circuit, room))
    report(f"targets, {ATHLETES} athletes × {len(circuit.stations)} stations", batch, plain)
    report_growth(circuit, room)


if __name__ == "__main__":
    main()
