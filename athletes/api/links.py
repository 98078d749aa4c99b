"""Personal links over the API, as on an athlete's page."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Refusals
from athletes.links.addresses import phone_address
from athletes.links.write import link_issue, link_revoke
from athletes.models import Athlete


class AddressSerializer(serializers.Serializer):
    address = serializers.CharField(help_text="Opens the athlete's pages: it is the key, and is told this once.")


class LinkViewSet(Refusals, viewsets.GenericViewSet):
    """The personal link of an athlete."""

    once = False
    queryset = Athlete.objects.all()
    serializer_class = AddressSerializer
    filter_backends: list[Any] = []

    @extend_schema(request=None, responses=AddressSerializer)
    def renew(self, request: Request, pk: int) -> Response:
        """A fresh link; an earlier one stops working at once, also when this is sent twice."""
        link = link_issue(athlete=self.get_object(), by=request.user)
        return Response({"address": phone_address(link)})

    @extend_schema(request=None, responses={204: None})
    def revoke(self, request: Request, pk: int) -> Response:
        """Stop the link; nothing where there is none."""
        link_revoke(athlete=self.get_object(), by=request.user)
        return Response(status=204)
