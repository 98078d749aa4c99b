"""Signing in: a password and, where the account asks for it, a second step; or a passkey alone."""

import json
import time
from ipaddress import ip_address

from django import forms
from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth import views as auth_views
from django.contrib.auth.forms import AuthenticationForm, SetPasswordForm
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.request import split_domain_port
from django.shortcuts import redirect, render, resolve_url
from django.urls import reverse_lazy
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_POST

from athletes.accounts import passkeys
from athletes.accounts.guessing import remember
from athletes.accounts.read import anyone
from athletes.accounts.second import asks_for_second, code_is_right, not_right, waits_s
from athletes.audit.keeping import entry_of
from athletes.fields import from_json
from athletes.models import Account

BACKEND = "django.contrib.auth.backends.ModelBackend"
HALF, HALF_LASTS_S = "half_signed_in", 600
CODE_NOT_RIGHT = "This code is not right, or was used. Wait for the next one, then type that."
DEMO_AT_HOME = (
    "The demo's password works only on the machine that runs it. Make an account of your own there: "
    "python3 manage.py owner NAME. To let others try the demo: python3 manage.py start --demo-open."
)
THIS_MACHINE = ("localhost", "127.0.0.1", "[::1]")


class PasswordForm(AuthenticationForm):
    def clean(self) -> dict:
        typed = self.cleaned_data.get("password", "")
        if constant_time_compare(typed, settings.DEMO_PASSWORD) and not _demo_may_be_used(self.request):
            raise ValidationError(DEMO_AT_HOME)
        return super().clean()


class CodeForm(forms.Form):
    code = forms.CharField(
        max_length=20,
        help_text="Six digits from your authenticator app, or one of the codes that you keep on paper.",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric", "autofocus": True}),
    )


class SignIn(auth_views.LoginView):
    authentication_form = PasswordForm
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs) -> dict:
        return super().get_context_data(**kwargs) | {"anyone": anyone}

    def form_valid(self, form: PasswordForm) -> HttpResponse:
        account = form.get_user()
        if not asks_for_second(account):
            return _signed_in(self.request, account, self.get_success_url())
        self.request.session.flush()
        self.request.session[HALF] = [account.pk, time.time(), self.get_success_url()]
        return redirect("login-second")


def second(request: HttpRequest) -> HttpResponse:
    """The second step, for who has given the right password within the last ten minutes."""
    pk, since, onward = request.session.get(HALF, (None, 0, ""))
    account = Account.objects.filter(pk=pk, is_active=True).first()
    if account is None or time.time() - since > HALF_LASTS_S:
        return redirect("login")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        waited_s = waits_s(account)
        if code_is_right(account, form.cleaned_data["code"]):
            return _signed_in(request, account, onward)
        if not waited_s:
            entry_of(account, "code-refused")
        form.add_error("code", not_right(waited_s, CODE_NOT_RIGHT))
    return render(request, "accounts/second.html", {"form": form})


@require_POST
def passkey_ask(request: HttpRequest) -> HttpResponse:
    return passkeys.ask_to_use()


@require_POST
def passkey_answer(request: HttpRequest) -> HttpResponse:
    try:
        said = from_json(request.body)
        account = passkeys.used(request, json.dumps(said), str(said.get("id", "")))
    except (ValueError, AttributeError, RecursionError):
        return JsonResponse({"words": "That cannot be read."}, status=400)
    except passkeys.Refused as reason:
        return JsonResponse({"words": str(reason)}, status=422)
    onward = resolve_url(settings.LOGIN_REDIRECT_URL)
    response = JsonResponse({"onward": onward})
    login(request, account, backend=BACKEND)
    remember(request, response, account)
    return response


class Invitation(auth_views.PasswordResetConfirmView):
    """Choose the password of an account that somebody was invited to, and get in from there whoever guesses."""

    template_name = "accounts/invitation.html"
    success_url = reverse_lazy("login")

    def form_valid(self, form: SetPasswordForm) -> HttpResponse:
        response = super().form_valid(form)
        remember(self.request, response, self.user)
        return response


def _signed_in(request: HttpRequest, account: Account, onward: str) -> HttpResponse:
    login(request, account, backend=BACKEND)
    request.session.pop(HALF, None)
    response = redirect(onward)
    remember(request, response, account)
    return response


def _demo_may_be_used(request: HttpRequest) -> bool:
    """Only by whoever sits at the machine itself, unless whoever runs it says otherwise."""
    if settings.DEMO_OPEN:
        return True
    host, _ = split_domain_port(request.get_host())
    try:
        return host in THIS_MACHINE and ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False
