"""Pages of people who are signed in stay in no cache: the next one at the same tablet must not find them with Back."""

from django.http import HttpRequest, HttpResponse


class NotKeptMiddleware:
    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        private = request.session.accessed or "HTTP_AUTHORIZATION" in request.META
        if private and not response.has_header("Cache-Control"):
            response["Cache-Control"] = "private, no-store"
        return response
