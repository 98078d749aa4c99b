"""Every error of the API as problem details: RFC 9457, application/problem+json.

`type` is about:blank throughout, so `title` is the phrase of the status; `detail` says in words what to do. What is
wrong with which field stands in `errors`, by field as it was sent; other members are told where they are documented.
"""

from http import HTTPStatus
from typing import Any

from rest_framework import exceptions, serializers, status

MEDIA_TYPE = "application/problem+json"


class ProblemSerializer(serializers.Serializer):
    """An error in machine-readable form (RFC 9457)."""

    type = serializers.CharField(help_text="about:blank: the status says it all.")
    title = serializers.CharField(help_text="The phrase of the status.")
    status = serializers.IntegerField()
    detail = serializers.CharField(help_text="What is wrong, and what to do.")
    errors = serializers.JSONField(required=False, help_text="What is wrong, by field as it was sent.")


class Conflict(exceptions.APIException):
    """What was sent does not fit what is kept; `members` go beside `detail`."""

    status_code = status.HTTP_409_CONFLICT
    default_code = "conflict"

    def __init__(self, detail: str, **members: Any) -> None:
        super().__init__(detail)
        self.members = members


class PreconditionFailed(exceptions.APIException):
    status_code = status.HTTP_412_PRECONDITION_FAILED
    default_detail = "It was changed meanwhile. Read it again, and send the change with its new ETag."
    default_code = "precondition_failed"


class Unprocessable(exceptions.APIException):
    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY
    default_detail = "This Idempotency-Key was sent with another request before. Use a new key for a new request."
    default_code = "unprocessable"


def problem(code: int, detail: str, **members: Any) -> dict[str, Any]:
    return {"type": "about:blank", "title": HTTPStatus(code).phrase, "status": code, "detail": detail, **members}
