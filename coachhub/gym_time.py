"""Pages show the gym's own time; the database keeps UTC."""

from django.utils import timezone

from athletes.selectors.gym import gym


class GymTimeMiddleware:
    """Load the gym as `request.gym` and activate its time zone while a page is made."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.gym = gym()
        with timezone.override(request.gym.zone):
            return self.get_response(request)
