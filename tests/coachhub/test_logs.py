import logging

from coachhub.logs import HideLinks


def test_a_link_in_a_message_is_hidden_and_the_rest_stays():
    token = "-Aw5BQhuZlduD6d1v9dgbjev99DE"
    record = logging.makeLogRecord({"msg": "Internal Server Error: %s", "args": (f"/a/{token}/week/",)})
    HideLinks().filter(record)
    assert record.getMessage() == "Internal Server Error: /a/…/week/"


def test_the_key_with_which_an_app_begins_is_hidden_too():
    record = logging.makeLogRecord({"msg": 'GET "/a/-Aw5BQhuZldu/?on=x&key=D6d1v9dgbjev99DE" 302'})
    HideLinks().filter(record)
    assert record.getMessage() == 'GET "/a/-Aw5BQhuZldu/?on=x&key=…" 302'


def test_every_handler_of_the_site_hides_links(settings):
    assert all("hide_links" in handler["filters"] for handler in settings.LOGGING["handlers"].values())
