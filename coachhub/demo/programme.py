"""The circuits of the demo gym, as documents in the form of sessions.circuits.document."""

from django.utils.text import slugify


def _option(movement: str, dose_kind: str, dose: float, least: float, load: float | None = None) -> dict:
    return {
        "movement": slugify(movement),
        "dose_kind": dose_kind,
        "dose": dose,
        "least_dose": least,
        "load_kg": load,
    }


def _kcal(movement: str, dose: float, least: float) -> dict:
    return _option(movement, "kcal", dose, least)


def _metres(movement: str, dose: float, least: float) -> dict:
    return _option(movement, "metres", dose, least)


def _reps(movement: str, dose: float, least: float) -> dict:
    return _option(movement, "repetitions", dose, least)


def _lift(movement: str, dose: float, least: float, load: float) -> dict:
    return _option(movement, "load_repetitions", dose, least, load)


def _hold(movement: str, dose: float, least: float) -> dict:
    return _option(movement, "seconds", dose, least)


def _station(window_s: int, *options: dict, note: str = "") -> dict:
    """A station: its prescription, then its swap ladder, hardest first."""
    return {"work_window_s": window_s, "note": note, "options": list(options)}


def _circuit(name: str, interval_s: int, rotations: int, *stations: dict, headroom=None, notes: str = "") -> dict:
    return {
        "name": name,
        "interval_s": interval_s,
        "rotations": rotations,
        "headroom": headroom,
        "notes": notes,
        "stations": list(stations),
    }


CIRCUITS = [
    _circuit(
        "Still Water", 60, 5,
        _station(45, _kcal("Row", 16, 7), _reps("Box step-up", 14, 8)),
        _station(40, _reps("Push-up", 14, 6), _reps("Push-up, hands on a box", 14, 6), _hold("Plank", 30, 15)),
        _station(45, _kcal("Ski", 14, 6), _reps("Ring row", 10, 5), note="Hands pass the hips; return tall."),
        _station(42, _reps("Ball throw to a target", 14, 6), _reps("Air squat", 15, 8), _hold("Plank", 30, 15)),
        _station(42, _reps("Sit-up", 18, 8), _hold("Plank", 35, 15)),
        notes="The everyday circuit: nothing is hard alone.",
    ),
    _circuit(
        "Mill Race", 60, 6,
        _station(45, _kcal("Fan bike", 15, 6), _kcal("Row", 12, 5)),
        _station(
            42,
            _reps("Kettlebell swing, 24 kg", 14, 7),
            _reps("Kettlebell swing, 16 kg", 18, 8),
            _reps("Hip extension", 12, 6),
        ),
        _station(
            40,
            _reps("Pull-up", 7, 3),
            _reps("Pull-up with a band", 7, 3),
            _reps("Ring row", 10, 5),
            _kcal("Row", 8, 4),
        ),
        _station(42, _reps("Box jump", 12, 6), _reps("Box step-up", 14, 8), _hold("Plank", 30, 15)),
    ),
    _circuit(
        "Ebb and Flow", 120, 10,
        _station(
            85,
            _metres("Row", 420, 220),
            _metres("Ski", 350, 200),
            _kcal("Fan bike", 18, 10),
            note="Ten the same: the first must feel too easy.",
        ),
        headroom=0.1,
        notes="One station, every two minutes.",
    ),
    _circuit(
        "Along the Race", 240, 6,
        _station(200, _metres("Run", 800, 450), _metres("Row", 750, 450), _kcal("Fan bike", 40, 20)),
        notes="Out by the yard door to the second post and back. In rain: row.",
    ),
    _circuit(
        "Lock Gates", 90, 5,
        _station(
            50,
            _lift("Deadlift", 5, 3, 110),
            _lift("Deadlift", 5, 3, 80),
            _lift("Deadlift", 5, 3, 55),
            _reps("Kettlebell swing, 16 kg", 12, 6),
            _reps("Hip extension", 10, 5),
        ),
        _station(
            45,
            _lift("Overhead press", 6, 3, 40),
            _lift("Overhead press", 6, 3, 30),
            _lift("Overhead press", 6, 3, 20),
            _reps("Push-up, hands on a box", 10, 5),
            _hold("Plank", 30, 15),
        ),
        _station(50, _reps("Sled push, 10 m lengths", 4, 2), _reps("Box step-up", 14, 8), _kcal("Row", 10, 5)),
        notes="Strength first, breath second. Bars are loaded in threes; share.",
    ),
    _circuit(
        "Spindle", 60, 4,
        _station(45, _kcal("Ski", 15, 6), _kcal("Row", 14, 5)),
        _station(42, _reps("Ball throw to a target", 15, 8), _reps("Air squat", 16, 8), _hold("Plank", 30, 15)),
        _station(42, _hold("Dead hang", 28, 12), _reps("Ring row", 8, 4), _hold("Plank", 30, 15)),
        _station(45, _kcal("Fan bike", 15, 6), _kcal("Row", 14, 5)),
        _station(42, _reps("Walking lunge", 16, 8), _reps("Box step-up", 14, 8), _reps("Hip extension", 10, 5)),
    ),
    _circuit(
        "Granary Steps", 75, 5,
        _station(55, _reps("Box step-up", 20, 10), _reps("Hip extension", 12, 6)),
        _station(
            52,
            _lift("Sandbag to the shoulder", 8, 4, 40),
            _lift("Sandbag to the shoulder", 8, 4, 30),
            _lift("Kettlebell squat, held in front", 10, 5, 16),
            _reps("Hip extension", 12, 6),
        ),
        _station(55, _metres("Row", 280, 150), _kcal("Fan bike", 14, 6)),
        _station(50, _hold("Plank", 45, 20), _reps("Sit-up", 14, 6), _hold("Dead hang", 20, 8)),
    ),
    _circuit(
        "Wheelhouse", 60, 5,
        _station(45, _kcal("Row", 15, 6), _kcal("Fan bike", 13, 5)),
        _station(
            45,
            _lift("Front squat to press", 8, 4, 40),
            _lift("Front squat to press", 8, 4, 30),
            _lift("Front squat to press", 8, 4, 20),
            _reps("Ball throw to a target", 12, 6),
            _hold("Plank", 30, 15),
        ),
        _station(45, _kcal("Ski", 13, 6), _reps("Ring row", 10, 5), _kcal("Row", 9, 4)),
        _station(45, _reps("Hip-extension sit-up", 9, 4), _reps("Sit-up", 12, 6), _hold("Plank", 30, 15)),
        _station(48, _metres("Run", 190, 100), _reps("Rope skip", 40, 20), _kcal("Fan bike", 10, 5)),
        _station(45, _reps("Rope skip, double turn", 28, 12), _reps("Rope skip", 42, 20), _reps("Ring row", 8, 4)),
        notes="Saturday's long one. Places are shared: start at any station.",
    ),
    _circuit(
        "Low Tide", 90, 4,
        _station(70, _kcal("Row", 14, 7), _kcal("Fan bike", 12, 6)),
        _station(60, _reps("Air squat", 20, 10), _reps("Hip extension", 10, 5)),
        _station(60, _reps("Ring row", 12, 5), _hold("Dead hang", 20, 8), _hold("Plank", 30, 15)),
        _station(60, _hold("Plank", 40, 20)),
        headroom=0.3,
        notes="Easy. Talk while you move.",
    ),
]  # fmt: skip
