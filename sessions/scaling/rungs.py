"""Which rung of each ladder an athlete is on (section 4.4): judged alone, on a hard day, whatever the day is."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import Ability, Ladder
from sessions.scaling.cautions import rounds_share
from sessions.scaling.constants import NEARLY_AS_CLOSE, REST, ROUNDING_SLACK, UNTESTED_SHARE
from sessions.scaling.room import Room
from sessions.scaling.targets import Swap


@dataclass(frozen=True, eq=False)
class Rungs:
    """The rung and the reason for it, both (n, S)."""

    rung: IntArray
    swap: IntArray


def choose_rungs(ladder: Ladder, ability: Ability, room: Room, rounds: int, hard: float) -> Rungs:
    """The `Rungs` of a `Room`; `hard` is the headroom of a hard day."""
    own = np.nan_to_num(np.minimum(ladder.dose_of(ability.own(rounds, hard)), ladder.most_by_time))
    return rungs_by(own, ladder, room, rounds)


def rungs_by(own: Array, ladder: Ladder, room: Room, rounds: int) -> Rungs:
    """The `Rungs` of a `Room` from everyone's `own` dose at every rung, (n, S, L)."""
    allowed = room.allowed & ladder.exists
    soft = soft_rungs(ladder, allowed, room)
    least = least_of(ladder, room)
    useful = useful_rung(own, least, soft)
    rung = spared_rung(useful, own, least, ladder, soft, room, rounds)
    swap = _swaps(rung, useful, useful_rung(own, least, allowed), allowed)
    if room.no_target is not None:
        rung = np.where(room.no_target[:, None], REST, rung)
    if room.pinned_rung is not None:
        rung, swap = np.where(room.pinned, room.pinned_rung, rung), np.where(room.pinned, Swap.NONE, swap)
    return Rungs(rung, np.where(rung == REST, Swap.NONE, swap))


def soft_rungs(ladder: Ladder, allowed: BoolArray, room: Room) -> BoolArray:
    """Allowed rungs (n, S, L), for newcomers those that neither make sore nor need skill, where there is one."""
    soft = allowed & ~ladder.makes_sore & ~ladder.needs_skill
    newcomer = (room.week > 0)[:, None] & soft.any(-1)
    return np.where(newcomer[..., None], soft, allowed)


def least_of(ladder: Ladder, room: Room) -> Array:
    """What makes a rung useful, (n, S, L): its least useful dose, and a first time all that may be asked of it.

    Whom nobody has seen there begins where that much is sure (boards written by hand: hands on a box, a ring row).
    """
    first = room.flags("untested") & (ladder.pace_s == 0)
    return np.where(first, np.maximum(ladder.least, UNTESTED_SHARE * ladder.dose), ladder.least)


def useful_rung(own: Array, least: Array, allowed: BoolArray) -> IntArray:
    """The first allowed rung (n, S) whose own dose (n, S, L) reaches its `least` useful one, else the closest to it.

    Of those nearly as close as the closest the last, for ladders lead to what is easier. `REST` where nothing is
    allowed.
    """
    reaches = allowed & (own >= least * (1.0 - ROUNDING_SLACK))
    share = np.where(allowed, own / least, -1.0)
    near = allowed & (share >= NEARLY_AS_CLOSE * share.max(-1, keepdims=True))
    closest = near.shape[-1] - 1 - near[..., ::-1].argmax(-1)
    rung = np.where(reaches.any(-1), reaches.argmax(-1), closest)
    return np.where(allowed.any(-1), rung, REST)


def spared_rung(
    rung: IntArray, own: Array, least: Array, ladder: Ladder, allowed: BoolArray, room: Room, rounds: int
) -> IntArray:
    """The rung after unaccustomed volume: who would do too much of what makes sore goes down to what does not.

    Where the ladder has nothing such below, the rung stays and the rounds are cut later.
    """
    if room.most_in_session is None:
        return rung
    total = np.minimum(own, ladder.dose) * rounds * rounds_share(room.week)[:, None, None]
    too_much = ladder.makes_sore & (total > room.most_in_session)
    here = np.take_along_axis(too_much, np.maximum(rung, 0)[..., None], 2)[..., 0] & (rung != REST)
    below = allowed & ~ladder.makes_sore & (np.arange(allowed.shape[-1]) > rung[..., None])
    return np.where(here & below.any(-1), useful_rung(own, least, below), rung)


def _swaps(rung: IntArray, useful: IntArray, usual: IntArray, allowed: BoolArray) -> IntArray:
    """Why an athlete is not on the first rung: the last thing that moved them."""
    swap = np.where(allowed[..., 0], Swap.TOO_LITTLE, Swap.FORBIDDEN)
    swap = np.where(useful != usual, Swap.NEWCOMER, swap)
    swap = np.where(rung != useful, Swap.UNACCUSTOMED, swap)
    return np.asarray(np.where(rung == 0, Swap.NONE, swap), np.int64)
