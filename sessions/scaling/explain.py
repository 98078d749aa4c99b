"""Why a target is what it is, in at most three plain sentences. Limitations stay private: no sentence names one."""

from sessions.scaling.constants import UNTESTED_SHARE
from sessions.scaling.targets import Bound, Swap

EVIDENCE = {
    "firm": "This rests on {benchmarks}, and is a firm estimate.",
    "fair": "This rests on {benchmarks}, and is a fair estimate.",
    "rough": "This rests on {benchmarks}, and is a rough estimate: a new benchmark would make it surer.",
}
CARRIED_OVER = "This is carried over from {benchmarks}, and is a {firmness} estimate until you are tested here."
NO_EVIDENCE = "No benchmark of yours is behind this yet: start gently and tell a coach how it went."
REST_BY_HAND = "Your coach set a rest at this station for you by hand."
REST = "Rest at this station: nothing on its list is useful work for you today."


def explain(
    *,
    dose,
    wanted_dose,
    unit,
    bound,
    swap,
    movement,
    prescribed,
    work_s,
    load="",
    other_station="",
    benchmarks=(),
    tested=True,
    firmness="",
):
    """Sentences (a tuple of one to three strings) about one athlete's target at one station.

    `dose` and `wanted_dose` are numbers in `unit`, a plural word such as "calories"; `bound` and `swap` the codes of
    `Targets`; `movement` and `prescribed` names; `work_s` [s] the work window without set-up; `load` the load with its
    unit, where there is one; `other_station` the name of the station that a shared dose gives way to; `benchmarks` the
    names of those the estimate rests on, `tested` False when they are of other machines or movements; `firmness` the
    word of `athletes.capacity.firmness`.
    """
    if bound == Bound.REST:
        return (REST,)
    if bound == Bound.PINNED and not dose:
        return (REST_BY_HAND,)
    sentences = [
        _swap_sentence(swap, movement, prescribed),
        _dose_sentence(bound, _amount(dose, unit, load), f"{wanted_dose:g}", f"{work_s:g}", other_station),
        _evidence_sentence(benchmarks, tested, firmness),
    ]
    return tuple(sentence for sentence in sentences if sentence)


def _swap_sentence(swap, movement, prescribed):
    if swap == Swap.NONE:
        return ""
    reason = "is set aside for you for now" if swap == Swap.FORBIDDEN else "would leave you too little useful work"
    return f"{movement} stands in for {prescribed}, which {reason}."


def _dose_sentence(bound, amount, wanted, work_s, other_station):
    part = f"You do {amount} out of {wanted}"
    return {
        Bound.PRESCRIPTION: f"You do the whole dose: {amount}.",
        Bound.SAFETY: f"{part}: {100 * UNTESTED_SHARE:g} % is the most for someone untested.",
        Bound.EXPOSURE: f"{part}: so much of it would be new to you, and it grows week by week.",
        Bound.RETURN: f"You do {amount}: while you are new or come back after a break, the work grows over four weeks.",
        Bound.PINNED: f"Your coach set {amount} for you by hand.",
        Bound.TIME: f"The {work_s} seconds of work have room for {amount}, out of {wanted}.",
        Bound.OWN: f"You can keep up {amount} to the last round; {wanted} would not last.",
        Bound.OTHER_STATION: f"You do {amount} instead of {wanted}, to have enough left for {other_station}.",
    }[Bound(bound)]


def _evidence_sentence(benchmarks, tested, firmness):
    if not benchmarks:
        return NO_EVIDENCE
    *first, last = benchmarks
    names = f"{', '.join(first)} and {last}" if first else last
    if not tested:
        return CARRIED_OVER.format(benchmarks=names, firmness=firmness or "rough")
    return EVIDENCE[firmness or "rough"].format(benchmarks=names)


def _amount(dose, unit, load):
    amount = f"{dose:g} {unit.removesuffix('s') if dose == 1 else unit}"
    return f"{amount} with {load}" if load else amount
