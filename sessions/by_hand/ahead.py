"""What a change by hand would lead to, said before it is made: the dose of a swap, and when harder is a lot to ask."""

from athletes.estimates.people import load_people
from athletes.words import dose_text, number
from sessions.by_hand.swap import HARDER, as_they_stand, next_rung, stepped
from sessions.circuits.definition import Option
from sessions.models import Pin, PublishedSession, Target
from sessions.targets.compute import compute
from sessions.targets.history import load_history
from sessions.weeks.days import occasions_of
from sessions.words.cards import option_name

HARDLY = 1 / 3  # probability of holding every round below which it is said (ours)
TRIES = 10


def warning(*, dose: float, option: Option, probability: float | None) -> str:
    """What a coach should know of a dose before it is set; empty for one that is written and can be held.

    Nothing is forbidden: the coach knows the athlete, the estimate does not.
    """
    words = []
    if dose > option.dose:
        words.append(f"More than is written ({number(option.dose)}).")
    if probability is not None and probability < HARDLY:
        held = round(probability * TRIES)
        words.append(f"Likely to be held in {held} of {TRIES} tries." if held else "Hardly likely to be held.")
    return " ".join(words)


def ahead_of(session: PublishedSession, athlete_id: int, station: int) -> dict[str, str]:
    """For one dose of a live session: `harder`, what speaks against it, and `swap`, what it would be in full."""
    targets = list(Target.objects.filter(session=session, athlete_id=athlete_id).order_by("station"))
    target = next((target for target in targets if target.station == station), None)
    if target is None or target.rung < 0:
        return {"harder": "", "swap": ""}
    people = load_people([athlete_id])
    history = load_history(people.athletes)
    ((_, occasion),) = occasions_of(session.publication, [session])
    definition = session.definition
    ladder = definition.stations[station - 1].options
    option, dose = ladder[target.rung], stepped(ladder[target.rung], target.dose, HARDER)
    probability = None
    if dose > target.dose:
        tried = as_they_stand(occasion, definition, targets)
        tried.pins[athlete_id, station] = Pin(movement_id=option.movement.id, dose=dose, load_kg=target.load_kg)
        then = list(compute(definition, people, history, tried))
        probability = then[station - 1].probability
    rung, swapped, load_kg = next_rung(definition, targets, station, people, history, occasion)
    return {
        "harder": warning(dose=dose, option=option, probability=probability),
        "swap": _swap(ladder, rung, swapped, load_kg),
    }


def _swap(ladder: tuple[Option, ...], rung: int, dose: float, load_kg: float | None) -> str:
    if rung < 0:
        return "rest"
    option = ladder[rung]
    if load_kg:
        return f"{dose_text(option.dose_kind, dose, load_kg)} {option.movement.name}"
    return f"{dose_text(option.dose_kind, dose)} {option_name(option)}"
