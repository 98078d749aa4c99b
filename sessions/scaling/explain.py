"""Why a target is what it is, in at most two plain sentences, and none where it is as prescribed.

Limitations stay private: no sentence names one. Only what the athlete does is named.
"""

from sessions.scaling.targets import Reason, Swap

FIRST_TIME = "First time: start easy, and note what you did."
FIRST_TIME_TO_COACH = "A first time: an easy start."
DAYS = {"steady": "steady day", "easy": "easy day"}


def explain(
    *,
    reason: int,
    swap: int,
    dose: float,
    written: float,
    unit: str,
    rounds: int,
    of_rounds: int,
    work_s: float,
    movement: str = "",
    other_movement: str = "",
    untested: bool = False,
    intent: str = "hard",
    hot: bool = False,
    by_library: bool = False,
    cap_s: float | None = None,
    to_coach: bool = False,
    written_as: str = "",
) -> tuple[str, ...]:
    """Sentences (a tuple of none to two strings) about one athlete's target at one station.

    `reason` and `swap` are the codes of `Targets`; `dose` and `written` numbers in `unit`, a plural word such as
    "calories"; `rounds` of the circuit's `of_rounds`; `work_s` [s] the work window without set-up; `movement` the
    athlete's own, `other_movement` their own at `reason_station`; `untested` for a first time; `intent` the day as it
    is trained, `hot` where heat lowered it; `cap_s` [s] that of what is for time; `by_library` where the rung was
    added below the coach's own. `to_coach` speaks of the athlete, not to them, and of the dose as it is `written_as`.
    """
    if reason == Reason.NO_TARGET:
        return ("Set together with a coach." if to_coach else "Your coach sets this with you.",)
    if reason == Reason.REST:
        nothing = "Nothing on the ladder is for them today."
        return (nothing if to_coach else "Nothing here is for you today: ask your coach for something else.",)
    if reason == Reason.BY_HAND:
        if to_coach:
            return ("Set by hand.",) if dose else ("A rest, set by hand.",)
        return ("Set by your coach.",) if dose else ("Your coach set a rest here.",)
    amount = f"{dose:g} instead of {written_as or f'{written:g}'} {unit}"
    sentences = [
        (FIRST_TIME_TO_COACH if to_coach else FIRST_TIME) if untested or reason == Reason.UNTESTED else "",
        _rounds(reason, rounds, of_rounds, to_coach),
        _swap(swap, movement, by_library, to_coach),
        _dose(reason, amount, work_s, other_movement, intent, hot, cap_s, to_coach),
    ]
    return tuple(sentence for sentence in sentences if sentence)[:2]


def _rounds(reason: int, rounds: int, of_rounds: int, to_coach: bool) -> str:
    if rounds >= of_rounds:
        return ""
    whose = "The" if to_coach else "Your"
    first = f"{whose} first {rounds} of {of_rounds} rounds" if rounds > 1 else f"Only the first of {of_rounds} rounds"
    if reason == Reason.UNACCUSTOMED:
        return f"{first}: more of this than {'they' if to_coach else 'you'} are used to makes sore."
    return f"{first}, then stretch."


def _swap(swap: int, movement: str, by_library: bool, to_coach: bool) -> str:
    if swap == Swap.TOO_LITTLE:
        if by_library:
            return f"{movement}: an easier form for now."
        return f"{movement}, to keep moving." if to_coach else f"{movement}, so that you can keep moving."
    if to_coach:
        return {
            Swap.FORBIDDEN: f"{movement} for now.",
            Swap.NEWCOMER: f"{movement} in the first weeks.",
            Swap.UNACCUSTOMED: f"{movement}: easier on the muscles while they build up.",
        }.get(Swap(swap), "")
    return {
        Swap.FORBIDDEN: f"{movement} for you for now.",
        Swap.NEWCOMER: f"{movement} in these first weeks.",
        Swap.UNACCUSTOMED: f"{movement}: easier on your muscles while you build up.",
    }.get(Swap(swap), "")


def _dose(
    reason: int,
    amount: str,
    work_s: float,
    other_movement: str,
    intent: str,
    hot: bool,
    cap_s: float | None,
    to_coach: bool,
) -> str:
    day = "hot day" if hot else DAYS.get(intent, "day")
    if reason == Reason.DAY:
        return f"{amount}: {'it is a hot day' if hot else f'an {day}' if day.startswith('e') else f'a {day}'}."
    if reason == Reason.TOGETHER and not other_movement:
        reason = Reason.OWN
    under_cap = "to finish under the cap" if to_coach else "so that you finish under the cap"
    return {
        Reason.TIME: f"{amount}: {work_s:g} s have no room for more." if cap_s is None else f"{amount}, {under_cap}.",
        Reason.OWN: f"{amount}: {'the limit here' if to_coach else 'that is your limit here'}.",
        Reason.TOGETHER: f"{amount}, to save something for {other_movement}.",
        Reason.NEWCOMER: "",
    }.get(Reason(reason), "")
