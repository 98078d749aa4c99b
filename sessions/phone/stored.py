"""What is kept of an athlete and what for, in plain words for that athlete."""

from athletes.audit.read import seen_of
from athletes.models import Athlete


def stored_of(athlete: Athlete) -> dict:
    """`kept`: (what, why) of all that there is; `seen`: who looked at it lately. Six queries."""
    facts = [("your name", "on this page and in the lists of staff; on the wall only your name on the board")]
    if athlete.born:
        facts.append(
            ("your date of birth", "your age centres first guesses, and minors get no target without the coach")
        )
    if athlete.sex or athlete.body_mass_kg:
        facts.append(("sex and body mass", "they centre first guesses of what you can do; both may be left empty"))
    if athlete.guardian:
        facts.append((f"{athlete.guardian}, as your guardian", "whom to call, and whose agreement the gym has"))
    if athlete.note:
        facts.append(("a note of staff", "how to coach you well; ask to see it"))
    counts = [
        (athlete.efforts.count(), "result", "your targets are worked out from them"),
        (athlete.logs.count(), "log", "what was done moves the next targets"),
        (athlete.targets.count(), "target", "what you were asked to do, so that it can be explained"),
        (athlete.limitations.count(), "limitation", "what is not to be done, without a diagnosis; staff only"),
    ]
    facts += [(f"{n} {word}{'' if n == 1 else 's'}", why) for n, word, why in counts if n]
    facts.append(("the key of your link, on this phone", "so that the address of its pages opens nothing elsewhere"))
    facts.append(("a random name on this phone", "so that your link can be limited to it"))
    return {"kept": facts, "seen": seen_of(athlete)}
