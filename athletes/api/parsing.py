"""What is sent to the API: JSON, however deep somebody nests it."""

from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class Json(JSONParser):
    def parse(self, stream: Any, media_type: str | None = None, parser_context: dict | None = None) -> Any:
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None
