"""A request as it reaches a page of the staff."""

from django.http import HttpRequest

from athletes.models import Account, Gym


class StaffRequest(HttpRequest):
    """Signed in, with the gym loaded: the access rule and `coachhub.gym_time` have seen to it."""

    user: Account
    gym: Gym
