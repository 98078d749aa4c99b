"""Writing a circuit as text: read, kept as a draft, saved once, never over somebody else's."""

import re
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete, Movement
from sessions.circuits.drafts import draft_keep, drafts_of
from sessions.circuits.page import plan_page, text_now
from sessions.circuits.read import with_stations
from sessions.models import Circuit, CircuitDraft, Pin
from sessions.room.views import PLAN_FIRST
from tests import gym
from tests.conftest import client_of

SHEET = (
    "name: Ebb\nevery minute, 27 min\n12-14 cal row\n5-7 strict pull-ups, or 11 ring rows\n10 goblet squats at 24 kg"
)


def sent(text: str = SHEET, **more) -> dict:
    return {"text": text, "mode": "text", "key": str(uuid4()), **more}


def saved() -> Circuit:
    return with_stations(Circuit.objects.all()).get()


def test_text_is_saved_and_stays_as_it_was_typed(furnished, coach_client):
    assert coach_client.post("/circuits/new/", sent()).status_code == 302
    circuit = saved()
    assert (circuit.name, circuit.rotations, circuit.stations.count()) == ("Ebb", 9, 3)
    assert "5-7 strict pull-ups, or 11 ring rows" in coach_client.get(f"/circuits/{circuit.pk}/").content.decode()


def test_text_gives_way_to_what_is_saved_once_fields_or_the_api_changed_it(furnished, coach_client):
    coach_client.post("/circuits/new/", sent())
    Circuit.objects.update(rotations=4)
    assert "every minute, 4 rounds" in text_now(saved())


def test_a_circuit_without_a_name_is_named_after_its_stations(furnished, coach_client):
    coach_client.post("/circuits/new/", sent("12 cal row\n5 pull-ups"))
    assert saved().name == "Row · Pull up"


def test_what_is_in_the_way_is_said_under_its_line_and_nothing_is_lost(furnished, coach_client):
    page = coach_client.post("/circuits/new/", sent("12 cal row\n10 log hops\n18 pull-ups in 90 s"))
    text = page.content.decode()
    assert page.status_code == 422
    assert "10 log hops\n18 pull-ups in 90 s" in text
    assert "No “log hops” here yet." in text
    assert not Circuit.objects.exists()


def test_words_that_are_not_understood_are_named_when_the_rest_is_saved(furnished, coach_client):
    page = coach_client.post("/circuits/new/", sent("name: Ebb\n12 cal row\nhave fun"), follow=True).content.decode()
    assert "Ebb is saved. Not understood, and kept in the text only: have fun." in page
    assert "have fun" in saved().text


@pytest.mark.parametrize(
    ("first", "kept"),
    [
        ("4 rounds for time, cap 20 min", ("for_time", 1200, 4)),
        ("4 rounds for time", ("for_time", 1800, 4)),  # the cap that is taken is said
        ("as many rounds as fit in 12 min", ("as_many", 720, 1)),
    ],
)
def test_a_circuit_off_the_clock_is_typed_shown_and_saved(furnished, coach_client, first, kept):
    gym.people(2)
    text = f"{first}\n200 m row\n10 pull-ups"
    reading = coach_client.post("/circuits/reading/", sent(text)).content.decode()
    assert f"{kept[1] // 60} min" in reading
    assert "expect" in coach_client.post("/circuits/preview/", sent(text)).content.decode()
    assert coach_client.post("/circuits/new/", sent(text)).status_code == 302
    circuit = saved()
    assert (circuit.format, circuit.limit_s, circuit.rotations) == kept
    assert first in coach_client.get(f"/circuits/{circuit.pk}/").content.decode()


def test_the_reading_answers_line_by_line(furnished, coach_client):
    page = coach_client.post(
        "/circuits/reading/", sent("every minute, 27 min\n12 cal rwo\n10 log hops")
    ).content.decode()
    assert page.count("data-line=") == 3
    assert "2 stations × 13 rounds, a minute each" in page
    assert '<mark class="is-guessed">rwo</mark>' in page
    assert 'data-make="log hops"' in page


def test_fields_and_text_stay_in_step(furnished, coach_client):
    fields = coach_client.post("/circuits/fields/", sent()).content.decode().split("<template")[0]
    assert 'name="stations.1.options.1.movement"' in fields
    values = dict(re.findall(r'name="([\w.]+)" value="([^"]*)"', fields))
    chosen = re.findall(r'<select id="[\w.]+" name="([\w.]+)"[^>]*>(.*?)</select>', fields, re.S)
    values |= {name: re.search(r'value="([^"]*)"[^>]* selected', inside, re.S)[1] for name, inside in chosen}
    values |= {"mode": "fields", "partners": "1", "scaling": "dose", "rotations": "5"}
    page = coach_client.post("/circuits/reading/", values).content.decode()
    assert "every minute, 5 rounds" in page
    assert "5-7 Pull up, or 11 Ring row" in page


@pytest.mark.parametrize("cap", ["90.5", "-60", "1e3", "nan", "soon", "²"])
@pytest.mark.parametrize("form", ["for_time", "as_many"])
def test_a_cap_that_is_no_whole_number_stays_as_it_was_typed(furnished, coach_client, cap, form):
    values = {"mode": "fields", "name": "Ebb", "format": form, "limit_s": cap, "interval_s": "60", "rotations": "3"}
    values |= {"key": str(uuid4()), "stations.0.work_window_s": "40", "stations.0.options.0.movement": "row"}
    values |= {"stations.0.options.0.dose_kind": "kcal", "stations.0.options.0.dose": "12"}
    assert f"{cap} s" in coach_client.post("/circuits/reading/", values).content.decode()
    assert coach_client.post("/circuits/draft/", values).status_code == 200
    assert coach_client.post("/circuits/new/", values).status_code == 422
    assert f"{cap} s" in CircuitDraft.objects.get().text


def test_rounds_that_do_not_come_out_even_offer_both_neighbours(furnished, coach_client):
    page = coach_client.post("/circuits/reading/", sent("every minute, 25 min\n12 cal row\n5 pull-ups\n9 ring rows"))
    assert re.findall(r'data-offer="(\d+ min)"', page.content.decode()) == ["24 min", "27 min"]


# --- two at once ---


def test_the_second_save_is_refused_and_shows_both(furnished, coach_client, make_account):
    coach_client.post("/circuits/new/", sent())
    circuit = saved()
    other = client_of(make_account("coach", username="other"))
    page = f"/circuits/{circuit.pk}/"
    first = {**sent(SHEET.replace("27 min", "18 min")), "version": "1"}
    assert coach_client.post(page, first).status_code == 302
    mine = sent(SHEET.replace("12-14 cal row", "10 cal row"), version="1")
    refused = other.post(page, mine)
    text = refused.content.decode()
    assert refused.status_code == 409
    assert "every minute, 18 min</li>" in text  # each as it was written, not as we would write it
    assert "10 cal row</li>" in text
    assert saved().rotations == 6
    assert CircuitDraft.objects.get().text == mine["text"]  # nothing is lost, whatever is chosen
    assert other.post(page, {**mine, "version": "2"}).status_code == 302
    assert saved().rotations == 9
    assert not CircuitDraft.objects.exists()


def test_mine_can_become_a_circuit_of_its_own(furnished, coach_client):
    coach_client.post("/circuits/new/", sent())
    page = f"/circuits/{saved().pk}/"
    coach_client.post(page, sent(version="2", as_new="1"))
    assert Circuit.objects.count() == 2


def test_the_same_save_twice_is_one(furnished, coach_client):
    coach_client.post("/circuits/new/", sent())
    change = sent(SHEET.replace("27 min", "18 min"), version="1")
    page = f"/circuits/{saved().pk}/"
    assert [coach_client.post(page, change).status_code for _ in range(2)] == [302, 302]
    assert saved().version == 2


def test_words_that_only_the_text_has_are_kept_when_the_same_was_saved_since(furnished, coach_client):
    new = sent()
    coach_client.post("/circuits/new/", new)
    more = f"{SHEET}\nhave fun"
    coach_client.post("/circuits/new/", {**new, "text": more})
    assert saved().text == more
    page, other = f"/circuits/{saved().pk}/", f"{SHEET}\nand smile"
    assert coach_client.post(page, sent(other, version="1")).status_code == 302
    assert (saved().text, saved().version) == (other, 3)


def test_the_api_refuses_an_old_version_with_both(furnished, coach_client):
    circuit = gym.circuit()
    address = f"/api/v1/circuits/{circuit.pk}/"
    change = {**gym.DOCUMENT, "rotations": 6, "version": 1}
    assert coach_client.put(address, change, content_type="application/json").json()["version"] == 2
    late = coach_client.put(address, {**change, "rotations": 7}, content_type="application/json")
    assert late.status_code == 409
    assert (late.json()["kept"]["rotations"], late.json()["sent"]["rotations"]) == (6, 7)
    without = {name: value for name, value in change.items() if name != "version"}
    assert coach_client.put(address, without, content_type="application/json").status_code == 200


# --- drafts ---


def test_what_is_half_written_is_kept_found_again_and_thrown_away_with_undo(furnished, coach, coach_client):
    key = str(uuid4())
    answer = coach_client.post("/circuits/draft/", sent("12 cal row\n10 log h", key=key)).json()
    coach_client.post("/circuits/draft/", sent("12 cal row\n10 log hops", key=key))
    assert CircuitDraft.objects.count() == 1
    assert "10 log hops" in coach_client.get(answer["page"]).content.decode()
    assert "Your drafts" in coach_client.get("/circuits/").content.decode()
    away = f"/circuits/drafts/{key}/away/"
    page = coach_client.post(away, follow=True).content.decode()
    assert "Undo" in page
    assert not drafts_of(coach).exists()
    coach_client.post(away, {"restore": "1"})
    assert drafts_of(coach).get().text.endswith("log hops")


def test_a_draft_is_its_writers_alone(furnished, coach, coach_client, make_account):
    key = uuid4()
    draft_keep(account=coach, key=key, text="12 cal row", circuit=None, version=0)
    other = client_of(make_account("coach", username="other"))
    assert other.get(f"/circuits/new/?draft={key}").status_code == 404
    assert other.post(f"/circuits/drafts/{key}/away/").status_code == 404
    refused = other.post("/circuits/draft/", sent("stolen", key=str(key)))
    assert (refused.status_code, "another account" in refused.json()["says"]) == (422, True)
    assert CircuitDraft.objects.get().text == "12 cal row"


def test_a_half_made_change_waits_at_its_circuit_and_saving_ends_it(furnished, coach, coach_client):
    circuit = gym.circuit()
    page = f"/circuits/{circuit.pk}/"
    mine = sent("name: Mill race\n9 cal row", of=str(circuit.pk), version="1")
    coach_client.post("/circuits/draft/", mine)
    assert "9 cal row" in coach_client.get(page).content.decode()
    assert "9 cal row" not in coach_client.get(f"{page}?saved").content.decode()
    coach_client.post(page, mine)
    assert not CircuitDraft.objects.exists()
    late = coach_client.post("/circuits/draft/", {**mine, "text": "name: Mill race\n9 cal r"})
    assert (late.status_code, "saved since" in late.json()["says"]) == (422, True)
    assert not CircuitDraft.objects.exists()


def test_a_draft_that_comes_after_its_page_was_saved_is_refused(furnished, coach_client):
    new = sent()
    coach_client.post("/circuits/new/", new)
    late = coach_client.post("/circuits/draft/", new)
    assert (late.status_code, "saved already" in late.json()["says"]) == (422, True)
    assert not CircuitDraft.objects.exists()


def test_going_on_from_the_saved_version_leaves_my_draft_and_shows_what_i_saved(furnished, coach_client):
    circuit = gym.circuit()
    page = f"/circuits/{circuit.pk}/"
    mine = sent("name: Mill race\n9 cal row", of=str(circuit.pk), version="1")
    coach_client.post("/circuits/draft/", mine)
    answer = coach_client.post(page, sent("name: Mill race\n7 cal row", version="1"), follow=True).content.decode()
    assert "7 cal row" in answer
    assert CircuitDraft.objects.get().text == mine["text"]
    assert coach_client.post("/circuits/draft/", {**mine, "text": "9 cal row"}).status_code == 200  # and goes on


def test_typing_that_is_undone_is_no_draft(furnished, coach, coach_client):
    circuit = with_stations(Circuit.objects.filter(pk=gym.circuit().pk)).get()
    mine = sent("9 cal row", of=str(circuit.pk), version="1")
    coach_client.post("/circuits/draft/", mine)
    assert drafts_of(coach).count() == 1
    undone = coach_client.post("/circuits/draft/", {**mine, "text": text_now(circuit)})
    assert (undone.status_code, undone.json()["says"]) == (200, "As it is saved")
    assert not drafts_of(coach).exists()


@pytest.mark.parametrize("rest", ["\n5 pull-ups" * 400, "\nnote: " + "x" * 10_000])
def test_a_text_that_is_too_long_is_said_and_neither_kept_nor_saved(furnished, coach_client, rest):
    long = sent(f"name: Ebb\n12 cal row{rest}")
    assert (
        "This is not read. A circuit has at most 400" in coach_client.post("/circuits/reading/", long).content.decode()
    )
    assert "at most 400 lines" in coach_client.post("/circuits/draft/", long).json()["says"]
    page = coach_client.post("/circuits/new/", long)
    assert (page.status_code, "at most 400 lines" in page.content.decode()) == (422, True)
    assert not Circuit.objects.exists()


def test_an_archived_circuit_comes_back_by_undo(furnished, coach_client):
    circuit = gym.circuit()
    page = coach_client.post(f"/circuits/{circuit.pk}/archive/", follow=True).content.decode()
    [address] = re.findall(r'action="([^"]+)" class="undo"', page)
    assert "Undo" in page
    coach_client.post(address, {"restore": "1"})
    assert not Circuit.objects.get().archived


@pytest.mark.parametrize("name", ["Wasserfall " * 18, "水車小屋のサーキット" * 20, "דער לאַנגער נאָמען " * 10])
def test_long_names_in_any_script_are_kept(furnished, coach_client, name):
    coach_client.post("/circuits/new/", sent(f"name: {name[:200].strip()}\n12 cal row"))
    assert Circuit.objects.get().name == name[:200].strip()
    for page in ("/circuits/", f"/circuits/{saved().pk}/"):
        assert coach_client.get(page).status_code == 200


# --- by hand, several at once ---


@pytest.fixture
def planned(furnished):
    gym.people(5)
    return gym.planned_week().sessions.get()


def hand(planned, athletes, **more) -> dict:
    fields = {"key": str(uuid4()), "athletes": ",".join(str(a.pk) for a in athletes), "station": "1"}
    return {**fields, "rung": "0", "dose": "9", "reason": "long week", **more}


def test_several_are_set_by_hand_at_once_and_taken_back_at_once(planned, coach_client):
    some = Athlete.objects.all()[:3]
    address = reverse("sessions:pins-many", args=[planned.key])
    fields = hand(planned, some)
    answer = coach_client.post(address, fields).json()
    coach_client.post(address, fields)
    assert answer["says"] == "Station 1 is set by hand for 3 athletes."
    assert Pin.objects.standing().count() == 3
    coach_client.post(answer["undo"], {"pins": answer["pins"]})
    assert not Pin.objects.standing().exists()


def test_by_hand_all_or_nobody(planned, coach_client, staff_client):
    address = reverse("sessions:pins-many", args=[planned.key])
    some = Athlete.objects.all()[:3]
    assert coach_client.post(address, hand(planned, some, dose="900")).status_code == 422
    assert coach_client.post(address, hand(planned, some, reason="")).status_code == 422
    assert coach_client.post(address, hand(planned, [])).status_code == 422
    assert coach_client.post(address, hand(planned, some, station="9")).status_code == 404
    assert staff_client.post(address, hand(planned, some)).status_code == 403
    assert not Pin.objects.exists()


def test_the_preview_is_for_the_day_the_circuit_is_planned_for(planned, coach_client):
    circuit = with_stations(Circuit.objects.all()).get()
    of = {"of": str(circuit.pk), "intent": "planned", "mode": "text", "text": text_now(circuit)}
    page = coach_client.post("/circuits/preview/", of).content.decode()
    assert f"for {planned.date:%a} {planned.date.day} {planned.date:%b}" in page
    assert f'"key": "{planned.key}"' in page
    changed = coach_client.post("/circuits/preview/", {**of, "text": of["text"] + "\n5 pull-ups"}).content.decode()
    assert "save this circuit first" in changed
    fresh = coach_client.post("/circuits/preview/", {"text": "12 cal row", "mode": "text"}).content.decode()
    assert "plan this circuit in a week first" in fresh
    assert planned.date >= today()


def test_what_is_meant_stands_above_the_room_and_no_query_comes_with_athletes(furnished, coach_client):
    counts = []
    for more in (2, 30):
        gym.people(more)
        with CaptureQueriesContext(connection) as queries:
            page = coach_client.post("/circuits/preview/", sent(f"{SHEET}\nhard; sets unbroken")).content.decode()
        counts.append(len(queries))
    assert "hard; sets unbroken" in page
    assert counts[0] == counts[1]


def test_a_movement_made_in_place_works_at_once_in_the_preview(furnished, coach_client):
    gym.people(3)
    text = sent("12 cal row\n10 log hops")
    assert "the movement" in coach_client.post("/circuits/preview/", text).content.decode()
    coach_client.post("/movements/make/", {"name": "Log hop", "dose_kind": "repetitions"})
    assert "Log hop" in coach_client.post("/circuits/preview/", text).content.decode()
    assert Movement.objects.filter(slug="log-hop").exists()


def test_a_saved_circuit_is_one_step_from_a_day(furnished, coach_client):
    coach_client.post("/circuits/new/", sent())
    page = coach_client.get(f"/circuits/{saved().pk}/").content.decode()
    [address] = re.findall(r'href="(/weeks/[^"]+)"[^>]*>Plan it', page)
    form = coach_client.get(address)
    assert form.context["form"].initial["circuit"] == str(saved().pk)
    assert form.context["monday"] > today()
    assert "Plan it" not in coach_client.get("/circuits/new/").content.decode()


def test_the_room_leads_to_where_it_can_be_planned(furnished, coach_client):
    gym.people(2)
    coach_client.post("/circuits/new/", sent())
    asked = {**sent(), "of": str(saved().pk), "intent": "hard"}
    panel = coach_client.post("/circuits/preview/", asked).context["panel"]
    assert (panel["noHand"], panel["plan"]) == (PLAN_FIRST, plan_page(saved()))
    other = {**asked, "text": f"{SHEET}\n5 pull-ups"}
    assert coach_client.post("/circuits/preview/", other).context["panel"]["plan"] == ""  # is to be saved first
