import logging

from coachhub.logs import HideLinks


def test_a_link_in_a_message_is_hidden_and_the_rest_stays():
    token = "-Aw5BQhuZlduD6d1v9dgbjev99DE"
    record = logging.makeLogRecord({"msg": "Internal Server Error: %s", "args": (f"/a/{token}/week/",)})
    HideLinks().filter(record)
    assert record.getMessage() == "Internal Server Error: /a/…/week/"


def test_every_handler_of_the_site_hides_links(settings):
    assert all("hide_links" in handler["filters"] for handler in settings.LOGGING["handlers"].values())
