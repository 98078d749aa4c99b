"""The demo gym: the same at every seeding, true to the rules for people's efforts, and free of other people's names."""

import fcntl
import hashlib
import os
import pickle
import re
from datetime import date, timedelta
from types import SimpleNamespace
from unittest.mock import patch

import numpy as np
import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import override_settings
from django.utils.text import slugify

from athletes.efforts import parsing
from athletes.equipment.read import density_for
from athletes.equipment.write import MEASURED
from athletes.models import (
    Account,
    AirReading,
    Athlete,
    Benchmark,
    Effort,
    Estimate,
    Evidence,
    LeverReading,
    Limitation,
    Machine,
    Movement,
    Rack,
    TestDay,
)
from coachhub.demo.gym import ACCOUNTS, GYM, KINDS, PASSWORD
from coachhub.demo.people import PEOPLE
from coachhub.demo.schedule import WEEKS, appointments
from coachhub.demo.seed import seed
from coachhub.demo.signpost import NAMED, signpost
from coachhub.demo.weeks import BEFORE, THIS_WEEK
from sessions.circuits.document import document_of
from sessions.circuits.read import with_stations
from sessions.models import Circuit, Log, Publication, PublishedSession, Week
from sessions.publishing.changes import changes_between
from sessions.publishing.sides import side_of

AS_OF = date(2026, 3, 18)  # a Wednesday
MONDAY = date(2026, 3, 16)

# Equipment makers, competitions, franchises and named workouts, as digests, so that no file here names one.
FORBIDDEN = {
    "002340b4", "02b15ef8", "083007c4", "0ad9fe48", "12bf74ce", "1d78b370", "1dc5ee01", "1ecd41c0", "27d6f596",
    "29fa6144", "3e48a60e", "40745167", "408a0c55", "44a6f636", "459090e9", "47163007", "4ca6f6d5", "4da860a5",
    "50a94934", "52e8e47b", "54fc3536", "58ed12cc", "5dba6c8c", "5dc8bd3a", "64d27cba", "6663fe55", "6915771b",
    "6a5cd181", "6af42f23", "6bab3007", "714aeaf9", "71be92cb", "737a0769", "74c5ea40", "79ad5c7d", "7a126a9c",
    "7f9571ce", "7fa8398c", "80c95d0e", "81bb684b", "8202a065", "84337002", "8ec98ed1", "904294d8", "a151447d",
    "a807bd38", "aa5af52e", "ab3a903f", "ad819ad6", "ae50ad81", "b54a1af8", "b54f0862", "b56b3d1e", "c01ca622",
    "c25825a1", "cceaa257", "cd51e87b", "ce161186", "cf7e9743", "d1619b45", "d1b1edb6", "d20bcf17", "d45bae47",
    "e010fd1c", "ea881a78", "eb509406", "ecd7605e", "ee071941", "f0fd52e7", "f4e12479", "f712d322",
}  # fmt: skip


def forbidden_in(text: str) -> set[str]:
    """Words, and pairs of words, that name something that exists."""
    words = re.findall(r"\w+", text.lower())
    read = {*words, *(f"{first}{second}" for first, second in zip(words, words[1:], strict=False))}
    return {word for word in read if hashlib.sha256(word.encode()).hexdigest()[:8] in FORBIDDEN}


def facts() -> SimpleNamespace:
    """Everything the tests ask about, as plain values."""
    people = ("key", "name", "board_name", "sex", "born", "body_mass_kg", "load_unit", "joined_on", "note")
    efforts = ("key", "athlete__name", "benchmark__slug", "value", "fixed", "repetitions", "typed", "performed_on")
    voids = ("voided_at", "void_reason", "replaces__key", "entered_at", "entered_by__username", "question")
    limits = ("athlete__name", "kind", "patterns", "note", "starts_on", "review_on")
    levers = ("key", "machine__type__name", "machine__number", "lever", "drag", "density", "taken_on")
    live = PublishedSession.objects.live().classes().filter(date__gte=MONDAY)
    first, second = Publication.objects.filter(week__starts_on=MONDAY).order_by("revision")
    return SimpleNamespace(
        athletes=list(Athlete.objects.order_by("name").values(*people)),
        efforts=list(Effort.objects.order_by("key").values(*efforts, *voids)),
        limitations=list(Limitation.objects.order_by("athlete__name", "starts_on").values(*limits)),
        room=[
            *Rack.objects.values("name", "loads", "bar_kg", "pairs"),
            *LeverReading.objects.order_by("key").values(*levers),
            *AirReading.objects.values("key", "taken_at", *MEASURED),
        ],
        unread=Machine.objects.filter(type__lever_most__isnull=False, readings__isnull=True).count(),
        density=density_for(AS_OF)[0],
        loaded={row.name: row.rack and row.rack.owned() for row in Movement.objects.filter(kind="loaded")},
        circuits={row.name: document_of(row) for row in with_stations(Circuit.objects.all())},
        measures={row.slug: row.measure for row in Benchmark.objects.all()},
        critical_powers=[np.exp(e.mean[0]) for e in Estimate.objects.filter(engine="row")],
        planned={week.starts_on: week.sessions.count() for week in Week.objects.all()},
        publications=list(
            Publication.objects.order_by("week__starts_on", "revision").values_list("week__starts_on", "state")
        ),
        session_days=sorted(live.values_list("date", flat=True)),
        changed={change.athlete.name for change in changes_between(side_of(first), side_of(second))},
        test_days=[
            (day.date, day.slots.count(), _answered(day), set(day.slots.values_list("heat", flat=True)))
            for day in TestDay.objects.order_by("date")
        ],
        log_days=list(Log.objects.standing().values_list("date", flat=True)),
        measured=Evidence.objects.filter(value__isnull=False).count(),
        new=Athlete.objects.filter(joined_on__isnull=False).count(),
        words=_words(),
        signpost=signpost("http://here"),
    )


def _answered(day: TestDay) -> int:
    """How many tests of a day have a result."""
    done = set(Effort.objects.standing().filter(performed_on=day.date).values_list("athlete_id", "benchmark_id"))
    return len(done & set(day.slots.values_list("athlete_id", "benchmark_id")))


def _words() -> str:
    """Everything that people can read in the demo gym."""
    texts = [str(GYM), str(ACCOUNTS), str(KINDS), str(PEOPLE)]
    texts += [str(row) for model in (Movement, Benchmark, Circuit, Week, Limitation) for row in model.objects.values()]
    return " ".join(texts)


@pytest.fixture(scope="session")
def seedings(django_db_setup, django_db_blocker, tmp_path_factory) -> list[SimpleNamespace]:
    """The facts of two seedings for the same day; nothing stays in the database.

    The first process of a run that needs them keeps them in a file for the others.
    """
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent
    kept = folder / "demo.pickle"
    with open(folder / "demo.lock", "w") as lock, django_db_blocker.unblock():
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            with override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("boards")):
                kept.write_bytes(pickle.dumps([seeded(), seeded()]))
        return pickle.loads(kept.read_bytes())


def seeded() -> SimpleNamespace:
    with patch("sessions.boards.paper.board", lambda *given: b"%PDF-1.4"), transaction.atomic():
        seed(AS_OF)
        found = facts()
        transaction.set_rollback(True)
    return found


@pytest.fixture
def demo(seedings) -> SimpleNamespace:
    return seedings[0]


@pytest.mark.parametrize("what", ["athletes", "efforts", "limitations", "room", "circuits", "measures", "test_days"])
def test_the_same_day_gives_the_same_gym(seedings, what):
    first, second = (getattr(seeding, what) for seeding in seedings)
    assert first == second


def test_forty_two_people_from_17_to_68_whose_names_are_their_own(demo):
    ages = [(AS_OF - athlete["born"]).days // 365.25 for athlete in demo.athletes]
    assert (len(ages), min(ages), max(ages)) == (42, 17, 68)
    names = [athlete["name"] for athlete in demo.athletes]
    assert len(set(names)) == 42
    assert sum(not name.isascii() for name in names) > 10
    assert max(len(name) for name in names) > 50


def test_one_test_day_is_over_with_all_its_results_and_one_is_planned_in_heats(demo):
    (over, tests, answered, _), (coming, planned, _, heats) = demo.test_days
    assert over < AS_OF < coming
    assert tests == answered > 20
    assert planned == 24
    assert 0 not in heats


def test_exactly_one_was_never_tested(demo):
    tested = {effort["athlete__name"] for effort in demo.efforts}
    assert len({athlete["name"] for athlete in demo.athletes} - tested) == 1


def test_what_was_typed_reads_as_the_value_that_is_kept(demo):
    for effort in demo.efforts:
        measure = demo.measures[effort["benchmark__slug"]]
        result = parsing.result(parsing.read(effort["typed"]), measure, effort["fixed"])
        assert (result.value, result.repetitions) == (effort["value"], effort["repetitions"]), effort


def test_efforts_fill_two_years_and_end_before_the_day(demo):
    days = [effort["performed_on"] for effort in demo.efforts]
    assert max(days) < AS_OF
    assert min(days) > AS_OF - timedelta(days=2 * 366)
    assert AS_OF - max(days) < timedelta(days=14)
    assert 1000 < len(days) < 4000


def test_there_are_zeros_for_what_somebody_cannot_do_yet(demo):
    zeros = [effort for effort in demo.efforts if effort["value"] == 0]
    assert len({effort["athlete__name"] for effort in zeros}) > 1
    assert {effort["typed"] for effort in zeros} == {"0"}
    assert "unbroken-pull-ups" in {effort["benchmark__slug"] for effort in zeros}


def test_paced_movements_are_tested_by_time_and_by_repetitions(demo):
    done = {demo.measures[effort["benchmark__slug"]] for effort in demo.efforts}
    assert {"repetitions_in_time", "time_for_repetitions", "repetitions"} < done


def test_circuits_show_every_way_of_writing(demo):
    options = [o for document in demo.circuits.values() for station in document["stations"] for o in station["options"]]
    assert any(option["percent"] for option in options)
    assert any(option["reserve"] for option in options)
    assert any(option["least_dose"] for option in options)
    assert not any(option["least_dose"] and option["least_dose"] == option["dose"] / 2 for option in options)
    assert sum(document["open_last"] for document in demo.circuits.values()) == 1
    assert sum(document["scaling"] == "rounds" for document in demo.circuits.values()) == 1


def test_eight_weeks_are_logged_so_that_breaks_and_volume_are_on_record(demo):
    assert min(demo.log_days) < AS_OF - timedelta(weeks=7)
    assert max(demo.log_days) < AS_OF
    assert len(demo.log_days) > 800
    assert demo.measured > 50
    assert demo.new == 1


def test_some_were_last_tested_more_than_a_year_ago(demo):
    by_day = sorted((effort["performed_on"], effort["athlete__name"]) for effort in demo.efforts)
    newest = {name: day for day, name in by_day}
    assert sum(AS_OF - day > timedelta(days=365) for day in newest.values()) == 3


def test_capacities_differ_threefold(demo):
    assert max(demo.critical_powers) / min(demo.critical_powers) > 2.5


def test_some_efforts_are_voided_with_a_reason_and_some_of_them_replaced(demo):
    voided = {effort["key"]: effort for effort in demo.efforts if effort["voided_at"]}
    replaced = [effort for effort in demo.efforts if effort["replaces__key"]]
    assert len(voided) == 8
    assert all(effort["void_reason"] for effort in voided.values())
    assert len(replaced) == 5
    for effort in replaced:
        assert voided[effort["replaces__key"]]["void_reason"] == f"Replaced by {effort['typed']}."
        assert voided[effort["replaces__key"]]["question"]


def test_limitations_are_current_except_one_that_is_over(demo):
    over = [row for row in demo.limitations if row["review_on"] and row["review_on"] <= AS_OF]
    assert len(over) == 1
    assert {row["kind"] for row in demo.limitations} == {"body", "pregnancy", "skill"}


def test_every_prescribed_load_is_owned(demo):
    options = [o for document in demo.circuits.values() for station in document["stations"] for o in station["options"]]
    lifts = [option for option in options if option["load_kg"]]
    names = {slugify(name): name for name in demo.loaded}
    assert len(lifts) >= 4
    assert all(lift["load_kg"] in demo.loaded[names[lift["movement"]]] for lift in lifts)


def test_levers_rise_in_drag_and_one_machine_was_never_read(demo):
    drags = {}
    for row in sorted((row for row in demo.room if "drag" in row), key=lambda row: row["lever"]):
        drags.setdefault((row["machine__type__name"], row["machine__number"]), []).append(row["drag"])
    assert len(drags) == 6
    assert all(len(own) >= 3 and own == sorted(own) for own in drags.values())
    assert demo.unread == 1
    assert demo.density == pytest.approx(1.114, abs=0.001)


def test_last_week_and_this_one_are_live_and_the_next_is_a_draft(demo):
    week = timedelta(days=7)
    before = [(MONDAY - ago * week, "live") for ago in range(BEFORE, 0, -1)]
    assert demo.publications == [*before, (MONDAY, "superseded"), (MONDAY, "live")]
    assert 4 <= demo.planned[MONDAY + week] <= 6


def test_there_is_a_session_on_every_day_of_this_week(demo):
    assert demo.session_days == [MONDAY + timedelta(days=day) for day in range(7)]
    assert [day.weekday for day in THIS_WEEK] == list(range(7))


def test_the_second_revision_changed_the_targets_of_a_few_only(demo):
    assert demo.changed == {"Marisol Quintanar", "Rasmus Tveitane"}


def test_nothing_is_named_after_anything_that_exists(demo):
    assert forbidden_in(demo.words) == set()


def test_the_signpost_shows_the_ways_in_until_the_passwords_change(demo, db):
    text = "\n".join(demo.signpost)
    assert all(part in text for part in ("coach", "staff", "owner", PASSWORD, "http://here/a/", "http://here/wall/"))
    assert signpost("http://here") == []


@pytest.mark.parametrize(("opened", "words"), [
    (False, "The password works on this machine alone"),
    (True, "The password opens it to everybody who reaches this machine."),
])  # fmt: skip
def test_the_signpost_says_for_whom_the_password_works(db, settings, opened, words):
    settings.DEMO_OPEN = opened
    Account.objects.create_user("coach", password=PASSWORD, role="coach", name=NAMED["coach"])
    assert words in "\n".join(signpost("http://here"))


@pytest.mark.parametrize("offset", range(7))
def test_tests_lie_before_the_day_whichever_weekday_it_is(offset):
    as_of = MONDAY + timedelta(days=offset)
    tests = appointments(as_of)
    assert all(as_of - timedelta(weeks=WEEKS + 1) <= test.day < as_of for test in tests)
    assert len({(test.row, test.benchmark, test.day) for test in tests}) == len(tests)


def test_a_database_in_use_is_left_alone(db, make_account):
    make_account(Account.Role.OWNER)
    with pytest.raises(CommandError, match="in use"):
        call_command("demo")
    assert not Athlete.objects.exists()


def test_a_day_to_come_is_refused(db):
    with pytest.raises(CommandError, match="has not come yet"):
        call_command("demo", as_of=date(2999, 1, 1))
