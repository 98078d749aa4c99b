from zoneinfo import ZoneInfo

from django.utils import timezone

from athletes.models import Gym


def gym() -> Gym:
    """The gym of this installation; one with default values, unsaved, before it is set up."""
    return Gym.objects.filter(pk=1).first() or Gym(pk=1)


def gym_zone() -> ZoneInfo:
    return ZoneInfo(Gym.objects.filter(pk=1).values_list("time_zone", flat=True).first() or "UTC")


def today():
    """Today's date where the gym is."""
    return timezone.localdate(timezone=gym_zone())
