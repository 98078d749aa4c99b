"""What opens one's own account besides the password, and where it is open."""

import json
from base64 import b32encode

import segno
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST

from athletes.accounts import passkeys
from athletes.accounts.forms import NOT_YOURS, OwnPasswordForm
from athletes.accounts.guessing import is_own_password
from athletes.accounts.second import (
    codes_begin,
    codes_confirm,
    may_remove,
    not_right,
    owes_second,
    second_remove,
    waits_s,
)
from athletes.accounts.sessions import device_in_words, sign_ins_end
from athletes.accounts.sign_in_views import CodeForm
from athletes.audit.keeping import entry_as, nothing_happened
from athletes.fields import from_json, whole_number

CODE_NOT_RIGHT = "This code is not right. Is the clock of the phone right? Type the one it shows now."
NEEDED = "Your gym asks for a second step. Set up another one, then this can go."
ALONE = "Your gym asks for a second step. Make a passkey, then the codes can go."


class SetUpForm(CodeForm, OwnPasswordForm):
    field_order = ("code", "password")


def second(request: HttpRequest) -> HttpResponse:
    """Where who owes the gym a second step is led, and which is all that opens until there is one."""
    if not owes_second(request.user, request.gym):
        return redirect(settings.LOGIN_REDIRECT_URL)
    return render(request, "accounts/second_owed.html", {"this_device": device_in_words(request)})


def codes(request: HttpRequest) -> HttpResponse:
    """Set up codes from an authenticator app."""
    device = codes_begin(request.user)
    form = SetUpForm(request.POST or None, request=request)
    form.fields["code"].help_text = "The six digits that the app shows now."
    if request.method == "POST" and form.is_valid():
        waited_s = waits_s(request.user, confirmed=False)
        if made := codes_confirm(request.user, form.cleaned_data["code"]):
            entry_as(request, "account-codes")
            return render(request, "accounts/codes_kept.html", {"codes": made})
        form.add_error("code", not_right(waited_s, CODE_NOT_RIGHT))
    picture = segno.make(device.config_url, error="m").svg_inline(scale=5, dark="#000", light="#fff")
    letters = b32encode(device.bin_key).decode()
    key = " ".join(letters[at : at + 4] for at in range(0, len(letters), 4))
    return render(request, "accounts/codes.html", {"form": form, "picture": mark_safe(picture), "key": key})


def second_off(request: HttpRequest) -> HttpResponse:
    """Let the password alone open the account again; asks for it."""
    if not may_remove(request.user, request.gym):
        nothing_happened(request)
        messages.error(request, ALONE)
        return redirect("account")
    form = OwnPasswordForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid():
        second_remove(request.user)
        messages.success(request, "Your password alone opens this account now.")
        return redirect("account")
    return render(request, "accounts/second_off.html", {"form": form})


@require_POST
def passkey_make_ask(request: HttpRequest) -> HttpResponse:
    return passkeys.ask_to_make(request.user)


@require_POST
def passkey_make_answer(request: HttpRequest) -> HttpResponse:
    try:
        said = from_json(request.body)
        if not is_own_password(request, str(said["password"])):
            return JsonResponse({"words": NOT_YOURS}, status=422)
        passkeys.make(request, request.user, json.dumps(said["answer"]), str(said.get("name", "")))
    except (ValueError, KeyError, TypeError, RecursionError):
        return JsonResponse({"words": "That cannot be read."}, status=400)
    except passkeys.Refused as reason:
        return JsonResponse({"words": str(reason)}, status=422)
    messages.success(request, "The passkey is kept: it opens your account without a password.")
    return JsonResponse({})


@require_POST
def passkey_remove(request: HttpRequest, pk: int) -> HttpResponse:
    if not may_remove(request.user, request.gym, passkey=pk):
        nothing_happened(request)
        messages.error(request, NEEDED)
    elif request.user.passkeys.filter(pk=pk).delete()[0]:
        messages.success(request, "The passkey no longer opens anything.")
    else:
        nothing_happened(request)
    return redirect("account")


@require_POST
def sign_ins_off(request: HttpRequest) -> HttpResponse:
    """Sign out elsewhere: one device, or all others."""
    only = whole_number(request.POST.get("only", ""))
    ended = sign_ins_end(request.user, but=request.session.session_key, only=only)
    if not ended:
        nothing_happened(request)
    messages.success(request, f"{ended} other {'device is' if ended == 1 else 'devices are'} signed out.")
    return redirect("account")
