"""What holds on the day of a session: intent after the heat, what is wanted left in the tank, by hand, equipment."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from athletes.gym.read import today
from athletes.models import Gym
from athletes.words import number
from sessions.circuits.definition import Definition
from sessions.models import Pin, PlannedSession, Publication, PublishedSession
from sessions.scaling.cautions import HeatStep, heat_step, lowered
from sessions.targets.occasion import Occasion, pins_by_session
from sessions.targets.settings import load_settings


def day_of(planned: PlannedSession, gym: Gym) -> dict:
    """`intent` of a planned session after the heat expected; `headrooms` by intent, None where it is too hot to train;
    `hot` where heat lowered it, and a `caution`."""
    limits = (gym.heat_first_c, gym.heat_second_c, gym.heat_stop_c)
    step = HeatStep.NONE if planned.wbgt_c is None else heat_step(planned.wbgt_c, limits)
    usual = {"intent": planned.intent, "headrooms": gym.headrooms, "hot": False, "caution": ""}
    if step == HeatStep.NONE:
        return usual
    expected = f"{planned.date:%A}: {number(planned.wbgt_c)} °C wet-bulb globe temperature is expected"
    if step == HeatStep.STOP:
        stop = f"{expected}, and from {number(gym.heat_stop_c)} °C on nobody trains here."
        return {**usual, "headrooms": None, "hot": True, "caution": stop}
    intent = lowered(planned.intent, step)
    easier = f" The day is {intent} instead of {planned.intent}." if intent != planned.intent else ""
    caution = f"Heat: {expected}.{easier} Drink, take shade, and stop at dizziness, cramps or confusion."
    return {**usual, "intent": intent, "hot": intent != planned.intent, "caution": caution}


def occasions_of(publication: Publication, sessions: list[PublishedSession]) -> list[tuple[PublishedSession, Occasion]]:
    """What holds for each of these sessions of a publication, as it was frozen. Five queries, however many there are.

    Weeks that were published by an earlier method take what the gym wants left now.
    """
    frozen = {(day["key"], day["date"]): day for day in publication.content["sessions"]}
    gym = Gym.objects.get(pk=1)
    settings = load_settings([session.definition for session in sessions], today())
    by_hand = pins_by_session(standing_pins(session.key for session in sessions))
    found = []
    for session in sessions:
        day = frozen.get((str(session.key), session.date.isoformat()), {})
        occasion = Occasion(
            day=session.date,
            intent=session.intent,
            hot=day.get("hot", False),
            headrooms=day.get("headrooms") or gym.headrooms,
            sure=gym.sure,
            pins=by_hand[session.key],
            settings=settings,
        )
        found.append((session, occasion))
    return found


def occasion_of(planned: PlannedSession, gym: Gym, definition: Definition, key: UUID | None = None) -> Occasion:
    """What would hold for a planned session if it were published now; where it is too hot to train, on an easy day.

    `key` where it is about a part of it with a circuit of its own.
    """
    key = key or planned.key
    day = day_of(planned, gym)
    return Occasion(
        day=planned.date,
        intent=day["intent"] if day["headrooms"] else "easy",
        hot=day["hot"],
        headrooms=gym.headrooms,
        sure=gym.sure,
        pins=pins_by_session(standing_pins([key]))[key],
        settings=load_settings([definition], today()),
    )


def occasion_on(day: date, gym: Gym, definition: Definition, intent: str = "hard") -> Occasion:
    """A circuit on any day, planned or not; an intent that does not exist is a hard day."""
    known = intent if intent in gym.headrooms else "hard"
    settings = load_settings([definition], day)
    return Occasion(day=day, intent=known, headrooms=gym.headrooms, settings=settings, sure=gym.sure)


def standing_pins(session_keys: Iterable[UUID], athlete_ids: Iterable[int] | None = None) -> QuerySet[Pin]:
    """What is set by hand in these sessions, and was not taken off again."""
    pins = Pin.objects.standing().filter(session_key__in=list(session_keys))
    if athlete_ids is not None:
        pins = pins.filter(athlete_id__in=athlete_ids)
    return pins.select_related("movement", "made_by")
