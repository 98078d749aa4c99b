from uuid import UUID, uuid4

from django.http import HttpRequest


def sent_key(request: HttpRequest) -> UUID:
    """The key a form carries so that sending it twice does its work once; a new one when it carries none."""
    try:
        return UUID(request.POST.get("key", ""))
    except ValueError:
        return uuid4()
