"""How large a request may be. The web server refuses by its headers before it reads the rest; this looks again once it
is known who asks, before anything is taken apart."""

import re

from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from athletes.importing.sheets.reading import MOST_BYTES

STRANGER = 64_000  # bytes of a request from nobody that we know: a log from a phone has about one thousand
SIGNED_IN = 1_000_000
AN_IMPORT = MOST_BYTES + 64_000
AS_BASE64 = 4 * MOST_BYTES // 3 + 64_000  # the same file within JSON
UPLOADS = {"athletes:imports": AN_IMPORT, "api:import-list": AS_BASE64}  # what takes a file

# What looks like one of ours. Whether it is, is asked later; anything else says as little as nothing.
CREDENTIAL = re.compile(r"(token [0-9a-f]{40}|link [\w-]{12,100})", re.IGNORECASE)
SESSION_KEY = re.compile(r"[a-z0-9]{32}")


def is_credential(header: str) -> bool:
    """Whether an Authorization header is of a sort that opens something here."""
    return CREDENTIAL.fullmatch(header.strip()) is not None


def is_session_key(cookie: str) -> bool:
    """Whether a cookie looks like the key of a log-in session."""
    return SESSION_KEY.fullmatch(cookie) is not None


def too_large(most: int) -> str:
    return f"That is more than this page takes ({most / 1000:,.0f} kB). Send less of it, or in parts."


class LimitsMiddleware:
    """Refuse what is too large for whoever sends it, and files where none are taken.

    Stands before everything that reads a request's body.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view, args, kwargs) -> HttpResponse | None:
        length = int(request.META.get("CONTENT_LENGTH") or 0)
        name = request.resolver_match.view_name
        known = is_credential(request.META.get("HTTP_AUTHORIZATION", "")) or (
            length > STRANGER and request.user.is_authenticated
        )
        most = UPLOADS.get(name, SIGNED_IN) if known else STRANGER
        if length > most and name.startswith("api:"):
            from athletes.api.problems import MEDIA_TYPE, problem  # the web server reads this file before Django is up

            return JsonResponse(problem(413, too_large(most)), status=413, content_type=MEDIA_TYPE)
        if length > most:
            return render(request, "too_large.html", {"words": too_large(most)}, status=413)
        if name not in UPLOADS:
            request.upload_handlers = [NoFiles(request)]
        return None


class NoFiles(FileUploadHandler):
    """Files that a page did not ask for are passed over."""

    def new_file(self, *args, **kwargs) -> None:
        raise SkipFile

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        raise SkipFile

    def file_complete(self, file_size: int) -> None:
        return None
