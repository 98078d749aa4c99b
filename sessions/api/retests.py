"""Whom to test, over the API: which test would change most of what is asked, and of whom."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, views
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Refusals
from athletes.gym.read import today
from sessions.retests.by_test import SHOWN, by_test
from sessions.retests.propose import retest_list


class ToTestSerializer(serializers.Serializer):
    athlete = serializers.IntegerField(source="athlete.pk")
    change = serializers.FloatField(help_text="By how much the doses that rest on it could move, as a share.")
    last = serializers.DateField(allow_null=True, help_text="Of the newest own test; null: never.")
    reason = serializers.CharField()


class RetestSerializer(serializers.Serializer):
    """A test, with the athletes of whom it would say most; `more` are not among them."""

    benchmark = serializers.IntegerField(source="benchmark.pk")
    size = serializers.CharField(help_text="What could change, in words.")
    more = serializers.IntegerField()
    athletes = ToTestSerializer(many=True, source="people")


class RetestsSerializer(serializers.Serializer):
    """The tests by what they would change, the largest first; `waiting` are those who must not go all out now."""

    sessions = serializers.IntegerField(help_text="How many of this week and the next it looks at.")
    waiting = serializers.ListField(child=serializers.IntegerField())
    tests = RetestSerializer(many=True)


class RetestsView(Refusals, views.APIView):
    """Which test would change most of what is asked, of whom. A test day is planned from it: POST /test-days/."""

    def _parameters(self) -> dict[str, bool]:
        return {"show": False, "search": False} if self.request.method == "GET" else {}

    @extend_schema(
        parameters=[
            OpenApiParameter("show", enum=list(SHOWN), description="never: never tested; old: not for half a year."),
            OpenApiParameter("search", description="Words of the name, in any order; accents and case do not matter."),
        ],
        responses=RetestsSerializer,
    )
    def get(self, request: Request) -> Response:
        shown, day = request.query_params.get("show", "all"), today()
        if shown not in SHOWN:
            raise serializers.ValidationError({"show": [f"Show {', '.join(SHOWN)}."]})
        found = retest_list(request.gym, day)
        query = request.query_params.get("search", "").replace("\0", "").strip()
        answer: dict[str, Any] = {
            "sessions": found.sessions,
            "waiting": [athlete.pk for athlete in found.waiting],
            "tests": by_test(found.lines, today=day, shown=shown, query=query),
        }
        return Response(RetestsSerializer(answer).data)
