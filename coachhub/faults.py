"""What a page says when the database is away or the disk is full: that, and that nothing half-done was kept."""

import errno
import sys

from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.defaults import server_error

AGAIN_S = 5
FULL = (errno.ENOSPC, errno.EDQUOT)
READ_ONLY = (errno.EROFS, errno.EACCES, errno.EPERM)
AWAY = "The database cannot be reached just now."
DISK_FULL = "The disk of this server is full. Whoever hosts it has to make room."
NO_WRITING = "This server cannot write to its disk. Whoever hosts it has to mend that."


def server_fault(request: HttpRequest) -> HttpResponse:
    """The page for what went wrong: 503 with a reason for what comes back by itself or from outside, else 500."""
    words = reason(sys.exc_info()[1])
    if not words:
        return server_error(request)
    response = render(request, "fault.html", {"words": words}, status=503)
    response["Retry-After"] = AGAIN_S
    return response


def reason(error: BaseException | None) -> str:
    """Why, in a sentence for whoever wanted the page; empty for a defect of coachhub itself."""
    if isinstance(error, OSError):
        return DISK_FULL if error.errno in FULL else NO_WRITING if error.errno in READ_ONLY else ""
    said = str(error).lower()
    if isinstance(error, DatabaseError) and ("full" in said or "no space" in said):
        return DISK_FULL
    if isinstance(error, DatabaseError) and ("readonly" in said or "read-only" in said):
        return NO_WRITING
    return AWAY if isinstance(error, OperationalError | InterfaceError) else ""
