"""The gym's settings over the API, as the owner's page has them."""

from typing import Any

from django.db import transaction
from rest_framework import mixins, serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Edited, HourField, Refusals
from athletes.api.serializers import refuse_by_the_models_rules
from athletes.api.strict import Strict
from athletes.fields import MOST_CLASS_TIMES
from athletes.gym.forms import HEAT, LEFT_IN_THE_TANK
from athletes.gym.read import gym
from athletes.models import Gym
from athletes.models.gym import validate_time_zone


class GymSerializer(Strict, serializers.ModelSerializer):
    """`headroom_…` is what is left in the tank on such a day, `sure` how many should hold a dose: both as shares."""

    time_zone = serializers.CharField(max_length=60, validators=[validate_time_zone], help_text="As Europe/Lisbon.")
    class_times = serializers.ListField(child=HourField(), max_length=MOST_CLASS_TIMES)

    class Meta:
        model = Gym
        fields = ["name", "time_zone", "altitude_m", "class_times", "class_minutes", *LEFT_IN_THE_TANK, "sure", *HEAT]
        fields += ["local_rules"]

    def to_representation(self, gym: Gym) -> dict:
        return {**super().to_representation(gym), "class_times": gym.class_times}

    def validate_class_times(self, times: list) -> list[str]:
        return [f"{hour:%H:%M}" for hour in sorted(set(times))]

    def validate(self, values: dict) -> dict:
        return refuse_by_the_models_rules(self, values)


class GymViewSet(Refusals, Edited, mixins.RetrieveModelMixin, mixins.UpdateModelMixin, viewsets.GenericViewSet):
    """The settings of the gym. They hold in everything published from now on."""

    queryset = Gym.objects.all()
    serializer_class = GymSerializer
    filter_backends: list[Any] = []

    def get_object(self) -> Gym:
        return gym()

    @transaction.atomic
    def update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        Gym.objects.get_or_create(pk=kwargs["pk"])  # there is one gym, set up or not
        return super().update(request, *args, **kwargs)
