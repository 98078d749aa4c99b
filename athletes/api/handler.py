"""Errors as they are answered: every one as problem details, and any path that there is not."""

from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponsePermanentRedirect
from django.urls import is_valid_path, resolve
from drf_spectacular.utils import extend_schema
from rest_framework import exceptions, views
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.problems import MEDIA_TYPE, problem

NOT_VALID = "The request is not valid: see errors, and send it again."
NO_SUCH_PATH = "There is nothing at {}. The paths are listed at /api/v1/, and described at /api/v1/docs/."


def as_problem(error: Exception, context: dict) -> Response | None:
    """The handler of errors of the REST framework; None for a defect, which is answered as any other."""
    response = views.exception_handler(error, context)
    if response is None:
        return None
    code, members = response.status_code, dict(getattr(error, "members", {}))
    if isinstance(error, exceptions.ValidationError):
        detail, members = NOT_VALID, {**members, "errors": response.data}
    else:
        said = response.data.get("detail") if isinstance(response.data, dict) else None
        detail = str(said or HTTPStatus(code).phrase)
    response.data, response.content_type = problem(code, detail, **members), MEDIA_TYPE
    return response


class UnknownPathView(views.APIView):
    """Any other path below the API's."""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        raise exceptions.NotFound(NO_SUCH_PATH.format(request.path))

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any):
        with_slash = f"{request.path_info}/"
        reads = request.method in ("GET", "HEAD") and not request.path_info.endswith("/")
        known = is_valid_path(with_slash) and getattr(resolve(with_slash).func, "cls", None) is not UnknownPathView
        if settings.APPEND_SLASH and known and reads:
            return HttpResponsePermanentRedirect(request.get_full_path(force_append_slash=True))
        return super().dispatch(request, *args, **kwargs)

    @extend_schema(exclude=True)
    def get(self, request: Request, rest: str) -> Response:
        raise exceptions.NotFound

    post = put = patch = delete = get
