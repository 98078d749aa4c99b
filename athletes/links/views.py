from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from athletes.links.addresses import phone_address, screen_address
from athletes.links.devices import link_limit, named
from athletes.links.keys import cookie_of, without_key
from athletes.links.read import links_of_active, screen_link
from athletes.links.write import link_issue, link_revoke, links_issue_missing, screen_link_issue
from athletes.models import Athlete


@require_POST
def renew(request: HttpRequest, pk: int) -> HttpResponse:
    athlete = get_object_or_404(Athlete, pk=pk)
    link_issue(athlete=athlete, by=request.user)
    messages.success(request, f"{athlete} has a new link. An earlier one no longer opens anything.")
    return redirect("athletes:detail", pk)


@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    athlete = get_object_or_404(Athlete, pk=pk)
    link_revoke(athlete=athlete, by=request.user)
    messages.success(request, f"The link of {athlete} no longer opens anything.")
    return redirect("athletes:detail", pk)


@csrf_exempt  # nobody can make a browser send this without knowing the link, or with the key that it keeps: links.keys
@require_POST
def device(request: HttpRequest, token: str) -> HttpResponse:
    """Let a personal link open on this device alone, or on any again, or let this device forget its key."""
    if "forget" in request.POST:
        response = HttpResponse(status=204)
        response.delete_cookie(cookie_of(without_key(token)), samesite="Lax")
        return response
    if not link_limit(token=token, device=named(request) if "only" in request.POST else ""):
        return HttpResponse(status=410)
    return redirect("sessions:phone-settings", without_key(token))


def roster(request: HttpRequest) -> HttpResponse:
    """A code for each active athlete, to print and pin up or cut out."""
    if request.method == "POST":
        made = links_issue_missing(by=request.user)
        messages.success(request, f"{made} new {'link is' if made == 1 else 'links are'} made.")
        return redirect("athletes:roster")
    links = list(links_of_active())
    missing = Athlete.objects.filter(active=True).count() - len(links)
    cards = [(link.athlete, phone_address(link)) for link in links]
    return render(request, "links/roster.html", {"cards": cards, "missing": missing})


def screen(request: HttpRequest) -> HttpResponse:
    """The address that a wall screen opens."""
    if request.method == "POST":
        screen_link_issue(by=request.user)
        messages.success(request, "The wall screen has a new link. Open it there; an earlier one no longer works.")
        return redirect("athletes:screen-link")
    link = screen_link()
    context = {"link": link, "address": screen_address(link) if link else ""}
    return render(request, "links/screen_link.html", context)
