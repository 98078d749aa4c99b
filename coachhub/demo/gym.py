"""The gym itself: its room, its machines and who works there."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.conf import settings

from athletes.models import Account

NAME = "Tidemill Strength & Conditioning"
PASSWORD = settings.DEMO_PASSWORD  # of every demo account; `start` prints it

GYM = {
    "name": NAME,
    "time_zone": "Europe/Lisbon",
    "altitude_m": 640,
    "class_times": ["06:00", "07:15", "12:30", "17:30", "18:45"],
    "local_rules": "Emergency: call 112, say “the old mill, yard door”. First aid and defibrillator hang by that door.",
}
ZONE = ZoneInfo(GYM["time_zone"])


@dataclass(frozen=True)
class Kind:
    """A kind of machine and how many of it stand on the floor. The levers advised are common practice."""

    name: str
    count: int
    engine: str = ""
    advice: str = ""
    scale: tuple[float, float] | None = None
    lever_most: float | None = None


LEVER = "Lever 4 to 8 serves most, 6 to 6.5 is the middle; a touch more up here in thin air. Advice, not a rule."
KINDS = [
    Kind("Rowing ergometer", 4, "row", LEVER, lever_most=10),
    Kind("Ski ergometer", 3, "ski", LEVER, lever_most=10),
    # Its monitor has a formula of its own: no base, and more calories for a watt.
    Kind("Fan bike", 2, "bike", "No lever: the fan answers to effort alone. Saddle at hip height.", scale=(0.0, 3.6)),
    Kind("Hip-extension bench", 6, advice="Pad set so that the hips hang free. Set it before the clock starts."),
    Kind("Box", 10, advice="Three heights; take the lowest that is still work."),
    Kind("Rig place", 8),
    Kind("Sled lane", 1),
]

# Username, name, role; the first of each role is the one `start` names.
ACCOUNTS = [
    ("owner", "Margarida Sobreiral", Account.Role.OWNER),
    ("coach", "Henrik Almgård", Account.Role.COACH),
    ("coach2", "Thandiwe Mokoatle", Account.Role.COACH),
    ("coach3", "Iñaki Etxarri", Account.Role.COACH),
    ("staff", "Rosa Caldeirão", Account.Role.STAFF),
    ("staff2", "Benoît Lacassagne", Account.Role.STAFF),
]
