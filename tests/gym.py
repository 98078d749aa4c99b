"""A small gym to test on: two engines, a few movements, benchmarks, and a circuit over them."""

from datetime import date, time, timedelta

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort, Gym, Machine, MachineType, Movement
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.write import circuit_create
from sessions.models import Circuit, PlannedSession, Week
from sessions.weeks.read import monday_of
from sessions.weeks.write import session_plan, week_ensure

DOCUMENT = {
    "name": "Mill race",
    "interval_s": 60,
    "rotations": 5,
    "stations": [
        {
            "work_window_s": 45,
            "options": [
                {"movement": "row", "dose_kind": "kcal", "dose": 15, "least_dose": 8},
                {"movement": "bike", "dose_kind": "kcal", "dose": 12},
            ],
        },
        {
            "work_window_s": 40,
            "note": "chest to the bar",
            "options": [
                {"movement": "pull-up", "dose_kind": "repetitions", "dose": 8, "least_dose": 4},
                {"movement": "ring-row", "dose_kind": "repetitions", "dose": 12, "least_dose": 4},
            ],
        },
        {
            "work_window_s": 45,
            "options": [
                {"movement": "goblet-squat", "dose_kind": "load_repetitions", "dose": 10, "load_kg": 24},
            ],
        },
    ],
}


def furnish() -> None:
    """Gym, machines, movements and benchmarks."""
    Gym.objects.update_or_create(
        pk=1, defaults={"name": "Test gym", "time_zone": "Europe/Lisbon", "class_times": ["06:00", "18:30"]}
    )
    rower = MachineType.objects.create(name="rowing ergometer", engine="row", setting_advice="Lever 4 to 8.")
    bike = MachineType.objects.create(name="fan bike", engine="bike", kcal_base=60, kcal_slope=3.6)
    Machine.objects.bulk_create(
        [Machine(type=rower, number=1), Machine(type=rower, number=2), Machine(type=bike, number=1)]
    )
    row = _movement("row", kind="engine", engine="row", machine_type=rower, involvement={"pull": 0.7, "squat": 0.6})
    _movement("bike", kind="engine", engine="bike", machine_type=bike, involvement={"squat": 0.6, "push": 0.4})
    _movement("pull-up", kind="repetitions", involvement={"pull": 1, "grip": 0.6}, typical_best=8)
    _movement("ring-row", kind="repetitions", involvement={"pull": 0.8, "grip": 0.4}, typical_best=20)
    _movement("goblet-squat", kind="loaded", involvement={"squat": 1, "trunk": 0.4}, typical_best=60)
    run = _movement("run", kind="engine", engine="run", involvement={"squat": 0.4, "whole_body": 0.6})
    pull_up = Movement.objects.get(slug="pull-up")
    squat = Movement.objects.get(slug="goblet-squat")
    Benchmark.objects.bulk_create(
        [
            _benchmark("2000 m row", row, "time_for_distance", 2000),
            _benchmark("1 min row calories", row, "calories_in_time", 60),
            _benchmark("1500 m run", run, "time_for_distance", 1500),
            _benchmark("pull-ups unbroken", pull_up, "repetitions", None),
            _benchmark("goblet squat", squat, "lift", None),
        ]
    )


def people(count: int, *, tested: bool = True) -> list[Athlete]:
    """`count` more athletes, each with a 2000 m row and pull-ups of a different strength."""
    first = Athlete.objects.count()
    athletes = Athlete.objects.bulk_create(
        Athlete(
            name=f"Athlete {n:04d}", board_name=f"A{n:04d}", sex="female" if n % 2 else "male", body_mass_kg=60 + n % 40
        )
        for n in range(first, first + count)
    )
    if tested:
        row = Benchmark.objects.get(slug="2000-m-row")
        pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
        day = today() - timedelta(days=20)
        Effort.objects.bulk_create(
            effort
            for n, athlete in enumerate(athletes)
            for effort in (
                Effort(
                    athlete=athlete, benchmark=row, value=420 + 5 * (n % 30), fixed=2000, typed="7:00", performed_on=day
                ),
                Effort(athlete=athlete, benchmark=pulls, value=4 + 5 * (n % 6), typed="5", performed_on=day),
            )
        )
        estimates_refresh(athletes=[athlete.pk for athlete in athletes])
    return athletes


def circuit(document: dict | None = None) -> Circuit:
    serializer = CircuitSerializer(data=document or DOCUMENT)
    serializer.is_valid(raise_exception=True)
    return circuit_create(document=serializer.validated_data, by=None)


def this_monday() -> date:
    return monday_of(today())


def planned_week(monday: date | None = None, *circuits: Circuit) -> Week:
    """A week (by default the next) with a session a day from Monday on, one for each circuit (by default one)."""
    week = week_ensure(monday or this_monday() + timedelta(days=7))
    for weekday, planned in enumerate(circuits or [circuit()]):
        session = PlannedSession(week=week, weekday=weekday, circuit=planned)
        session_plan(planned=session, hours=[time(6, 0), time(18, 30)])
    return week


def _movement(slug: str, **fields) -> Movement:
    name = slug.replace("-", " ").capitalize()
    return Movement.objects.create(slug=slug, name=name, cue_set_up=f"How to set up the {name}.", **fields)


def _benchmark(name: str, movement: Movement, measure: str, fixed: float | None) -> Benchmark:
    return Benchmark(name=name, slug=name.replace(" ", "-"), movement=movement, measure=measure, fixed=fixed)


SQUATS = {
    "name": "Five by five",
    "interval_s": 120,
    "rotations": 5,
    "stations": [
        {
            "work_window_s": 60,
            "options": [{"movement": "goblet-squat", "dose_kind": "load_repetitions", "dose": 5, "load_kg": 24}],
        }
    ],
}


def class_parts(own: Circuit | None = None) -> list[dict]:
    """Parts of a class around its circuit: briefing, warm-up, strength with a circuit of its own, cool-down."""
    strength = {"kind": "strength", "minutes": 14, "words": "Two sets to warm up.", "circuit": own or circuit(SQUATS)}
    return [
        {"kind": "briefing", "minutes": 3, "words": "Who is new."},
        {"kind": "warm_up", "minutes": 10, "words": "250 m row, easy."},
        strength,
        {"kind": "circuit", "words": "Bells are laid out."},
        {"kind": "cool_down", "minutes": 6, "words": "Walk two laps."},
    ]


FOR_TIME = {
    "name": "Weir",
    "format": "for_time",
    "limit_s": 1500,
    "interval_s": 60,
    "rotations": 3,
    "stations": [
        {"work_window_s": 60, "options": [{"movement": "row", "dose_kind": "metres", "dose": 500}]},
        {
            "work_window_s": 60,
            "options": [
                {"movement": "pull-up", "dose_kind": "repetitions", "dose": 8},
                {"movement": "ring-row", "dose_kind": "repetitions", "dose": 12},
            ],
        },
    ],
}
AS_MANY = {**FOR_TIME, "name": "Backwater", "format": "as_many", "limit_s": 720, "rotations": 1}
AT_PACE = {
    "name": "Sluice",
    "interval_s": 120,
    "rotations": 8,
    "stations": [{"work_window_s": 30, "options": [{"movement": "row", "dose_kind": "seconds", "dose": 30}]}],
}
