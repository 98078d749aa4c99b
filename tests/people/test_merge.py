"""Two athletes who are one: found, made one with everything that rests on them, and parted again."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.importing.write import import_begin, import_check, import_keep
from athletes.links.read import athlete_for_calendar, athlete_for_token
from athletes.links.write import link_issue
from athletes.models import Athlete, Effort, Estimate, Limitation, Merge
from athletes.people.doubles import alike, doubles
from athletes.people.merge import athletes_merge, merge_undo
from sessions.models import PersonalPage, Target
from tests import gym
from tests.conftest import publish


@pytest.fixture
def two(furnished, coach) -> tuple[Athlete, Athlete]:
    """One person twice, both in a live week, each with a link; the second with what the first lacks."""
    keep, gone, _ = gym.people(3)
    Athlete.objects.filter(pk=keep.pk).update(name="Nora Holtvarg", board_name="Nora", body_mass_kg=None)
    Athlete.objects.filter(pk=gone.pk).update(name="Holtvarg Nóra", board_name="Nora H.", note="Left-handed.")
    estimates_refresh()
    for athlete in (keep, gone):
        athlete.refresh_from_db()
        link_issue(athlete=athlete, by=coach)
    publish(gym.planned_week(gym.this_monday()), coach)
    Limitation.objects.create(athlete=gone, kind="body", patterns=["pull"], starts_on=today())
    return keep, gone


def state() -> list:
    """All that rests on athletes, but for estimates, which are made anew."""
    rows = [list(model.objects.order_by("pk").values_list("pk", "athlete")) for model in (Effort, Target, PersonalPage)]
    people = Athlete.objects.order_by("pk").values_list("pk", "name", "board_name", "active", "body_mass_kg", "note")
    return [*rows, list(people), list(Limitation.objects.values_list("pk", "athlete"))]


def estimates() -> list:
    return list(Estimate.objects.order_by("athlete", "engine", "movement").values_list("athlete", "engine", "mean"))


def test_efforts_targets_and_facts_go_along_and_come_back_as_they_were(two, coach):
    keep, gone = two
    estimates_refresh(athletes=[keep.pk, gone.pk])
    before, known = state(), estimates()
    merge = athletes_merge(keep=keep, gone=gone, by=coach)
    keep.refresh_from_db()
    assert (keep.efforts.count(), keep.limitations.count()) == (4, 1)
    assert (keep.body_mass_kg, keep.note) == (61.0, "Left-handed.")
    assert not Athlete.objects.filter(pk=gone.pk).exists()
    row = Estimate.objects.get(athlete=keep, engine="row")
    assert len(row.efforts) == 2
    for _ in range(2):
        merge_undo(merge=merge, by=coach)
    assert state() == before
    assert estimates() == known


def test_what_both_have_and_one_can_stays_and_nothing_is_lost(two, coach):
    keep, gone = two
    both = Target.objects.filter(athlete__in=[keep, gone]).count()
    athletes_merge(keep=keep, gone=gone, by=coach)
    assert Target.objects.filter(athlete__in=[keep.pk, gone.pk]).count() == both
    assert Target.objects.filter(athlete=keep).exists()


def test_either_link_opens_the_same_phone(two, coach):
    keep, gone = two
    tokens = [athlete.links.get().token for athlete in two]
    athletes_merge(keep=keep, gone=gone, by=coach)
    assert [athlete_for_token(token) for token in tokens] == [keep, keep]


def test_the_old_name_is_known_to_imports(two, coach):
    keep, gone = two
    athletes_merge(keep=keep, gone=gone, by=coach)
    file = "Athlete;2k row;Date\nHoltvarg Nóra;7:20;2025-11-03\nNora Holtvarg;7:21;2025-11-04\n"
    source = import_begin(key=uuid4(), filename="a.csv", content=file.encode(), by=coach)
    import_check(source=source)
    import_keep(source=source, create_athletes=True)
    assert set(Effort.objects.filter(import_key=source.key).values_list("athlete", flat=True)) == {keep.pk}


def test_after_a_day_it_stays(two, coach):
    merge = athletes_merge(keep=two[0], gone=two[1], by=coach)
    Merge.objects.update(made_at=timezone.now() - timedelta(days=1, minutes=1))
    with pytest.raises(ValidationError, match="more than a day ago"):
        merge_undo(merge=merge, by=coach)


@pytest.mark.parametrize("again", [True, False])
def test_who_is_merged_is_nobody_to_merge(two, coach, again):
    keep, gone = two
    athletes_merge(keep=keep, gone=gone, by=coach)
    with pytest.raises(ValidationError):
        athletes_merge(keep=keep, gone=gone if again else keep, by=coach)


def test_the_next_week_is_published_for_one(two, coach):
    keep, gone = two
    athletes_merge(keep=keep, gone=gone, by=coach)
    publication = publish(gym.planned_week(), coach)
    assert set(publication.targets.values_list("athlete", flat=True)) == set(
        Athlete.objects.values_list("pk", flat=True)
    )
    assert gone.pk not in publication.targets.values_list("athlete", flat=True)


def test_names_in_another_order_or_with_a_slip_are_alike(two):
    keep, gone = two
    assert alike("Holtvarg, Nora") == [keep, gone]
    assert set(alike("Nora Holtvrag")) == {keep, gone}
    assert alike("Nora Hill") == []
    assert {frozenset(pair) for pair in doubles()} >= {frozenset(two)}
    assert all(first.pk < second.pk for first, second in doubles())  # who has been here for longer is offered to stay


def test_the_pages_lead_there_and_back(two, coach_client, staff_client):
    keep, gone = two
    assert "Look at both" in coach_client.get("/athletes/doubles/").content.decode()
    first, second = doubles()[0]
    page = coach_client.get(f"/athletes/{first.pk}/merge/", {"gone": second.pk}).content.decode()
    assert f'href="/athletes/{second.pk}/merge/?gone={first.pk}">Keep {second} instead' in page
    assert f"/athletes/{keep.pk}/merge/?gone={gone.pk}" in coach_client.get(f"/athletes/{keep.pk}/").content.decode()
    page = coach_client.get(f"/athletes/{keep.pk}/merge/", {"gone": gone.pk}).content.decode()
    assert page.count("2 efforts") == 2
    assert staff_client.post(f"/athletes/{keep.pk}/merge/", {"gone": gone.pk}).status_code == 403
    page = coach_client.post(f"/athletes/{keep.pk}/merge/", {"gone": gone.pk}, follow=True).content.decode()
    assert "was found to be Nora Holtvarg" in page
    assert coach_client.get(f"/athletes/{gone.pk}/").status_code == 404
    page = coach_client.post(f"/athletes/merges/{Merge.objects.get().pk}/undo/", follow=True).content.decode()
    assert "is an athlete again" in page
    assert coach_client.get(f"/athletes/{gone.pk}/").status_code == 200


def test_someone_who_is_here_already_is_noticed_when_they_are_added(two, staff_client):
    page = staff_client.post("/athletes/new/", {"name": "nora holtvarg", "load_unit": "kg", "board_name": "No"})
    assert "Is this somebody who is here already?" in page.content.decode()
    sent = {"name": "nora holtvarg", "load_unit": "kg", "board_name": "No", "another": "on", "active": "on"}
    assert staff_client.post("/athletes/new/", sent).status_code == 302


def test_the_calendar_of_who_was_merged_goes_on(two, coach):
    keep, gone = two
    token = gone.links.get(revoked_at=None).calendar_token
    athletes_merge(keep=keep, gone=gone, by=coach)
    assert athlete_for_calendar(token) == keep


def test_undoing_a_merge_leaves_an_earlier_one_with_whom_it_was_made(two, coach):
    middle, first = two
    last = Athlete.objects.exclude(pk__in=[middle.pk, first.pk]).get()
    athletes_merge(keep=middle, gone=first, by=coach)
    later = athletes_merge(keep=last, gone=middle, by=coach)
    assert Athlete.everyone.get(pk=first.pk).merged_into == last
    merge_undo(merge=later, by=coach)
    assert Athlete.everyone.get(pk=first.pk).merged_into_id == middle.pk


def test_who_has_left_since_a_merge_stays_away_when_it_is_undone(two, coach):
    keep, gone = two
    merge = athletes_merge(keep=keep, gone=gone, by=coach)
    Athlete.objects.filter(pk=keep.pk).update(active=False)
    merge_undo(merge=merge, by=coach)
    assert not Athlete.objects.get(pk=keep.pk).active
