"""The arithmetic behind one target, for the coach."""

from athletes.formatting import number
from sessions.models import Target


def arithmetic(target: Target) -> dict:
    """What a coach may want to check: the steps from prescription to dose, and the demand on this station."""
    detail, stations = target.detail, target.session.circuit["stations"]
    row = detail["demand"]
    names = [station["options"][0]["movement"]["name"] for station in stations]
    return {
        "steps": [
            ("wanted on the day", number(detail["wanted"], 1)),
            ("what this station alone allows", number(detail["own_cap"], 1)),
            ("share left after the other stations", number(detail["share"], 2)),
            ("dose, in whole steps", number(target.dose, 1)),
        ],
        "demand": [
            {"station": index, "name": name, "value": number(value, 3)}
            for index, (name, value) in enumerate(zip(names, row, strict=True), start=1)
        ],
    }
