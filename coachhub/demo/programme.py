"""The circuits of the demo gym, as documents in the form of sessions.circuits.document."""

from django.utils.text import slugify


def _option(movement: str, dose_kind: str, dose: float, least: float | None = None, **load: float) -> dict:
    """A rung; `least` is the foot of a range, left out where half the dose is still worth doing."""
    return {"movement": slugify(movement), "dose_kind": dose_kind, "dose": dose, "least_dose": least, **load}


def _kcal(movement: str, dose: float, least: float | None = None) -> dict:
    return _option(movement, "kcal", dose, least)


def _metres(movement: str, dose: float, least: float | None = None) -> dict:
    return _option(movement, "metres", dose, least)


def _reps(movement: str, dose: float, least: float | None = None) -> dict:
    return _option(movement, "repetitions", dose, least)


def _lift(movement: str, dose: float, **load: float) -> dict:
    """A lift at `load_kg`, `percent` of the maximum, or with repetitions in `reserve`."""
    return _option(movement, "load_repetitions", dose, **load)


def _hold(movement: str, dose: float, least: float | None = None) -> dict:
    return _option(movement, "seconds", dose, least)


def _station(window_s: int, *options: dict, note: str = "") -> dict:
    """A station: its prescription, then its swap ladder, hardest first."""
    return {"work_window_s": window_s, "note": note, "options": list(options)}


def _circuit(name: str, interval_s: int, rotations: int, *stations: dict, notes: str = "", **more) -> dict:
    return {
        "name": name,
        "interval_s": interval_s,
        "rotations": rotations,
        "notes": notes,
        "stations": list(stations),
        **more,
    }


CIRCUITS = [
    _circuit(
        "Still Water", 60, 5,
        _station(45, _kcal("Row", 13)),
        _station(40, _reps("Push-up", 12, 9)),
        _station(45, _kcal("Ski", 12), note="Hands pass the hips; return tall."),
        _station(42, _reps("Wall ball", 14), _reps("Air squat", 18)),
        _station(42, _reps("Sit-up", 16)),
        notes="The everyday circuit: nothing is hard alone.",
    ),
    _circuit(
        "Mill Race", 60, 6,
        _station(45, _kcal("Fan bike", 13), _kcal("Row", 11)),
        _station(
            42,
            _reps("Kettlebell swing, 24 kg", 14),
            _reps("Kettlebell swing, 16 kg", 16),
            _reps("Kettlebell deadlift, 24 kg", 14),
        ),
        _station(40, _reps("Pull-up", 5), _reps("Banded pull-up", 7), _reps("Ring row", 9)),
        _station(42, _reps("Box jump", 11), _reps("Step-up", 12)),
    ),
    _circuit(
        "Seven Sluices", 60, 7,
        _station(48, _kcal("Row", 13), _kcal("Ski", 12)),
        _station(45, _reps("Pull-up", 6), _reps("Banded pull-up", 8), _reps("Ring row", 11)),
        _station(45, _reps("Hip-extension sit-up", 12), _reps("Sit-up", 16)),
        _station(45, _reps("Box jump", 11), _reps("Step-up", 12)),
        notes="Seven rounds that all look alike: that is the point.",
    ),
    _circuit(
        "Ebb and Flow", 120, 10,
        _station(
            85,
            _metres("Row", 400, 300),
            _metres("Ski", 350, 260),
            _kcal("Fan bike", 20),
            note="Ten the same: the first must feel too easy.",
        ),
        headroom=0.1,
        notes="One station, every two minutes.",
    ),
    _circuit(
        "Along the Race", 240, 6,
        _station(200, _metres("Run", 700, 500), _metres("Row", 700, 500), _kcal("Fan bike", 38)),
        notes="Out by the yard door to the second post and back. In rain: row.",
    ),
    _circuit(
        "Lock Gates", 90, 5,
        _station(50, _lift("Back squat", 5, percent=75), _reps("Box squat", 15)),
        _station(45, _lift("Overhead press", 6, reserve=3), _reps("Push-up, hands on a box", 12)),
        _station(50, _reps("Sled push, 10 m lengths", 4), _reps("Step-up", 14)),
        notes="Strength first, breath second. Bars are loaded in threes; share.",
    ),
    _circuit(
        "Beam Engine", 120, 6,
        _station(60, _lift("Deadlift", 5, load_kg=110), _reps("Kettlebell deadlift, 24 kg", 12)),
        _station(60, _kcal("Row", 14)),
        notes="Five good ones, then breathe hard.",
    ),
    _circuit(
        "Spindle", 60, 4,
        _station(45, _kcal("Ski", 12)),
        _station(42, _reps("Wall ball", 14), _reps("Air squat", 18)),
        _station(42, _hold("Dead hang", 30), _reps("Ring row", 9)),
        _station(45, _reps("Burpee", 9)),
        _station(42, _reps("Walking lunge", 14), _reps("Step-up", 12)),
    ),
    _circuit(
        "Granary Steps", 75, 5,
        _station(55, _reps("Step-up", 22)),
        _station(50, _reps("Ring row", 12, 9)),
        _station(52, _lift("Sandbag to shoulder", 6, load_kg=40), _lift("Goblet squat", 10, load_kg=20)),
        _station(50, _hold("Plank", 40)),
        open_last=True,
        notes="The last round is open: as far as it goes, one short of failing.",
    ),
    _circuit(
        "Wheelhouse", 60, 5,
        _station(45, _kcal("Row", 13), _kcal("Fan bike", 12)),
        _station(45, _lift("Thruster", 8, load_kg=40), _reps("Wall ball", 12)),
        _station(45, _kcal("Ski", 11), _kcal("Row", 10)),
        _station(45, _reps("Hip-extension sit-up", 10), _reps("Sit-up", 14)),
        _station(45, _reps("Pull-up", 5), _reps("Banded pull-up", 7), _reps("Ring row", 9)),
        _station(45, _reps("Double-under", 28), _reps("Single-under", 45)),
        notes="Saturday's long one. Places are shared: start at any station.",
    ),
    _circuit(
        "Floodgate", 60, 8,
        _station(45, _kcal("Row", 9)),
        _station(45, _reps("Burpee", 6)),
        _station(45, _reps("Toes-to-bar", 4), _reps("Hanging knee raise", 7), _reps("Sit-up", 12)),
        scaling="rounds",
        notes="The doses stay as they are written: who runs out stops earlier, and stretches.",
    ),
    _circuit(
        "Low Tide", 90, 4,
        _station(70, _kcal("Row", 12), _kcal("Fan bike", 12)),
        _station(60, _reps("Air squat", 15)),
        _station(60, _reps("Ring row", 8)),
        _station(60, _hold("Plank", 40)),
        headroom=0.3,
        notes="Easy. Talk while you move.",
    ),
    _circuit(
        "Millstone", 120, 5,
        _station(60, _lift("Back squat", 5, percent=75), note="Down under control, up without a pause."),
        notes="Five by five before a circuit.",
    ),
    _circuit(
        "Headstock", 120, 4,
        _station(
            40,
            _reps("Pull-up", 5, 3),
            _reps("Banded pull-up", 6),
            _reps("Ring row", 8),
            note="Chest to the bar.",
        ),
        notes="A few clean pulls, nothing near failing.",
    ),
    _circuit(
        "Weir", 60, 4,
        _station(60, _metres("Row", 500)),
        _station(60, _reps("Wall ball", 15), _reps("Air squat", 20)),
        _station(60, _reps("Burpee", 10)),
        notes="Through it in order, at a pace that lasts.",
        format="for_time", limit_s=1320,
    ),
    _circuit(
        "Backwater", 60, 1,
        _station(60, _reps("Pull-up", 5), _reps("Banded pull-up", 6), _reps("Ring row", 8)),
        _station(60, _reps("Push-up", 10), _reps("Push-up, hands on a box", 12)),
        _station(60, _reps("Air squat", 15)),
        notes="Small sets, never to failing: the round goes on.",
        format="as_many", limit_s=720,
    ),
    _circuit(
        "Sluice Gate", 120, 8,
        _station(30, _hold("Row", 30)),
        notes="Thirty seconds on, a minute and a half off.",
    ),
]  # fmt: skip
