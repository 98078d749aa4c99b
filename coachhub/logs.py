"""What must not stand in a log file: a personal link is its own key."""

import logging
import re

from pythonjsonlogger.json import JsonFormatter

# An address may stand in an address, where its slashes are written as %2F.
LINK = re.compile(r"(?:(?<!\w)|(?<=2[Ff]))(a|wall|calendar|invitation)(/|%(?:25)*2[Ff])([\w-]+\2)?[\w-]{20,}")
# Of the address at which an installed app begins.
KEY = re.compile(r"(([?&]|%(?:25)*(?:3[Ff]|26))key(=|%(?:25)*3[Dd]))[\w-]+")


def without_keys(line: str) -> str:
    """The line with token and key cut out of addresses of personal links, wall screens, calendars and invitations."""
    return KEY.sub(r"\1…", LINK.sub(r"\1\2…", line))


class _HidesKeys(logging.Formatter):
    """Looks at the finished line: addresses stand in messages, in what is given beside them, and in tracebacks."""

    def format(self, record: logging.LogRecord) -> str:
        return without_keys(super().format(record))


class Plain(_HidesKeys):
    pass


class Json(_HidesKeys, JsonFormatter):
    pass
