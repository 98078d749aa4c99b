"""Who is used to much of what makes sore: asked where nothing is on record, answered once, taken back at will."""

import pytest
from django.urls import reverse

from athletes.models import Accustomed, Athlete, Movement
from sessions.room.accustomed import accustomed_say
from tests import gym
from tests.room.test_room import one_station, preview

HTMX = {"HX-Request": "true"}


@pytest.fixture
def ring_row(furnished) -> Movement:
    movement = Movement.objects.get(slug="ring-row")
    movement.high_eccentric, movement.introductory = True, 20
    movement.save()
    return movement


def room():
    return preview(one_station(movement="ring-row", dose_kind="repetitions", dose=15))


def test_the_room_is_asked_about_and_limits_nobody_until_answered(ring_row):
    athletes = gym.people(4)
    before = room()
    [question] = before.questions
    assert question.athletes
    assert "nothing on record for" in question.words
    asked = [athlete.pk for athlete in question.athletes]
    accustomed_say(movement=ring_row, asked=asked, used=[], by=None)
    after = room()
    assert after.questions == []
    assert [(a.movement, a.yes, a.no) for a in after.answers] == [(ring_row, 0, len(asked))]
    limited = [row.targets[0] for row in after.rows if row.athlete.pk in asked]
    assert all(target.dose * target.rounds <= 20 for target in limited)
    assert len(athletes) == len(after.rows)


def test_yes_for_all_limits_nobody(ring_row, coach_client, coach):
    gym.people(4)
    before = room()
    [question] = before.questions
    answer = reverse("sessions:accustomed", args=[ring_row.pk])
    sent = {"asked": question.asked, "everyone": "1"}
    assert coach_client.post(answer, sent, headers=HTMX).headers["HX-Trigger"] == "room-changed"
    assert Accustomed.objects.filter(accustomed=True, said_by=coach).count() == len(question.athletes)
    after = room()
    assert after.questions == []
    assert [t.dose for r in after.rows for t in r.targets] == [t.dose for r in before.rows for t in r.targets]


def test_the_chosen_ones_are_and_the_others_are_not(ring_row, coach_client):
    one, two, three = gym.people(3)
    answer = reverse("sessions:accustomed", args=[ring_row.pk])
    sent = {"asked": f"{one.pk},{two.pk}", "used": [two.pk], "chosen": "1"}
    assert coach_client.post(answer, sent).status_code == 302
    said = dict(Accustomed.objects.values_list("athlete_id", "accustomed"))
    assert said == {one.pk: False, two.pk: True}
    page = coach_client.get(answer).content.decode()
    assert "is not used to it" in page
    assert three.name not in page


def test_an_answer_sent_twice_is_one_and_keeps_who_gave_it_and_when(ring_row, coach, owner):
    [athlete] = gym.people(1)
    accustomed_say(movement=ring_row, asked=[athlete.pk], used=[athlete.pk], by=coach)
    first = Accustomed.objects.get()
    accustomed_say(movement=ring_row, asked=[athlete.pk], used=[athlete.pk], by=owner)
    again = Accustomed.objects.get()
    assert (again.said_by, again.said_at) == (coach, first.said_at)
    accustomed_say(movement=ring_row, asked=[athlete.pk], used=[], by=owner)
    changed = Accustomed.objects.get()
    assert (changed.accustomed, changed.said_by) == (False, owner)


def test_an_answer_can_be_taken_back_and_the_room_asks_again(ring_row, coach_client):
    gym.people(4)
    [question] = room().questions
    answer = reverse("sessions:accustomed", args=[ring_row.pk])
    coach_client.post(answer, {"asked": question.asked, "everyone": "1"})
    for _ in range(2):
        assert coach_client.post(answer, {"asked": question.asked, "take_back": "1"}).status_code in (302, 422)
    assert not Accustomed.objects.exists()
    assert room().questions


@pytest.mark.parametrize("sent", [{}, {"asked": ""}, {"asked": "0,999999999999999,x"}, {"asked": "²"}])
def test_an_answer_about_nobody_is_refused_in_words(ring_row, coach_client, sent):
    page = coach_client.post(reverse("sessions:accustomed", args=[ring_row.pk]), {"everyone": "1", **sent})
    assert page.status_code == 422
    assert not Accustomed.objects.exists()


def test_only_coaches_answer(ring_row, staff_client):
    [athlete] = gym.people(1)
    sent = {"asked": str(athlete.pk), "everyone": "1"}
    assert staff_client.post(reverse("sessions:accustomed", args=[ring_row.pk]), sent).status_code == 403
    assert Athlete.objects.count() == 1
    assert not Accustomed.objects.exists()
