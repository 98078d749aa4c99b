"""Signing in: guesses are braked without locking anybody out, a second step is asked, the demo stays at home."""

import re
import time
from datetime import timedelta
from io import StringIO
from urllib.parse import urlsplit

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.management import call_command
from django.db.models import F
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from athletes.accounts.invitations import invite_again
from athletes.accounts.passwords import Argon2Hasher
from athletes.accounts.write import second_step_ask, token_replace
from athletes.models import Gym, Passkey
from coachhub.proxies import client_address, neighbourhood
from tests.conftest import JSON, PASSWORD


@pytest.fixture
def braked(gym_row, settings):
    settings.AXES_ENABLED = True
    return settings.AXES_FAILURE_LIMIT


def sign_in(client: Client, name: str, password: str = "wrong", address: str = "192.0.2.7") -> int:
    """The answer's status: 302 in, 200 wrong, 429 no more guesses."""
    sent = {"username": name, "password": password}
    return client.post(reverse("login"), sent, REMOTE_ADDR=address).status_code


def test_one_address_cannot_try_one_name_after_the_other(braked, coach):
    tried = [sign_in(Client(), f"name{number}") for number in range(35)]
    assert tried.count(429) == 35 - 3 * braked + 1
    assert sign_in(Client(), coach.username, PASSWORD) == 429
    assert sign_in(Client(), coach.username, PASSWORD, address="198.51.100.1") == 302


def test_one_name_cannot_be_tried_from_everywhere(braked, coach):
    tried = [sign_in(Client(), coach.username, address=f"198.51.100.{number}") for number in range(105)]
    assert tried.count(429) == 105 - 10 * braked + 1


def test_an_outsider_keeps_nobody_out_but_at_the_own_address(braked, coach, staff):
    for number in range(3 * braked):
        sign_in(Client(), coach.username, address=f"2001:db8:1:{number}::1")  # one line with many networks
    assert sign_in(Client(), coach.username, PASSWORD, address="2001:db8:1:999::1") == 429
    assert sign_in(Client(), staff.username, PASSWORD, address="2001:db8:1:999::1") == 302
    assert sign_in(Client(), coach.username, PASSWORD) == 302


def test_guesses_at_open_pages_stand_in_nobody_elses_way(braked, coach, staff, make_account):
    for number in range(4):
        page = Client(REMOTE_ADDR="192.0.2.7")
        page.force_login(make_account("staff", f"desk{number}"), backend="django.contrib.auth.backends.ModelBackend")
        answers = [page.post("/account/token/", {"password": "a guess"}).status_code for _ in range(braked + 2)]
        assert answers[-1] == 429
    assert sign_in(Client(), coach.username, PASSWORD) == 302
    locked = page.post("/account/token/", {"password": "a guess"}).content.decode()
    assert "Back to your account" in locked and "from this address" not in locked  # noqa: PT018


def test_guesses_during_a_lock_do_not_prolong_it(braked, coach):
    for _ in range(braked):
        sign_in(Client(), coach.username)
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=59))
    assert sign_in(Client(), coach.username) == 429
    assert sign_in(Client(), coach.username, PASSWORD) == 429
    AccessAttempt.objects.update(attempt_time=F("attempt_time") - timedelta(minutes=2))
    assert sign_in(Client(), coach.username, PASSWORD) == 302


def test_who_is_invited_gets_in_whoever_guesses(braked, coach):
    invited = Client()
    address = invited.get(urlsplit(invite_again(coach)).path).url
    for number in range(10 * braked):
        sign_in(Client(), coach.username, address=f"198.51.100.{number}")
    invited.post(address, {"new_password1": "quite a few words", "new_password2": "quite a few words"})
    assert sign_in(Client(), coach.username, "quite a few words") == 429
    assert sign_in(invited, coach.username, "quite a few words") == 302


def test_an_account_of_ones_own_gives_no_fresh_guesses_at_others(braked, coach, staff):
    tried = []
    for _ in range(4):
        tried += [sign_in(Client(), coach.username) for _ in range(braked // 2)]
        tried.append(sign_in(Client(), staff.username, PASSWORD))
    assert tried.count(200) == braked - 1
    assert sign_in(Client(), coach.username, PASSWORD) == 429


def test_who_signs_in_gives_nobody_elsewhere_fresh_guesses_at_the_same_name(braked, coach):
    for _ in range(braked - 1):
        sign_in(Client(), coach.username, address="198.51.100.1")
    assert sign_in(Client(), coach.username, PASSWORD) == 302
    assert sign_in(Client(), coach.username, address="198.51.100.1") == 429


def test_who_typed_it_wrong_some_times_and_then_right_begins_anew(braked, coach):
    for _ in range(3):
        for _ in range(braked - 1):
            assert sign_in(Client(), coach.username) == 200
        assert sign_in(Client(), coach.username, PASSWORD) == 302


def test_a_device_that_is_known_gets_in_whoever_else_guesses(braked, coach):
    known = Client()
    assert sign_in(known, coach.username, PASSWORD) == 302
    known.post(reverse("logout"))
    for number in range(20):
        sign_in(Client(), coach.username)  # the same wifi
        sign_in(Client(), coach.username, address=f"198.51.100.{number}")  # the rest of the world
    assert sign_in(Client(), coach.username, PASSWORD) == 429
    assert sign_in(known, coach.username, PASSWORD) == 302


def test_a_known_device_has_its_own_limit(braked, coach):
    known = Client()
    sign_in(known, coach.username, PASSWORD)
    known.post(reverse("logout"))
    assert [sign_in(known, coach.username) for _ in range(braked + 1)][-1] == 429
    assert sign_in(known, coach.username, PASSWORD) == 429


def test_a_device_is_known_for_its_own_account_alone(braked, coach, staff):
    known = Client()
    sign_in(known, coach.username, PASSWORD)
    known.post(reverse("logout"))
    for _ in range(braked):
        sign_in(Client(), staff.username)
    assert sign_in(known, staff.username, PASSWORD) == 429


def test_what_is_refused_is_not_checked(braked, coach, monkeypatch):
    for _ in range(braked):
        sign_in(Client(), coach.username)

    def checked(*args, **options):
        raise AssertionError("a password was hashed")

    monkeypatch.setattr("django.contrib.auth.backends.ModelBackend.authenticate", checked)
    assert sign_in(Client(), coach.username) == 429
    assert AccessAttempt.objects.count() <= braked


def test_a_line_with_many_addresses_counts_as_one(rf, settings):
    assert neighbourhood("2001:db8:1:2:aaaa::1") == neighbourhood("2001:db8:1:9:bbbb::9") == "2001:db8:1::"
    assert neighbourhood("192.0.2.7") == neighbourhood("::ffff:192.0.2.7") == "192.0.2.7"
    request = rf.get("/", REMOTE_ADDR="192.0.2.7", HTTP_X_FORWARDED_FOR="203.0.113.5")
    assert client_address(request) == "192.0.2.7"  # whoever says so, where no proxy is named


def test_passwords_are_kept_as_owasp_advises():
    """Password Storage Cheat Sheet: Argon2id, 19 MiB, two passes, one lane (from memory)."""
    hashed = Argon2Hasher().encode("a password", "a salt of letters")
    assert "argon2id" in hashed
    assert "m=19456,t=2,p=1" in hashed
    assert issubclass(Argon2Hasher, Argon2PasswordHasher)


def code_of(device: TOTPDevice, steps: int = 0) -> str:
    """What an app shows that was given this secret: RFC 6238, worked out apart from what checks it."""
    totp = TOTP(device.bin_key, device.step, device.t0, device.digits)
    totp.time = time.time() + steps * device.step
    return f"{totp.token():06d}"


@pytest.fixture
def with_codes(gym_row, coach, coach_client):
    """A coach whose account asks for codes; the codes on paper."""
    coach_client.get(reverse("account-codes"))
    device = TOTPDevice.objects.get(user=coach)
    page = coach_client.post(reverse("account-codes"), {"code": code_of(device), "password": PASSWORD}).content.decode()
    paper = list(StaticToken.objects.filter(device__user=coach).values_list("token", flat=True))
    assert len(paper) == 10
    assert all(code in page for code in paper)
    return paper


def test_the_secret_is_the_one_of_rfc_6238():
    """Appendix B: the ASCII secret 12345678901234567890 at 59 s gives 94287082, at 1111111109 s 07081804."""
    for moment, code in ((59, 94287082), (1111111109, 7081804)):
        totp = TOTP(b"12345678901234567890", digits=8)
        totp.time = moment
        assert totp.token() == code


def test_with_codes_a_password_opens_nothing_yet(with_codes, coach, client):
    answer = client.post(reverse("login"), {"username": coach.username, "password": PASSWORD})
    assert answer.url == reverse("login-second")
    assert client.get(reverse("home")).status_code == 302
    device = TOTPDevice.objects.get(user=coach)
    TOTPDevice.objects.update(last_t=-1)  # the code of this half minute was used to set it up
    assert "is not right" in client.post(answer.url, {"code": "000000"}).content.decode()
    TOTPDevice.objects.update(throttling_failure_count=0)
    assert client.post(answer.url, {"code": code_of(device)}).url == reverse("home")
    assert client.get(reverse("account")).status_code == 200


def test_a_right_code_that_is_not_looked_at_is_told_to_wait(with_codes, coach, client):
    client.post(reverse("login"), {"username": coach.username, "password": PASSWORD})
    TOTPDevice.objects.update(last_t=-1)
    for _ in range(8):
        client.post(reverse("login-second"), {"code": "000000"})
        TOTPDevice.objects.update(throttling_failure_timestamp=timezone.now() - timedelta(hours=1))
        StaticDevice.objects.update(throttling_failure_timestamp=timezone.now() - timedelta(hours=1))
    client.post(reverse("login-second"), {"code": "000000"})
    right = code_of(TOTPDevice.objects.get(user=coach))
    page = client.post(reverse("login-second"), {"code": right}).content.decode()
    assert re.search(r"none is looked at for a while. Wait (4|5) minutes, then", page)
    assert "was used" not in page
    assert client.get(reverse("home")).status_code == 302


def test_a_code_on_paper_opens_once(with_codes, coach):
    for status in (302, 200):
        client = Client()
        client.post(reverse("login"), {"username": coach.username, "password": PASSWORD})
        assert client.post(reverse("login-second"), {"code": with_codes[0]}).status_code == status


def test_the_second_step_alone_leads_nowhere(with_codes, client):
    assert client.post(reverse("login-second"), {"code": with_codes[0]}).url == reverse("login")


def test_codes_are_taken_off_with_the_password_only(with_codes, coach, coach_client):
    assert "not your password" in coach_client.post(reverse("account-second-off"), {"password": "no"}).content.decode()
    coach_client.post(reverse("account-second-off"), {"password": PASSWORD})
    assert not TOTPDevice.objects.exists()
    assert not StaticToken.objects.exists()


def test_a_wrong_code_sets_nothing_up(coach, coach_client, gym_row):
    coach_client.get(reverse("account-codes"))
    wrong = {"code": "123", "password": PASSWORD}
    assert "is not right" in coach_client.post(reverse("account-codes"), wrong).content.decode()
    right = {"code": code_of(TOTPDevice.objects.get(user=coach)), "password": "a guess"}
    assert "not your password" in coach_client.post(reverse("account-codes"), right).content.decode()
    assert not TOTPDevice.objects.filter(confirmed=True).exists()


def test_who_owes_the_gym_a_second_step_reaches_nothing_but_its_setting_up(
    owner, owner_client, coach, coach_client, gym_row
):
    token = token_replace(account=coach)
    owner_client.post(reverse("athletes:accounts-second"), {"asked": "1"})
    led = reverse("account-second")
    for client in (owner_client, coach_client):
        for page in ("home", "account", "athletes:list", "account-second-off"):
            assert client.get(reverse(page)).url == led
        assert client.get("/api/v1/athletes/").status_code == 403
    refused = Client().get("/api/v1/athletes/", headers={"Authorization": f"Token {token}"})
    assert "second step" in refused.json()["detail"]
    assert "Codes from an app" in coach_client.get(led).content.decode()
    coach_client.get(reverse("account-codes"))
    code = code_of(TOTPDevice.objects.get(user=coach))
    coach_client.post(reverse("account-codes"), {"code": code, "password": PASSWORD})
    assert coach_client.get(led).url == reverse("home")
    assert coach_client.get("/api/v1/athletes/").status_code == 200
    page = coach_client.post(reverse("account-second-off"), {"password": PASSWORD}, follow=True).content.decode()
    assert "Make a passkey, then the codes can go" in page
    assert TOTPDevice.objects.filter(user=coach, confirmed=True).exists()


def test_to_ask_for_a_second_step_no_longer_takes_the_own_password(owner, owner_client, gym_row):
    Passkey.objects.create(account=owner, credential="a", public_key="", name="a")
    second_step_ask(asked=True)
    address = reverse("athletes:accounts-second")
    assert "still asked for" in owner_client.post(address, {"asked": "0"}, follow=True).content.decode()
    assert Gym.objects.get().second_step
    owner_client.post(address, {"asked": "0", "password": PASSWORD})
    assert not Gym.objects.get().second_step


def test_the_last_passkey_stays_where_the_gym_asks_for_a_second_step(coach, coach_client, gym_row):
    first, second = (Passkey.objects.create(account=coach, credential=name, public_key="", name=name) for name in "ab")
    second_step_ask(asked=True)
    for passkey in (first, second, second):
        coach_client.post(reverse("account-passkey-remove", args=[passkey.pk]))
    assert list(coach.passkeys.all()) == [second]


def test_staff_are_not_asked_and_nobody_is_where_the_gym_does_not_ask(staff_client, coach_client, gym_row):
    assert coach_client.get(reverse("athletes:list")).status_code == 200
    second_step_ask(asked=True)
    assert staff_client.get(reverse("athletes:list")).status_code == 200


def test_the_command_line_lets_an_owner_in_again_who_lost_the_second_step(owner, client, gym_row):
    second_step_ask(asked=True)
    TOTPDevice.objects.create(user=owner, name="lost", confirmed=True)
    said = StringIO()
    call_command("owner", owner.username, "--again", stdout=said)
    address = client.get(urlsplit(said.getvalue().split()[-1]).path).url
    client.post(address, {"new_password1": "quite a few words", "new_password2": "quite a few words"})
    answer = client.post(reverse("login"), {"username": owner.username, "password": "quite a few words"})
    assert client.get(answer.url).url == reverse("account-second")


@pytest.mark.parametrize(("host", "address", "opened", "status"), [
    ("localhost:8000", "127.0.0.1", False, 302),
    ("[::1]:8000", "::1", False, 302),
    ("localhost:8000", "192.168.1.30", False, 200),
    ("gym.example", "127.0.0.1", False, 200),  # a proxy on this machine
    ("gym.example", "192.168.1.30", True, 302),
])  # fmt: skip
def test_the_demos_password_works_at_home_alone(gym_row, make_account, settings, host, address, opened, status):
    settings.ALLOWED_HOSTS, settings.DEMO_OPEN = ["*"], opened
    account = make_account("coach", "demo")
    account.set_password(settings.DEMO_PASSWORD)
    account.save()
    sent = {"username": "demo", "password": settings.DEMO_PASSWORD}
    answer = Client().post(reverse("login"), sent, HTTP_HOST=host, REMOTE_ADDR=address)
    assert answer.status_code == status
    if status == 200:
        assert "only on the machine that runs it" in answer.content.decode()


@pytest.mark.parametrize("nested", ["[" * 50_000, '{"id":' * 900 + "1" + "}" * 900])
def test_json_that_is_nested_without_end_is_refused(client, coach_client, gym_row, nested):
    for asks, page in ((client, "passkey-answer"), (coach_client, "account-passkey-answer")):
        assert asks.post(reverse(page), nested, **JSON).status_code in (400, 422)
