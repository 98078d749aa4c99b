"""Athletes of a room as the method works on them: turned so that athletes come last, and some of them at a time."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from sessions.scaling.room import NO_PIN

OF_ATHLETES = ("athletes", "mean", "cov", "ramp", "pinned_rung", "pinned_dose")
AS_IN_ROOM = ("allowed", "share", "most_dose", "ramp", "pinned_rung", "pinned_dose")


@dataclass(frozen=True, eq=False)
class Crowd:
    """n of the N athletes of a `Room`, in the places `athletes` (n,); arrays as there, None where it has none.

    (..., n) are the arrays of engines, `mean` (3, X, n) and `cov` (3, 3, X, n) of the X that are on the circuit's
    ladders, of the way back and of what is set by hand; (S, L, N), of all athletes, those of options. An estimate that
    nobody needs is 0.
    """

    athletes: np.ndarray
    mean: np.ndarray
    cov: np.ndarray
    ramp: np.ndarray | None
    pinned_rung: np.ndarray | None
    pinned_dose: np.ndarray | None
    repetitions_mean: np.ndarray
    repetitions_sd: np.ndarray
    allowed: np.ndarray
    share: np.ndarray | None
    most_dose: np.ndarray | None

    def __len__(self):
        return len(self.athletes)

    def some(self, places):
        """Some of this crowd, by their places (k,) in it."""
        arrays = {name: getattr(self, name) for name in OF_ATHLETES}
        return replace(self, **{name: a if a is None else np.take(a, places, axis=-1) for name, a in arrays.items()})

    @cached_property
    def pinned(self):
        """Where a target is set by hand, (S, n); None for nowhere."""
        if self.pinned_rung is None:
            return None
        pinned = self.pinned_rung != NO_PIN
        return pinned if pinned.any() else None

    def may_have_to(self, s, rung):
        """Who may have to do an option, (n,)."""
        allowed = self.allowed[s, rung]
        return allowed if self.pinned is None else allowed | (self.pinned_rung[s] == rung)

    def at_options(self, arrays, option, stations):
        """Arrays (S, L, N) at rungs >= 0, (K, n), of some `stations` (K,)."""
        _, length, n = self.allowed.shape
        first = length * np.array(stations, int)[:, None]
        cells = (option + first) * n + self.athletes
        return [np.take(array, cells) for array in arrays]

    def at_engines(self, array, engine):
        """An array (..., X, n) of engines at some of them, (E, n) or (E, 1) of indices: (..., E, n)."""
        if engine.shape[1] == 1:
            in_order = engine[:, 0].tolist() == list(range(array.shape[-2]))
            return array if in_order else np.take(array, engine[:, 0], axis=-2)
        cells = engine * len(self) + np.arange(len(self))
        return np.take(array.reshape(*array.shape[:-2], -1), cells, axis=-1)


def crowd_of(room, circuit, engines):
    """All athletes of a `Room`, with their estimates of the `engines` named.

    ValueError where somebody who may have to do an option of the circuit has no estimate for it.
    """
    n, *options = room.allowed.shape
    crowd = Crowd(
        athletes=np.arange(n),
        mean=np.zeros((3, len(engines), n)),
        cov=np.zeros((3, 3, len(engines), n)),
        repetitions_mean=np.zeros((*options, n)),
        repetitions_sd=np.zeros((*options, n)),
        **{name: _turned(getattr(room, name)) for name in AS_IN_ROOM},
    )
    knows = {engine: _read_engine(crowd, room, x, engine) for x, engine in enumerate(engines)}
    for s, station in enumerate(circuit.stations):
        for rung, option in enumerate(station.options):
            known = knows[option.engine] if option.engine else _read_movement(crowd, room, s, rung)
            if not (known | ~crowd.may_have_to(s, rung)).all():
                raise ValueError(f"Station {s + 1}, rung {rung}: an athlete who may do it has no estimate.")
    return crowd


def _read_engine(crowd, room, x, engine):
    """Put the estimates of an engine in their places; who has one, (n,)."""
    if engine not in room.engine_mean:
        return np.zeros(len(room), bool)
    mean, cov = crowd.mean[:, x], crowd.cov[:, :, x]
    mean[:], cov[:] = room.engine_mean[engine].T, room.engine_cov[engine].transpose(1, 2, 0)
    return _known((mean, cov), np.isfinite(mean).all(0) & np.isfinite(cov).all((0, 1)))


def _read_movement(crowd, room, s, rung):
    """Put the estimates of a movement in their places; who has one, (n,)."""
    mean, sd = crowd.repetitions_mean[s, rung], crowd.repetitions_sd[s, rung]
    mean[:], sd[:] = room.repetitions_mean[:, s, rung], room.repetitions_sd[:, s, rung]
    return _known((mean, sd), np.isfinite(mean) & (sd >= 0.0))


def _known(arrays, known):
    """Put 0 for what is not known: it would spread through sums in which it counts for nothing."""
    if not known.all():
        for array in arrays:
            array[..., ~known] = 0.0
    return known


def _turned(array):
    """A copy of an array (n, ...) as (..., n)."""
    return None if array is None else np.moveaxis(array, 0, -1).copy()
