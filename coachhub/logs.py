"""What must not stand in a log file: a personal link is its own key."""

import logging
import re

LINK = re.compile(r"/(a|wall|calendar|invitation)/([\w-]+/)?[\w-]{20,}")
KEY = re.compile(r"([?&]key=)[^&\s\"]+")  # of the address at which an installed app begins


class HideLinks(logging.Filter):
    """Cut token and key out of addresses of personal links, wall screens, calendars and invitations."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = KEY.sub(r"\1…", LINK.sub(r"/\1/…", record.getMessage())), ()
        return True
