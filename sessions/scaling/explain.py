"""Why a target is what it is, in at most two plain sentences, and none where it is as prescribed.

Limitations stay private: no sentence names one. Only what the athlete does is named.
"""

from sessions.scaling.targets import Reason, Swap

FIRST_TIME = "First time: start easy, and note what you did."
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
) -> tuple[str, ...]:
    """Sentences (a tuple of none to two strings) about one athlete's target at one station.

    `reason` and `swap` are the codes of `Targets`; `dose` and `written` numbers in `unit`, a plural word such as
    "calories"; `rounds` of the circuit's `of_rounds`; `work_s` [s] the work window without set-up; `movement` the
    athlete's own, `other_movement` their own at `reason_station`; `untested` for a first time; `intent` the day as it
    is trained, `hot` where heat lowered it; `cap_s` [s] that of what is for time; `by_library` where the rung was
    added below the coach's own.
    """
    if reason == Reason.NO_TARGET:
        return ("Your coach sets this with you.",)
    if reason == Reason.REST:
        return ("Nothing here is for you today: ask your coach for something else.",)
    if reason == Reason.BY_HAND:
        return ("Set by your coach.",) if dose else ("Your coach set a rest here.",)
    sentences = [
        FIRST_TIME if untested or reason == Reason.UNTESTED else "",
        _rounds(reason, rounds, of_rounds),
        _swap(swap, movement, by_library),
        _dose(reason, f"{dose:g} instead of {written:g} {unit}", work_s, other_movement, intent, hot, cap_s),
    ]
    return tuple(sentence for sentence in sentences if sentence)[:2]


def _rounds(reason: int, rounds: int, of_rounds: int) -> str:
    if rounds >= of_rounds:
        return ""
    first = f"Your first {rounds} of {of_rounds} rounds" if rounds > 1 else f"Only the first of {of_rounds} rounds"
    if reason == Reason.UNACCUSTOMED:
        return f"{first}: more of this than you are used to makes sore."
    return f"{first}, then stretch."


def _swap(swap: int, movement: str, by_library: bool) -> str:
    if swap == Swap.TOO_LITTLE:
        return f"{movement}, so that you can keep moving." if not by_library else f"{movement}: an easier form for now."
    return {
        Swap.FORBIDDEN: f"{movement} for you for now.",
        Swap.NEWCOMER: f"{movement} in these first weeks.",
        Swap.UNACCUSTOMED: f"{movement}: easier on your muscles while you build up.",
    }.get(Swap(swap), "")


def _dose(
    reason: int, amount: str, work_s: float, other_movement: str, intent: str, hot: bool, cap_s: float | None
) -> str:
    day = "hot day" if hot else DAYS.get(intent, "day")
    if reason == Reason.DAY:
        return f"{amount}: {'it is a hot day' if hot else f'an {day}' if day.startswith('e') else f'a {day}'}."
    if reason == Reason.TOGETHER and not other_movement:
        reason = Reason.OWN
    return {
        Reason.TIME: f"{amount}: {work_s:g} s have no room for more."
        if cap_s is None
        else f"{amount}, so that you finish under the cap.",
        Reason.OWN: f"{amount}: that is your limit here.",
        Reason.TOGETHER: f"{amount}, to save something for {other_movement}.",
        Reason.NEWCOMER: "",
    }.get(Reason(reason), "")
