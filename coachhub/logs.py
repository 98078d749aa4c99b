"""What must not stand in a log file: a personal link is its own key."""

import logging
import re

LINK = re.compile(r"/(a|wall|calendar|invitation)/([\w-]+/)?[\w-]{20,}")


class HideLinks(logging.Filter):
    """Cut the token out of addresses of personal links, wall screens, calendars and invitations."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = LINK.sub(r"/\1/…", record.getMessage()), ()
        return True
