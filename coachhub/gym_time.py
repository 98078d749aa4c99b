"""Pages show the gym's own time; the database keeps UTC."""

import time

from django.conf import settings
from django.utils import timezone

from athletes.gym.read import gym

KEPT_S = 2.0
WITHOUT_A_GYM = "/healthy"


class GymTimeMiddleware:
    """Load the gym as `request.gym` and activate its time zone while a page is made.

    Phones and walls, which come by the hundred and are not signed in, share what was read up to two seconds ago.
    """

    def __init__(self, get_response):
        self.get_response = get_response
        self._kept = None
        self._kept_until = 0.0

    def __call__(self, request):
        if request.path == WITHOUT_A_GYM:  # it answers when the database does not
            return self.get_response(request)
        signed_in = settings.SESSION_COOKIE_NAME in request.COOKIES
        if signed_in or time.monotonic() > self._kept_until:
            self._kept, self._kept_until = gym(), time.monotonic() + KEPT_S
        request.gym = self._kept
        with timezone.override(request.gym.zone):
            return self.get_response(request)
