"""A circuit read from text over the API. Nothing of it is kept."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, views
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Refusals
from athletes.api.strict import Strict
from sessions.circuits.text.reading import MOST_LETTERS
from sessions.circuits.whiteboard import reading_of


class TextSerializer(Strict, serializers.Serializer):
    text = serializers.CharField(
        max_length=MOST_LETTERS,
        trim_whitespace=False,
        help_text="One line a station: every minute, 27 min / 12-14 cal row / 18 air squats in 40 s.",
    )


class OfferSerializer(serializers.Serializer):
    text = serializers.CharField(help_text="What the words would be instead.")
    label = serializers.CharField(help_text="What that would mean.")


class RemarkSerializer(serializers.Serializer):
    line = serializers.IntegerField(help_text="From 1.")
    start = serializers.IntegerField(help_text="The first letter in the line, from 0.")
    end = serializers.IntegerField()
    text = serializers.CharField()
    says = serializers.CharField()
    unread = serializers.BooleanField(help_text="False where it was read by a guess.")
    offers = OfferSerializer(many=True)


class ReadSerializer(serializers.Serializer):
    """The circuit, as it can be sent back to be kept once nothing is in its way."""

    circuit = serializers.JSONField(help_text="As in POST /circuits/, as far as it was read.")
    unread = serializers.ListField(child=serializers.CharField(), help_text="Lines or words that were not understood.")
    remarks = RemarkSerializer(many=True)


class ReadView(Refusals, views.APIView):
    """Read a circuit as a coach writes it on a whiteboard. Movements are given by slug."""

    @extend_schema(request=TextSerializer, responses=ReadSerializer)
    def post(self, request: Request) -> Response:
        serializer = TextSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        reading = reading_of(serializer.validated_data["text"])
        remarks: list[dict[str, Any]] = [
            {
                "line": number,
                "start": remark.start,
                "end": remark.end,
                "text": line.text[remark.start : remark.end],
                "says": remark.says,
                "unread": remark.unread,
                "offers": [{"text": offer.text, "label": offer.label} for offer in remark.offers],
            }
            for number, line in enumerate(reading.lines, start=1)
            for remark in line.remarks
        ]
        return Response({"circuit": reading.document, "unread": reading.unread, "remarks": remarks})
