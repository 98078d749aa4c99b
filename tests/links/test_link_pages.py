from datetime import UTC, datetime

from athletes.links.read import athlete_for_token
from athletes.links.write import link_issue, link_revoke
from athletes.models import Link


def test_a_new_link_stops_the_earlier_one(staff_client, make_athlete):
    athlete = make_athlete()
    old = link_issue(athlete=athlete, by=None)
    staff_client.post(f"/athletes/{athlete.pk}/link/")
    new = Link.objects.get(revoked_at=None)
    assert athlete_for_token(old.token) is None
    assert athlete_for_token(new.token) == athlete


def test_revoking_leaves_none(staff_client, make_athlete):
    athlete = make_athlete()
    link = link_issue(athlete=athlete, by=None)
    page = staff_client.post(f"/athletes/{athlete.pk}/link/revoke/", follow=True).content.decode()
    assert athlete_for_token(link.token) is None
    assert "no longer opens anything" in page
    assert "Make a link" in page


def test_links_change_by_post_only(staff_client, make_athlete):
    athlete = make_athlete()
    for path in ("link/", "link/revoke/"):
        assert staff_client.get(f"/athletes/{athlete.pk}/{path}").status_code == 405


def test_the_roster_has_one_code_for_each_active_athlete(staff_client, make_athlete):
    ada, ben = make_athlete("Ada Stone"), make_athlete("Ben Hill")
    cleo = make_athlete("Cleo Marsh", active=False)
    for athlete in (ada, cleo):
        link_issue(athlete=athlete, by=None)
    page = staff_client.get("/athletes/roster/").content.decode()
    assert page.count("<svg") == 1
    assert "1 athlete has no link" in page
    page = staff_client.post("/athletes/roster/", follow=True).content.decode()
    assert "1 new link is made." in page
    assert page.count("<svg") == 2
    assert ben.links.exists()


def test_making_missing_links_does_not_bring_back_a_revoked_one(staff_client, make_athlete):
    athlete = make_athlete()
    link_issue(athlete=athlete, by=None)
    link_revoke(athlete=athlete, by=None)
    staff_client.post("/athletes/roster/")
    assert not Link.objects.filter(revoked_at=None).exists()


def test_an_empty_roster_says_what_to_do(staff_client):
    assert "no code to print" in staff_client.get("/athletes/roster/").content.decode()


def test_queries_of_the_roster_do_not_grow(staff_client, make_athlete, django_assert_max_num_queries, gym_row):
    for number in range(9):
        link_issue(athlete=make_athlete(f"Athlete {number}"), by=None)
    with django_assert_max_num_queries(6):
        staff_client.get("/athletes/roster/")


def test_the_screen_has_one_link(coach_client, settings):
    settings.SITE_URL = "https://gym.example"
    assert "Make the screen's link" in coach_client.get("/gym/screen/").content.decode().replace("&#x27;", "'")
    coach_client.post("/gym/screen/")
    page = coach_client.post("/gym/screen/", follow=True).content.decode()
    link = Link.objects.get(kind="screen", revoked_at=None)
    assert f"https://gym.example/wall/{link.token}/" in page


def test_staff_may_not_make_the_screens_link(staff_client):
    assert staff_client.post("/gym/screen/").status_code == 403
    assert not Link.objects.exists()


def test_the_day_a_link_was_made_is_the_gyms_own(staff_client, make_athlete, gym_row):
    type(gym_row).objects.update(time_zone="Pacific/Kiritimati")  # 14 hours ahead of UTC
    athlete = make_athlete()
    link_issue(athlete=athlete, by=None)
    Link.objects.update(created_at=datetime(2001, 5, 1, 20, tzinfo=UTC))
    assert "Made 2 May 2001." in staff_client.get(f"/athletes/{athlete.pk}/").content.decode()
