"""Targets and logs as files, and everything about one athlete for that athlete."""

import io
import json
import zipfile

import pytest
from django.utils import timezone

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Limitation
from sessions.models import Attendance, Log, LogEntry, Target
from tests import gym
from tests.conftest import publish


def content(answer) -> bytes:
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


@pytest.fixture
def logged(live_week) -> Log:
    session = live_week.sessions.get()
    athlete = live_week.targets.first().athlete
    log = Log.objects.create(
        key="6f1d3c0e-4c43-4c0b-9f0a-2f6f1d7a8e51", athlete=athlete, session=session, session_key=session.key,
        date=session.date, rpe=7, source="phone", done_at=timezone.now(), note="<b>fine</b>",
    )  # fmt: skip
    entry = {"movement": gym.Movement.objects.get(slug="row"), "asked_rounds": 5, "asked_dose": 11}
    LogEntry.objects.create(log=log, station=1, rounds=4, dose=11, **entry)
    Attendance.objects.create(athlete=athlete, session_key=session.key, date=session.date, hour="06:00")
    return log


def test_targets_go_out_as_published(coach_client, live_week):
    rows = json.loads(content(coach_client.get("/athletes/sessions/export/targets.json")))
    kept = live_week.targets.order_by("session__date", "session_id", "athlete_id", "station")
    assert [(row["athlete"], row["station"], row["hold [W, runs m/s]"]) for row in rows] == list(
        kept.values_list("athlete__name", "station", "hold")
    )
    assert {row["movement"] for row in rows} >= {"Row", "Goblet squat"}
    assert {row["unit"] for row in rows} == {"kcal", "repetitions"}


def test_only_what_is_live_goes_out(coach_client, coach, live_week):
    publish(live_week.week, coach)
    rows = json.loads(content(coach_client.get("/athletes/sessions/export/targets.json")))
    assert {row["revision"] for row in rows} == {2}
    assert len(rows) == Target.objects.count() / 2


def test_logs_go_out(coach_client, logged):
    [row] = json.loads(content(coach_client.get("/athletes/sessions/export/logs.json")))
    assert (row["movement"], row["rounds"], row["done in a round"], row["RPE"]) == ("Row", 4, 11, 7)


def test_queries_do_not_grow_with_sessions_and_athletes(coach_client, coach, furnished, django_assert_num_queries):
    gym.people(6)
    for weeks in (0, 1):
        publish(gym.planned_week(gym.this_monday() + gym.timedelta(days=7 * weeks), *[gym.circuit()] * 4), coach)
    with django_assert_num_queries(7):  # with the entry of who took it
        content(coach_client.get("/athletes/sessions/export/targets.json"))


@pytest.mark.parametrize("path", ["pins.csv", "targets.pdf"])
def test_nothing_else_goes_out(coach_client, db, path):
    assert coach_client.get(f"/athletes/sessions/export/{path}").status_code == 404


@pytest.fixture
def everything(coach_client, logged) -> dict[str, bytes]:
    Limitation.objects.create(
        athlete=logged.athlete, kind="body", patterns=["pull"], starts_on=today(), note="Spare it."
    )
    link_issue(athlete=logged.athlete, by=None)
    answer = coach_client.get(f"/athletes/{logged.athlete_id}/everything.zip")
    with zipfile.ZipFile(io.BytesIO(content(answer))) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_everything_about_one_athlete_is_one_file(everything, logged):
    athlete = logged.athlete
    counts = {
        "efforts": athlete.efforts.count(), "estimates": athlete.estimates.count(), "limitations": 1, "logs": 1,
        "targets": athlete.targets.count(), "attendance": 1, "athletes": 1, "personal-links": 1, "sessions-logged": 1,
        "targets-set-by-hand": 0, "cautions-set-aside": 0, "evidence-from-logs": athlete.evidence.count(),
    }  # fmt: skip
    assert {name: len(json.loads(everything[f"{name}.json"])) for name in counts} == counts
    assert {name for name in everything if name.endswith(".csv")} == {f"{name}.csv" for name in counts}
    assert json.loads(everything["limitations.json"])[0]["note"] == "Spare it."
    assert json.loads(everything["athletes.json"])[0]["body mass [kg]"] == athlete.body_mass_kg


def test_the_page_to_read_holds_it_too_and_runs_nothing(everything, logged):
    page = everything["everything.html"].decode()
    assert f"Everything kept about {logged.athlete}" in page
    assert "Spare it." in page
    assert "&lt;b&gt;fine&lt;/b&gt;" in page
    assert "<script" not in page


def test_it_is_about_nobody_else(everything, logged):
    others = set(Target.objects.exclude(athlete=logged.athlete).values_list("athlete__name", flat=True))
    together = b"".join(everything.values()).decode()
    assert others
    assert not [name for name in others if name in together]
    link = logged.athlete.links.get()
    assert link.nonce not in together


def test_the_athletes_page_leads_to_it(coach_client, logged):
    path = f"/athletes/{logged.athlete_id}/"
    assert f"{path}everything.zip" in coach_client.get(path).content.decode()
