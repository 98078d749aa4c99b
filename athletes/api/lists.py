"""Lists of the API: their pages, what is looked for in them, and their order."""

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet
from rest_framework import filters, pagination, serializers
from rest_framework.request import Request

MOST_ON_A_PAGE = 500


class Pages(pagination.PageNumberPagination):
    """`page`, and `page_size` up to 500; anything else is refused."""

    page_size_query_param = "page_size"
    max_page_size = MOST_ON_A_PAGE

    def get_page_size(self, request: Request) -> int | None:
        sent = request.query_params.get("page_size")
        if sent is None:
            return self.page_size
        if not (sent.isascii() and sent.isdecimal() and 1 <= int(sent[:9]) <= MOST_ON_A_PAGE and len(sent) < 9):
            raise serializers.ValidationError({"page_size": [f"Send a whole number from 1 to {MOST_ON_A_PAGE}."]})
        return int(sent)

    def get_schema_operation_parameters(self, view: Any) -> list[dict]:
        found = super().get_schema_operation_parameters(view)
        for parameter in found:
            parameter["schema"] |= {"minimum": 1}
            if parameter["name"] == "page_size":
                parameter["schema"] |= {"maximum": MOST_ON_A_PAGE}
        return found


class Search(filters.BaseFilterBackend):
    """`search`: those whose name has all the words, without accents and case, in any order (`view.search`)."""

    def filter_queryset(self, request: Request, queryset: QuerySet, view: Any) -> QuerySet:
        query = request.query_params.get("search", "").replace("\0", "").strip()
        return queryset.filter(pk__in=view.search(query)) if query and hasattr(view, "search") else queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict]:
        if not hasattr(view, "search"):
            return []
        words = "Words of the name, in any order; accents and case do not matter."
        return [
            {"name": "search", "required": False, "in": "query", "description": words, "schema": {"type": "string"}}
        ]


class Ordering(filters.OrderingFilter):
    """`ordering`: fields of `view.ordering_fields` with commas between, a minus for downwards; others are refused."""

    def remove_invalid_fields(self, queryset: QuerySet, fields: Iterable[str], view: Any, request: Request) -> list:
        valid = super().remove_invalid_fields(queryset, fields, view, request)
        if len(valid) < len(list(fields)):
            raise serializers.ValidationError({"ordering": [f"Order by {', '.join(view.ordering_fields)}."]})
        return [*valid, "pk"] if valid else valid

    def get_schema_operation_parameters(self, view: Any) -> list[dict]:
        names = [f"{sign}{name}" for name in getattr(view, "ordering_fields", ()) for sign in ("", "-")]
        if not names:
            return []
        return [
            {
                "name": "ordering",
                "required": False,
                "in": "query",
                "explode": False,
                "description": "Fields to order by, with commas between; a minus before one turns it round.",
                "schema": {"type": "array", "items": {"type": "string", "enum": names}, "minItems": 1},
            }
        ]
