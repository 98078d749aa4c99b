"""Two taps on a dose: easier, harder, swap, undo; exactly once, never blindly, at once on the phone."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from athletes.gym.read import today
from athletes.models import Athlete, Limitation
from sessions.by_hand.live import MOVED
from sessions.by_hand.write import pin_set
from sessions.circuits.freeze import definition_of
from sessions.floor.write import dose_change
from sessions.models import Pin, PublishedSession, Target
from sessions.scaling.steps import easier
from sessions.targets.detail import detail_of
from tests import gym
from tests.conftest import publish
from tests.floor.floor import phone_page, tap_on, target_of

ROW, PULL_UPS, SQUATS = 1, 2, 3


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(3)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


@pytest.fixture
def athlete(session) -> Athlete:
    """The strongest: nothing is capped or swapped."""
    return Athlete.objects.get(board_name="A0002")


@pytest.fixture
def change(session, athlete, coach):
    def tap(station: int, act: str, by=coach, **more) -> Target:
        dose_change(session=session, tap=tap_on(target_of(session, athlete, station), act, **more), by=by)
        return target_of(session, athlete, station)

    return tap


def figures(session, athlete) -> dict:
    return {t.station: [getattr(t, n) for n in MOVED] for t in Target.objects.filter(session=session, athlete=athlete)}


@pytest.mark.parametrize(("act", "way"), [("easier", -1), ("harder", 1)])
def test_one_dose_moves_by_about_a_tenth_and_the_athletes_page_shows_it(change, session, athlete, coach, act, way):
    before = figures(session, athlete)
    old = target_of(session, athlete, ROW)
    new = change(ROW, act)
    assert 0 < way * (new.dose - old.dose) <= 2
    assert (detail_of(new).by, detail_of(new).by_why) == ("The coach", f"{act} on the floor")
    after = figures(session, athlete)
    assert {s: after[s] for s in after if s != ROW} == {s: before[s] for s in before if s != ROW}
    assert f'<b class="figure">{new.dose:g}</b>' in phone_page(session, athlete)
    assert Pin.objects.get().made_by == coach


def test_the_same_tap_twice_changes_once(change, session, athlete, coach):
    tap = tap_on(target_of(session, athlete, ROW), "easier")
    doses = []
    for _ in range(3):
        dose_change(session=session, tap=tap, by=coach)
        doses.append(target_of(session, athlete, ROW).dose)
    assert doses == [easier(tap.basis[1], 1)] * 3
    assert Pin.objects.count() == 1


def test_a_tap_on_a_dose_that_somebody_changed_meanwhile_says_so_and_changes_nothing(session, athlete, coach, owner):
    seen = target_of(session, athlete, ROW)
    dose_change(session=session, tap=tap_on(seen, "harder"), by=owner)
    stands = target_of(session, athlete, ROW).dose
    with pytest.raises(ValidationError, match=r"The owner changed this dose meanwhile \(harder on the floor\)"):
        dose_change(session=session, tap=tap_on(seen, "easier"), by=coach)
    assert target_of(session, athlete, ROW).dose == stands
    assert Pin.objects.count() == 1


def test_undo_brings_back_what_was_published_and_again_changes_nothing(change, session, athlete, coach):
    before = figures(session, athlete)
    change(ROW, "easier")
    change(ROW, "easier")
    pin = Pin.objects.get(taken_off_at=None)
    undo = tap_on(target_of(session, athlete, ROW), "undo", pin=pin.key)
    for _ in range(2):
        dose_change(session=session, tap=undo, by=coach)
    assert figures(session, athlete) == before
    assert "set by hand" not in phone_page(session, athlete)


def test_undo_of_what_somebody_set_anew_is_refused(change, session, athlete, coach):
    change(ROW, "easier")
    first = Pin.objects.get()
    change(ROW, "easier")
    with pytest.raises(ValidationError, match="changed this dose meanwhile"):
        change(ROW, "undo", pin=first.key)
    with pytest.raises(ValidationError, match="meanwhile"):
        change(ROW, "undo", pin=uuid4())


def test_undo_of_what_was_set_before_publishing_says_what_to_do(furnished, coach):
    gym.people(1)
    week = gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7)
    athlete, planned = Athlete.objects.get(), week.sessions.get(weekday=today().weekday())
    row = planned.circuit.stations.get(position=ROW).options.get(rung=0)
    pin = Pin(session_key=planned.key, athlete=athlete, station=ROW, movement=row.movement, dose=3, reason="sore")
    pin_set(pin=pin, station=definition_of(planned.circuit).stations[ROW - 1])
    session = publish(week, coach).sessions.get(date=today())
    tap = tap_on(target_of(session, athlete, ROW), "undo", pin=pin.key)
    with pytest.raises(ValidationError, match="before the week was published"):
        dose_change(session=session, tap=tap, by=coach)


def test_swap_goes_down_the_ladder_with_a_dose_of_the_athletes_own_and_ends_in_rest(change, session, athlete):
    ladder = session.definition.stations[PULL_UPS - 1].options
    swapped = change(PULL_UPS, "swap")
    assert swapped.rung == 1
    assert 0 < swapped.dose <= ladder[1].dose
    assert "Ring row" in phone_page(session, athlete)
    assert change(PULL_UPS, "swap").rung == -1
    with pytest.raises(ValidationError, match="rest already"):
        change(PULL_UPS, "swap")
    assert change(SQUATS, "swap").rung == -1  # a ladder of one rung


def test_back_takes_one_tap_back_and_not_what_stood_there_before_it(change, session, athlete, coach):
    first = change(ROW, "easier")
    tapped = change(ROW, "easier")
    assert tapped.dose < first.dose
    pin = Pin.objects.standing().get()
    for _ in range(2):  # sent again
        assert change(ROW, "back", pin=pin.key).dose == first.dose
    change(ROW, "harder")
    with pytest.raises(ValidationError, match="changed this dose meanwhile"):
        change(ROW, "back", pin=Pin.objects.earliest("made_at").key)


def test_rest_is_one_tap_and_undone_by_one(change, session, athlete):
    before = target_of(session, athlete, PULL_UPS)
    rests = change(PULL_UPS, "rest")
    assert (rests.rung, rests.dose) == (-1, 0)
    with pytest.raises(ValidationError, match="rest already"):
        change(PULL_UPS, "rest")
    back = change(PULL_UPS, "undo", pin=Pin.objects.standing().get().key)
    assert (back.rung, back.dose) == (before.rung, before.dose)


def test_a_swap_gives_what_publishing_gives_at_that_rung(session, coach):
    """Somebody for whom the method itself swapped, against the same swap made by hand."""
    weak = Target.objects.filter(session=session, station=PULL_UPS, rung=1).first()
    assert weak, "nobody is swapped in this room"
    by_method = weak.dose
    hand = tap_on(weak, "harder")
    dose_change(session=session, tap=hand, by=coach)
    Target.objects.filter(pk=weak.pk).update(rung=0, dose=2)
    dose_change(session=session, tap=tap_on(Target.objects.get(pk=weak.pk), "swap"), by=coach)
    again = Target.objects.get(pk=weak.pk)
    assert (again.rung, again.dose) == (1, by_method)


def test_a_swap_passes_over_what_a_limitation_forbids(change, session, athlete):
    Limitation.objects.create(athlete=athlete, kind="body", patterns=["pull"], starts_on=today())
    assert change(PULL_UPS, "swap").rung == -1


def test_no_further_than_pins_may_go(change, session, athlete):
    Target.objects.filter(session=session, athlete=athlete, station=ROW).update(dose=45)
    with pytest.raises(ValidationError, match="does not go any harder"):
        change(ROW, "harder")
    Target.objects.filter(session=session, athlete=athlete, station=ROW).update(dose=1)
    with pytest.raises(ValidationError, match="does not go any easier"):
        change(ROW, "easier")
    assert not Pin.objects.exists()


def test_a_day_that_is_over_stays_as_it_was(change, session):
    PublishedSession.objects.filter(pk=session.pk).update(date=today() - timedelta(days=1))
    session.refresh_from_db()
    with pytest.raises(ValidationError, match="over"):
        change(ROW, "easier")


def test_a_change_survives_another_publication(change, session, athlete, coach):
    dose = change(ROW, "easier").dose
    again = publish(session.publication.week, coach).sessions.get(date=today())
    assert target_of(again, athlete, ROW).dose == dose


LOADS = {
    "name": "Loads",
    "interval_s": 60,
    "rotations": 3,
    "stations": [
        {
            "work_window_s": 40,
            "options": [
                {
                    "movement": "goblet-squat",
                    "dose_kind": "load_repetitions",
                    "dose": 8,
                    "load_kg": load,
                    "least_dose": 3,
                }
                for load in (40, 32, 16)
            ]
            + [{"movement": "ring-row", "dose_kind": "repetitions", "dose": 8}],
        }
    ],
}


def test_a_swap_among_loads_of_one_movement_always_asks_for_less_until_it_is_rest(furnished, coach):
    """An athlete whose own load lies between two that are written: no rung is asked for twice."""
    gym.people(1)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit(LOADS)] * 7), coach)
    session, athlete = week.sessions.get(date=today()), Athlete.objects.get()
    Target.objects.filter(session=session).update(rung=0, dose=8, load_kg=24)
    seen = []
    for _ in range(4):
        dose_change(session=session, tap=tap_on(target_of(session, athlete, 1), "swap"), by=coach)
        target = target_of(session, athlete, 1)
        seen.append((target.rung, target.load_kg))
        if target.rung == -1:
            break
    rungs, loads = [rung for rung, _ in seen], [load for _, load in seen if load]
    assert rungs == sorted(set(rungs[:-1])) + [-1]
    assert rungs[-2] == 3  # the last before the rest is another movement
    assert [24, *loads] == sorted({24, *loads}, reverse=True)
