"""Forty-two invented athletes. Any likeness to real people is chance."""

from dataclasses import dataclass, field

F, M, NOT_SAID = "female", "male", ""


@dataclass(frozen=True)
class Limit:
    """A limitation; days are counted back from the day of seeding, and a review ahead of it is negative."""

    kind: str
    note: str
    since: int
    until: int | None
    patterns: tuple[str, ...] = ()
    movements: tuple[str, ...] = ()
    # Entered between the two revisions of this week, so that "who changed" has something to show.
    late: bool = False


@dataclass(frozen=True)
class Person:
    """Name, name on the board, sex, age, body mass [kg], and what no row in the database says:

    `engine` and `strength` are logs of how far above the middle of people of that sex and mass, `weeks` how long ago
    they began, `new` whether the programme has to know that, `back` how many days ago they came back from a break,
    `shows` how likely they come to a test, `last` how many weeks ago they were last tested.
    """

    name: str
    board: str
    sex: str
    age: int
    mass: float | None
    engine: float
    strength: float
    weeks: int
    shows: float
    last: int = 0
    new: bool = False
    back: int | None = None
    unit: str = "kg"
    note: str = ""
    limits: tuple[Limit, ...] = field(default=())


SHOULDER = Limit(
    "body",
    "Right shoulder: nothing overhead and no hanging until the physiotherapist has seen it again.",
    since=2,
    until=-26,
    patterns=("push",),
    movements=("Pull-up", "Banded pull-up", "Dead hang", "Ski"),
    late=True,
)
KNEE = Limit(
    "body",
    "Left knee: no deep bending, no landings. Fan bike and rowing feel fine.",
    since=3,
    until=-18,
    patterns=("squat",),
    movements=("Run", "Single-under"),
    late=True,
)
PREGNANCY = Limit(
    "pregnancy",
    "Follows what her midwife says. Asks for easier on the day; always say yes.",
    since=61,
    until=-45,
    movements=("Box jump", "Hip-extension sit-up", "Sit-up", "Single-under", "Double-under", "Run"),
)
SKILL = Limit(
    "skill",
    "Working on single-unders first.",
    since=96,
    until=None,
    movements=("Double-under", "Power clean"),
)
WRIST = Limit("body", "Wrist after a fall; cleared.", since=160, until=104, patterns=("push",))

PEOPLE = [
    Person("Amara Ezebuiro", "Amara", F, 34, 66, 0.16, 0.14, 190, 0.8),
    Person("Beatriz Lourinho", "Beatriz", F, 29, 61, 0.05, 0.02, 96, 0.7),
    Person("Bogdan Țărmure", "Bogdan", M, 41, 94, 0.02, 0.22, 240, 0.6),
    Person("Caoimhe Dunleary", "Caoimhe", F, 26, 59, 0.22, 0.08, 60, 0.75),
    Person("Chidi Obialor", "Chidi", M, 31, 88, 0.20, 0.28, 130, 0.85, unit="lb"),
    Person("Dalia Harrashi", "Dalia", F, 45, 72, -0.12, -0.05, 70, 0.6),
    Person("Davor Pelinčić", "Davor", M, 52, 86, -0.02, 0.05, 310, 0.75),
    Person("Eero Kivilampi", "Eero", M, 38, 79, 0.26, 0.02, 150, 0.9),
    Person("Élise Montcharmont", "Élise", F, 33, 64, -0.06, -0.10, 44, 0.65, limits=(PREGNANCY,)),
    Person("Farid Ahmadzadeh", "Farid", M, 27, 76, 0.12, 0.16, 82, 0.7),
    Person("Freya Holmstrand", "Freya", F, 22, 70, 0.28, 0.24, 120, 0.9),
    Person("Gonçalo Vilaverde", "Gonçalo", M, 47, 102, -0.16, 0.12, 124, 0.5, last=58),
    Person("Hana Mizushiro", "Hana", F, 30, 53, 0.10, 0.0, 104, 0.8),
    Person("Ingrid Åsheim", "Ingrid", F, 58, 67, -0.10, -0.24, 280, 0.85),
    Person("Ioana Brădescu", "Ioana", F, 36, 78, -0.20, -0.02, 30, 0.6),
    Person("João Pedregal", "João", M, 19, 73, 0.24, 0.05, 52, 0.7),
    Person("Kasimir Wojtaszek", "Kasimir", M, 63, 84, -0.24, -0.16, 220, 0.8),
    Person("Katarzyna Grabińska", "Kasia", F, 43, None, 0.0, 0.06, 140, 0.55),
    Person("Kwabena Asomaning", "Kwabena", M, 24, 91, 0.18, 0.34, 88, 0.7, unit="lb"),
    Person("Leilani Kaopuiki", "Leilani", F, 39, 83, -0.08, 0.16, 76, 0.65),
    Person("Liam Farnworth", "Liam F", M, 21, 82, 0.10, 0.10, 16, 0.8),
    Person("Łukasz Brzezny", "Łukasz", M, 35, 87, 0.36, 0.20, 200, 0.85),
    Person("Maëlle Kerouredan", "Maëlle", F, 17, 57, 0.12, -0.06, 40, 0.8, note="A parent is told of each test day."),
    Person("Marisol Quintanar", "Marisol", F, 49, 69, -0.14, -0.08, 110, 0.6, limits=(SHOULDER,)),
    Person("Mateus Figueiró", "Mateus", M, 18, 68, 0.16, -0.04, 36, 0.75, limits=(SKILL,)),
    Person("Mehmet Karaçelik", "Mehmet", M, 55, 92, -0.18, 0.10, 170, 0.5, last=66),
    Person("Nadia Belouizdane", "Nadia", F, 32, 63, 0.18, 0.12, 156, 0.8),
    Person("Niamh Corrigane", "Niamh", F, 61, 62, -0.18, -0.36, 132, 0.7, limits=(WRIST,)),
    Person("Ólafur Hraunfjörð", "Ólafur", M, 44, 98, 0.06, 0.26, 260, 0.7),
    Person("Oluwaseun Adelabi", "Seun", M, 37, 85, -0.04, 0.08, 12, 0.7),
    Person("Petra Schwarzwälder-Hönig", "Petra", F, 40, 74, 0.08, 0.10, 178, 0.75),
    Person("Priya Venkatarajan", "Priya", F, 25, 55, -0.04, -0.06, 22, 0.7),
    Person("Rasmus Tveitane", "Rasmus", M, 50, 83, 0.08, 0.0, 230, 0.8, limits=(KNEE,)),
    Person("Rohan Dessaikar", "Rohan", M, 33, 77, -0.10, -0.04, 118, 0.55, last=55, back=9, note="Back from abroad."),
    Person("Saoirse Mulqueen", "Saoirse", F, 20, 64, 0.20, 0.10, 48, 0.75),
    Person("Søren Klitvad", "Søren", M, 68, 80, -0.28, -0.22, 350, 0.85),
    Person("Tamsin Abelthwaite", "Tamsin", F, 54, 71, -0.36, -0.38, 26, 0.6),
    Person("Tomáš Vrabčík", "Tomáš", M, 29, 84, 0.40, 0.18, 144, 0.9),
    Person("Trần Mai Khuê", "Khuê", F, 28, 51, -0.02, 0.04, 92, 0.7),
    Person("Ximena Altolaguirre Itzcóatl-Montes de Oca y Villaseñor", "Ximena", F, 46, 68, -0.30, -0.32, 64, 0.6),
    Person("Yusuf Ganizade", "Yusuf", M, 42, None, -0.06, 0.04, 1, 0.0, new=True, note="New: show him round."),
    Person("Zsófia Kerekgyártó", "Zsófia", NOT_SAID, 23, 65, 0.08, 0.06, 74, 0.7),
]
