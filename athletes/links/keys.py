"""The key of a personal link on a device.

What is printed, photographed and sent is the whole token: a nonce, and its signature, which is the key. The first page
that it opens gives the device the key in a cookie that no script reads. From then on every address has the nonce alone,
so that no screenshot, history or address bar gives the link away. Each link has a cookie of its own, so that two
athletes on one phone never disturb each other.
"""

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from athletes.models import Link
from athletes.models.link import NONCE_LENGTH

LASTS_S = 400 * 24 * 3600  # as long as browsers keep a cookie
IN_ADDRESS = "key"  # brought by the address at which an installed app begins
SAFE = ("GET", "HEAD", "OPTIONS")
OWN_PAGES = ("same-origin", "none")  # who makes a browser send something: none is the person, by typing or reloading


def cookie_of(nonce: str) -> str:
    """The name of the cookie with the key of a link. It goes with every path, since the API needs it too."""
    return f"link-{nonce}"


def key_in(token: str) -> str:
    return token[NONCE_LENGTH:]


def without_key(token: str) -> str:
    """What of a token stands in the addresses on a device."""
    return token[:NONCE_LENGTH]


def brought(said: str, request: HttpRequest) -> str | None:
    """The token that an address has by itself: printed whole, or as a nonce and the key of an installed app.

    Such an app begins with both, because some systems keep its cookies apart from those of the browser.
    """
    token = said + request.GET.get(IN_ADDRESS, "") if len(said) == NONCE_LENGTH else said
    return token if key_in(token) and Link.nonce_of(token) else None


def whole(said: str, request: HttpRequest) -> str | None:
    """The token that `said` stands for on this device: itself, or as a nonce together with the key that is kept here.

    None for a nonce to which this device has no key, whether or not there is such a link. What is no nonce comes back
    as it is, and is checked by whoever opens it.
    """
    if len(said) != NONCE_LENGTH:
        return said
    token = said + _kept(said, request)
    return token if Link.nonce_of(token) else None


def keep(response: HttpResponse, name: str, value: str, request: HttpRequest) -> None:
    """Leave a cookie on a phone for as long as it lasts, out of reach of scripts and of forms on other sites."""
    facts = {"httponly": True, "samesite": "Lax", "secure": request.is_secure()}
    response.set_cookie(name, value, max_age=LASTS_S, **facts)


def _kept(nonce: str, request: HttpRequest) -> str:
    """The key on this device. It counts for nothing in what another site makes a browser send.

    A nonce is no secret, and a cookie goes along by itself. SameSite=Lax leaves it out of what other sites send, but
    not of what another name or port of the same domain does.
    """
    if request.method not in SAFE and not _is_own(request):
        return ""
    return request.COOKIES.get(cookie_of(nonce), "")


def _is_own(request: HttpRequest) -> bool:
    """Whether a page of ours, or a person, made the browser send this. It says so itself; over plain HTTP, and of old,
    only of which address the page was."""
    if site := request.headers.get("Sec-Fetch-Site"):
        return site in OWN_PAGES
    own = (f"{request.scheme}://{request.get_host()}", *settings.CSRF_TRUSTED_ORIGINS)
    return request.headers.get("Origin", own[0]) in own
