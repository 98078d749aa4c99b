"""The circuit's swap ladders as arrays, and what the rungs chosen for each athlete ask."""

from dataclasses import dataclass, fields

import numpy as np

from athletes.capacity.constants import ENGINES
from sessions.scaling.constants import METRES_STEP, REST
from sessions.scaling.demand import overlap

NO_ENGINE = -1


@dataclass(frozen=True, eq=False)
class Asked:
    """What options ask, as arrays of one shape; the figures of `Option`, with `engine` as an index into `ENGINES`.

    `step` is the whole step of the dose, `window_s` what is left of the work window after set-up.
    """

    engine: np.ndarray
    is_kcal: np.ndarray
    is_run: np.ndarray
    dose: np.ndarray
    least_dose: np.ndarray
    step: np.ndarray
    seconds_per_unit: np.ndarray
    setup_s: np.ndarray
    window_s: np.ndarray
    kcal_base: np.ndarray
    kcal_slope: np.ndarray


@dataclass(frozen=True, eq=False)
class Ladder(Asked):
    """Every option of a circuit, (S, L), padded with the station's first option where it `exists` not.

    `overlap` (S, L, S, L) is the common involvement of any two options.
    """

    overlap: np.ndarray
    exists: np.ndarray


@dataclass(frozen=True, eq=False)
class Chosen(Asked):
    """The options chosen for n athletes, (n, S), with their `overlap` (n, S, S); `present` is False at rest."""

    overlap: np.ndarray
    present: np.ndarray
    is_engine: np.ndarray


def ladder_of(circuit):
    """The `Ladder` of a valid circuit."""
    length = max(len(station.options) for station in circuit.stations)
    grid = [station.options + station.options[:1] * (length - len(station.options)) for station in circuit.stations]

    def table(read, kind=float):
        return np.array([[read(option) for option in row] for row in grid], kind)

    involvement = table(lambda option: option.involvement)
    windows = np.array([[station.work_window_s] for station in circuit.stations], float)
    setup_s = table(lambda option: option.setup_s)
    return Ladder(
        engine=table(lambda option: NO_ENGINE if option.engine is None else ENGINES.index(option.engine), int),
        is_kcal=table(lambda option: option.dose_kind == "kcal", bool),
        is_run=table(lambda option: option.engine == "run", bool),
        dose=table(lambda option: option.dose),
        least_dose=table(lambda option: option.least_dose),
        step=table(lambda option: METRES_STEP if option.dose_kind == "metres" else 1.0),
        seconds_per_unit=table(lambda option: option.seconds_per_unit if option.engine is None else 1.0),
        setup_s=setup_s,
        window_s=windows - setup_s,
        kcal_base=table(lambda option: option.kcal_base),
        kcal_slope=table(lambda option: option.kcal_slope),
        overlap=overlap(involvement[:, :, None, None], involvement[None, None]),
        exists=np.array([[rung < len(station.options) for rung in range(length)] for station in circuit.stations]),
    )


def choose(ladder, rung):
    """What the rungs (n, S) ask; `REST` asks nothing."""
    present = rung != REST
    at = np.where(present, rung, 0)
    station = np.arange(rung.shape[-1])
    asked = {field.name: getattr(ladder, field.name)[station, at] for field in fields(Asked)}
    common = ladder.overlap[station[:, None], at[:, :, None], station[None, :], at[:, None, :]]
    return Chosen(
        present=present,
        is_engine=present & (asked["engine"] != NO_ENGINE),
        overlap=np.where(present[:, :, None] & present[:, None, :], common, 0.0),
        **asked,
    )
