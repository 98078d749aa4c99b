"""The page of whoever is signed in: role, colours, password, API token."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.views.decorators.http import require_POST
from rest_framework.authtoken.models import Token

from athletes.accounts.forms import NOT_YOURS, AppearanceForm, NewPasswordForm, OwnPasswordForm
from athletes.accounts.second import has_codes, may_remove
from athletes.accounts.sessions import device_in_words, sign_in_keep, sign_ins_of
from athletes.accounts.write import token_remove, token_replace
from athletes.audit.keeping import entry_as, nothing_happened


def account(request: HttpRequest) -> HttpResponse:
    form = AppearanceForm(request.POST or None, initial={"theme": request.COOKIES.get("theme", "")})
    if request.method == "POST" and form.is_valid():
        response = redirect("account")
        theme = form.cleaned_data["theme"]
        response.set_cookie("theme", theme, max_age=settings.YEAR_S, samesite="Lax", secure=request.is_secure())
        return response
    context = {
        "form": form,
        "token": Token.objects.filter(user=request.user).first(),
        # Shown once, on the page after it was made.
        "fresh_token": request.session.pop("fresh_token", ""),
        "has_codes": has_codes(request.user),
        "passkeys": request.user.passkeys.all(),
        "sign_ins": sign_ins_of(request.user),
        "this_device": device_in_words(request),
        "may_remove": may_remove(request.user, request.gym),
    }
    return render(request, "accounts/account.html", context)


@require_POST
def token(request: HttpRequest) -> HttpResponse:
    """Make or replace the API token, with the password; or remove it."""
    if "remove" in request.POST:
        token_remove(account=request.user)
        entry_as(request, "token-removed")
        messages.success(request, "The token no longer works.")
    elif not OwnPasswordForm(request.POST, request=request).is_valid():
        nothing_happened(request)
        messages.error(request, f"{NOT_YOURS} No token was made.")
    else:
        request.session["fresh_token"] = token_replace(account=request.user)
        messages.success(request, "A new token is made. Copy it now: it is shown only once.")
    return redirect("account")


class Password(auth_views.PasswordChangeView):
    template_name = "accounts/password.html"
    success_url = reverse_lazy("account")
    form_class = NewPasswordForm

    def get_form_kwargs(self) -> dict:
        return super().get_form_kwargs() | {"request": self.request}

    def form_valid(self, form) -> HttpResponse:
        response = super().form_valid(form)
        sign_in_keep(None, self.request, self.request.user)
        messages.success(self.request, "Your password is changed. Other devices and the API token are signed out.")
        return response
