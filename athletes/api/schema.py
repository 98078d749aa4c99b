"""The OpenAPI schema says which errors there are: as problem details, and the headers that guard a change."""

from typing import Any

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse

from athletes.api.problems import MEDIA_TYPE, ProblemSerializer

WHY = {
    400: "Something of the request is not valid.",
    401: "Nobody is signed in, or the token is none.",
    403: "This is for others to do.",
    404: "There is no such row, page or path.",
    405: "This cannot be done here.",
    406: "Only JSON is answered.",
    409: "It does not fit what is kept; `detail` says why, and what to do.",
    412: "It has been changed since the ETag of If-Match.",
    413: "It is more than this address takes.",
    415: "Only JSON is read.",
    422: "The Idempotency-Key was used for another request.",
}


class TimeOfDay(OpenApiSerializerFieldExtension):
    """A time on the gym's own clock: the format `time` would ask for an offset (RFC 3339)."""

    target_class = "rest_framework.fields.TimeField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        pattern = "^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9](\\.[0-9]{1,6})?)?$"
        return {"type": "string", "pattern": pattern, "example": "18:00:00"}


class ProblemSchema(AutoSchema):
    """Operations with all the statuses that they can answer with, and only the parameters that they heed."""

    def _get_filter_parameters(self) -> list[dict[str, Any]]:
        listed = getattr(self.view, "action", None) == "list" or getattr(self.view, "paged", False)
        return super()._get_filter_parameters() if listed else []

    def get_override_parameters(self) -> list[OpenApiParameter]:
        header = {"type": str, "location": OpenApiParameter.HEADER, "required": False}
        found = list(super().get_override_parameters())
        if self.method == "POST" and getattr(self.view, "once", False):
            words = "Any text of yours: the same request again under the same key is done once, and answered alike."
            found.append(OpenApiParameter("Idempotency-Key", description=words, **header))
        if self.method in ("PUT", "PATCH") and getattr(self.view, "edited", False):
            words = "The ETag that the change began from: a newer row is not overwritten."
            found.append(OpenApiParameter("If-Match", description=words, **header))
        return found

    def _get_response_bodies(self, direction: str = "response") -> dict[str, Any]:
        bodies = super()._get_response_bodies(direction)
        for code in self._refusals():
            if str(code) not in bodies:
                described = OpenApiResponse(ProblemSerializer, description=WHY[code])
                body = self._get_response_for_code(described, str(code), [MEDIA_TYPE], direction)
                bodies[str(code)] = body
        return bodies

    def _refusals(self) -> list[int]:
        codes = [400, 401, 403, 404, 405, 406]
        if self.method in ("POST", "PUT", "PATCH"):
            codes += [409, 413, 415]
        if self.method == "POST":
            codes += [422]
        if self.method in ("PUT", "PATCH") and getattr(self.view, "edited", False):
            codes += [412]
        return codes
