"""What a page says when the database is away or the disk is full: that, and that nothing half-done was kept."""

import errno
import sys

from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.defaults import server_error

from athletes.api.problems import MEDIA_TYPE, problem

AGAIN_S = 5
FULL = (errno.ENOSPC, errno.EDQUOT)
READ_ONLY = (errno.EROFS, errno.EACCES, errno.EPERM)
AWAY = "The database cannot be reached just now."
DISK_FULL = "The disk of this server is full. Whoever hosts it has to make room."
DEFECT = "Something went wrong here, which is no fault of the request. It stands in the server's log."
NO_WRITING = "This server cannot write to its disk. Whoever hosts it has to mend that."


def server_fault(request: HttpRequest) -> HttpResponse:
    """The answer to what went wrong: 503 with a reason for what comes back by itself or from outside, else 500."""
    words = reason(sys.exc_info()[1])
    code = 503 if words else 500
    if request.path.startswith(reverse("api:root")):
        response = JsonResponse(problem(code, words or DEFECT), status=code, content_type=MEDIA_TYPE)
    elif words:
        # Without context processors: they ask who is signed in, and that stands in the database.
        response = HttpResponse(render_to_string("fault.html", {"words": words, "request": request}), status=code)
    else:
        response = server_error(request)
    if words:
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
