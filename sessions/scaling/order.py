"""Whether the same stations in another order leave people more in the tank: all orders tried.

What stations take from each other depends on how long ago it was, so that only the lags move with the order. The doses
stay those that were found. The first station stays the first: going round, only who follows whom counts.
"""

from dataclasses import dataclass
from itertools import permutations

import numpy as np

from athletes.capacity.arrays import Array, IntArray
from sessions.scaling.ability import ability_of
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import ENGINE_MODEL_SD, HEADROOMS, REPETITIONS_MODEL_SD, REST
from sessions.scaling.demand import fade_sum
from sessions.scaling.prediction import headroom_left
from sessions.scaling.room import Room
from sessions.scaling.targets import Targets

FEWEST_STATIONS, MOST_STATIONS = 3, 8  # 5,040 orders of eight; two stations have one order
MOST_ATHLETES = 24  # who stand for the room while orders are tried: evenly spread by general fitness
LEAST_GAIN = 0.01  # of the capacity, averaged over the room: less is not worth a sentence (ours)


@dataclass(frozen=True)
class Order:
    """Stations by their numbers from 0, in the order in which they leave the most, and how much more than now: a share
    of the capacity at each athlete's tightest station, averaged over the room."""

    stations: tuple[int, ...]
    gain: float


def better_order(
    circuit: Circuit,
    room: Room,
    targets: Targets,
    *,
    hard: float = HEADROOMS["hard"],
    engine_model_sd: float = ENGINE_MODEL_SD,
    repetitions_model_sd: float = REPETITIONS_MODEL_SD,
) -> Order | None:
    """The best order of a circuit's stations at the `targets` of a room; None where the written one is as good."""
    stations = len(circuit.stations)
    if not FEWEST_STATIONS <= stations <= MOST_STATIONS or not len(room):
        return None
    tau_s = ability_of(circuit, room, engine_model_sd, repetitions_model_sd, hard).at(targets.rung).tau_s
    lags = _faded(tau_s, targets.rounds, circuit.step_s)
    orders = np.array([(0, *rest) for rest in permutations(range(1, stations))])
    places = np.argsort(orders, axis=1)
    some = _spread(room)
    fraction = np.maximum(targets.cost - targets.free, 0.0)
    best = int(_tightest(targets.demand[some], lags[some], fraction[some], places).argmax())
    now, then = (_left(targets, lags, place) for place in (np.arange(stations), places[best]))
    gain = float((then - now).mean())
    return Order(tuple(orders[best].tolist()), gain) if gain >= LEAST_GAIN else None


def _faded(tau_s: Array, rounds: IntArray, step_s: float) -> Array:
    """What is left at every station of the sets of one so many places before it, (n, S, 2S − 1), from −(S − 1) on."""
    stations = tau_s.shape[-1]
    apart = np.arange(1 - stations, stations)
    lag_s = apart % stations * step_s
    sets = np.maximum(rounds[..., None] - (apart < 0), 0)
    return fade_sum(lag_s, stations * step_s, sets, tau_s[..., None])


def _moved(demand: Array, lags: Array, places: IntArray) -> Array:
    """The demand matrix (n, S, S) when each station stands at its place (S,)."""
    stations = len(places)
    here = np.arange(stations)
    now = lags[:, here[:, None], here[:, None] - here + stations - 1]
    then = lags[:, here[:, None], places[:, None] - places + stations - 1]
    ratio = np.divide(then, now, out=np.ones_like(then), where=now > 0)
    ratio[:, here, here] = 1.0
    return np.asarray(demand * ratio, float)


def _tightest(demand: Array, lags: Array, fraction: Array, places: IntArray) -> Array:
    """What about is left at the tightest station, averaged over athletes, in every order (m,)."""
    stations = demand.shape[-1]
    here = np.arange(stations)
    now = lags[:, here[:, None], here[:, None] - here + stations - 1]
    weight = np.divide(demand * fraction[:, None, :], now, out=np.zeros_like(demand), where=now > 0)
    left = np.full(len(places), 0.0)
    apart = places[:, :, None] - places[:, None, :] + stations - 1
    for one, lag in zip(weight, lags, strict=True):
        left += (1.0 - (one * lag[here[:, None], apart]).sum(-1)).min(-1)
    return left / len(demand)


def _left(targets: Targets, lags: Array, places: IntArray) -> Array:
    """What is left in the tank at each athlete's tightest station, (n,)."""
    moved = _moved(targets.demand, lags, places)
    left = headroom_left(moved, targets.cost, targets.free, targets.rung != REST)
    return np.asarray(left.min(-1), float)


def _spread(room: Room) -> IntArray:
    """Athletes who stand for the room: all of a small one."""
    fitness = np.zeros(len(room)) if room.fitness is None else room.fitness
    ranked = np.argsort(fitness, kind="stable")
    return np.asarray(ranked[np.unique(np.linspace(0, len(room) - 1, min(len(room), MOST_ATHLETES)).astype(int))])
