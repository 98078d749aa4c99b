from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.audit.read import entries
from athletes.fields import whole_number


def index(request: HttpRequest) -> HttpResponse:
    """Who saw and changed what is private: for the owner."""
    about = request.GET.get("athlete", "")
    page, found = entries(request.GET.get("page"), athlete=whole_number(about))
    return render(request, "audit/audit.html", {"page": page, "entries": found, "about": about})
