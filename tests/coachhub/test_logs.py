"""No key of a link stands in a log, wherever in a record its address is."""

import json
import logging
import sys
from logging.config import DictConfigurator

import pytest

TOKEN = "-Aw5BQhuZlduD6d1v9dgbjev99DE"
KEY = "D6d1v9dgbjev99DE"
ADDRESSES = [
    f"/a/{TOKEN}/week/",
    f"/wall/{TOKEN}/clock/",
    f"/calendar/{TOKEN}/sessions.ics",
    f"/invitation/MQ/{TOKEN}/",
    f"/a/-Aw5BQhuZldu/?on=x&key={KEY}",
    f"/login/?next=%2Fa%2F{TOKEN}%2F",
    f"/login/?next=%2fa%2f{TOKEN}%2f",
    f"/login/?next=/login/%3Fnext%3D%252Fa%252F{TOKEN}",
]
formats = pytest.mark.parametrize("kind", ["plain", "json"])


@pytest.fixture
def written(settings):
    """What a format of the settings makes of a message."""

    def write(kind: str, message: str, *args, **facts) -> str:
        record = logging.makeLogRecord({"levelname": "ERROR", "name": "tests", "msg": message, "args": args, **facts})
        formatter = dict(settings.LOGGING["formatters"][kind])  # which is emptied by who reads it
        return DictConfigurator({}).configure_formatter(formatter).format(record)

    return write


@formats
@pytest.mark.parametrize("address", ADDRESSES)
def test_a_key_is_cut_out_of_message_request_and_traceback(written, rf, kind, address):
    try:
        raise ValueError(f"nothing at {address}")
    except ValueError:
        facts = {"exc_info": sys.exc_info(), "request": rf.get(address), "status_code": 500}
    line = written(kind, "Internal Server Error: %s", address, **facts)
    assert "Internal Server Error: /" in line
    assert "nothing at /" in line
    assert KEY not in line
    assert TOKEN not in line


def test_a_line_of_json_stays_one_and_says_of_which_page_it_is(written, rf):
    request = rf.get(f"/a/{TOKEN}/week/?key={KEY}")
    said = json.loads(written("json", 'GET "%s" 302', ADDRESSES[4], request=request))
    assert said["message"] == 'GET "/a/-Aw5BQhuZldu/?on=x&key=…" 302'
    assert said["request"] == "<WSGIRequest: GET '/a/…/week/?key=…'>"
    assert (said["level"], said["from"]) == ("ERROR", "tests")


@formats
def test_what_is_no_key_stays(written, kind):
    said = "/athletes/export/athletes_and_all_their_results.csv and /gym/archive/gym-2026-01-01-000000.zip"
    assert said in written(kind, said)


def test_every_handler_of_the_site_hides_keys(settings):
    assert {handler["formatter"] for handler in settings.LOGGING["handlers"].values()} <= {"plain", "json"}
    assert all(made["()"].startswith("coachhub.logs.") for made in settings.LOGGING["formatters"].values())
