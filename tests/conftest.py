"""The cast and the fixed rooms every test may use."""

from datetime import date, timedelta
from importlib import import_module

import pytest
from django.contrib.contenttypes.management import create_contenttypes
from django.db import connection
from django.db.models.signals import post_migrate
from django.test import Client
from hypothesis import settings as hypothesis_settings

from athletes.accounts.write import token_replace
from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.links import devices
from athletes.models import Account, Athlete, Benchmark, Effort, Gym, Movement
from coachhub import gym_time
from sessions.boards import paper
from sessions.clock import live
from sessions.models import Publication, Week
from sessions.publishing import run as publishing
from sessions.publishing.write import publication_request
from tests import gym

PASSWORD = "correct horse battery"
JSON = {"content_type": "application/json"}  # of what is posted

# Speed is measured in tests/benchmarks; on a busy machine a deadline would only make properties fail now and then.
# "ci" tries the same examples every time, fewer of them; `--hypothesis-profile night` tries many new ones, and what
# fails prints the line that repeats it.
hypothesis_settings.register_profile("ci", deadline=None, derandomize=True, max_examples=50, print_blob=True)
hypothesis_settings.register_profile("night", deadline=None, max_examples=1000, print_blob=True)
hypothesis_settings.load_profile("ci")


# Roles decide who may do what. Nobody reads Django's permissions, which every emptying of the database would make anew.
post_migrate.disconnect(dispatch_uid="django.contrib.auth.management.create_permissions")
post_migrate.disconnect(create_contenttypes)

# Tests with transactions of their own are followed by emptying every table, which the audit refuses: in tests it is
# guarded only where they are about that.
_guard = import_module("athletes.migrations.0028_audit_stays").GUARD
AUDIT_GUARD = {vendor: list(statements) for vendor, statements in _guard.items()}
for _statements in _guard.values():
    _statements.clear()


@pytest.fixture
def guarded_audit(db) -> None:
    """The table of entries as it is outside tests."""
    with connection.cursor() as cursor:
        for statement in AUDIT_GUARD[connection.vendor]:
            cursor.execute(statement)


@pytest.fixture
def gym_row(db) -> Gym:
    return Gym.objects.create(pk=1, name="Test gym", time_zone="Europe/Lisbon", altitude_m=640)


@pytest.fixture
def make_account(db):
    def make(role: str, username: str | None = None, **facts) -> Account:
        username = username or role
        return Account.objects.create_user(username, password=PASSWORD, role=role, name=f"The {role}", **facts)

    return make


@pytest.fixture
def owner(make_account) -> Account:
    return make_account("owner")


@pytest.fixture
def coach(make_account) -> Account:
    return make_account("coach")


@pytest.fixture
def staff(make_account) -> Account:
    return make_account("staff")


def client_of(account: Account) -> Client:
    client = Client()
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def owner_client(owner) -> Client:
    return client_of(owner)


@pytest.fixture
def coach_client(coach) -> Client:
    return client_of(coach)


@pytest.fixture
def staff_client(staff) -> Client:
    return client_of(staff)


def api_of(account: Account) -> Client:
    """A client of the API with a token of the account."""
    return Client(headers={"Authorization": f"Token {token_replace(account=account)}"})


@pytest.fixture
def coach_api(coach) -> Client:
    return api_of(coach)


@pytest.fixture
def staff_api(staff) -> Client:
    return api_of(staff)


@pytest.fixture
def make_athlete(db):
    def make(name: str = "Ada Stone", **facts) -> Athlete:
        return Athlete.objects.create(name=name, board_name=facts.pop("board_name", name[:24]), **facts)

    return make


@pytest.fixture(autouse=True)
def _data_folder(settings, tmp_path):
    """Boards written by a test lie in its own folder."""
    settings.MEDIA_ROOT = tmp_path / "boards"


@pytest.fixture(autouse=True)
def _paper(request, monkeypatch):
    """Boards are drawn on paper only where a test is about paper."""
    if not request.node.get_closest_marker("paper"):
        monkeypatch.setattr(paper, "board", lambda publication, boards, size: b"%PDF-1.4")


@pytest.fixture(autouse=True)
def _kept(monkeypatch):
    """What requests share for some seconds is kept for a whole test, so that queries are as many on a slow machine."""
    for module in (gym_time, devices):
        monkeypatch.setattr(module, "KEPT_S", 3600.0)
    monkeypatch.setattr(devices, "_limited_until", 0.0)


@pytest.fixture(autouse=True)
def _plans():
    """Numbers of rows begin again in each test, so what is kept by them is forgotten."""
    live._make.cache_clear()


@pytest.fixture
def furnished(db) -> None:
    """A gym with machines, movements and benchmarks; tests.gym adds people and weeks."""
    gym.furnish()


@pytest.fixture
def live_week(furnished, coach) -> Publication:
    """Next week with one session, published for five athletes."""
    gym.people(5)
    return publish(gym.planned_week(), coach)


def publish(week: Week, by: Account, **options) -> Publication:
    """Publish at once, in this process."""
    publication = publication_request(week=week, by=by, **options)
    publishing.run(publication.pk)
    publication.refresh_from_db()
    assert publication.state == Publication.State.LIVE, publication.failure
    return publication


@pytest.fixture
def row_movement(db) -> Movement:
    return Movement.objects.create(name="Row", slug="row", kind="engine", engine="row")


@pytest.fixture
def row_2000(row_movement) -> Benchmark:
    return Benchmark.objects.create(
        name="2000 m row", slug="row-2000", movement=row_movement, measure="time_for_distance", fixed=2000
    )


@pytest.fixture
def pull_ups(db) -> Benchmark:
    movement = Movement.objects.create(name="Pull-up", slug="pull-up", kind="repetitions", typical_best=10)
    return Benchmark.objects.create(name="Most pull-ups", slug="pull-ups", movement=movement, measure="repetitions")


@pytest.fixture
def record(db):
    """Keep a result without being asked about it."""

    def keep(athlete: Athlete, benchmark: Benchmark, typed: str, on: date | None = None) -> Effort:
        day = on or today() - timedelta(days=10)
        return effort_record(
            athlete=athlete, benchmark=benchmark, typed=typed, performed_on=day, by=None, confirmed=True
        )

    return keep
