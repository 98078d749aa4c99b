"""Passkeys (WebAuthn level 2): made and checked by the library webauthn; the challenge travels in a signed cookie."""

from base64 import urlsafe_b64encode
from urllib.parse import urlsplit

import webauthn
from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from athletes.models import Account, Passkey

COOKIE, SALT = "passkey", "accounts.passkey"
LASTS_S = 300
MOST = 10  # passkeys of one account
CHECKED = UserVerificationRequirement.REQUIRED  # by finger, face or PIN: so it stands for both steps


class Refused(Exception):
    """The answer of a key that is not taken."""


def ask_to_make(account: Account) -> HttpResponse:
    """What the browser needs to make a passkey for this account."""
    there = [PublicKeyCredentialDescriptor(id=base64url_to_bytes(p.credential)) for p in account.passkeys.all()]
    options = webauthn.generate_registration_options(
        rp_id=_host(),
        rp_name="coachhub",
        user_id=salted_hmac(SALT, str(account.pk), algorithm="sha256").digest(),
        user_name=account.username,
        user_display_name=str(account),
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.REQUIRED, user_verification=CHECKED
        ),
        exclude_credentials=there,
    )
    return _asked(options)


def make(request: HttpRequest, account: Account, answer: str, name: str) -> Passkey:
    """Keep the passkey that the browser made. Refused when it is not what was asked for."""
    if account.passkeys.count() >= MOST:
        raise Refused(f"An account has at most {MOST} passkeys. Remove one first.")
    try:
        found = webauthn.verify_registration_response(
            credential=answer,
            expected_challenge=_challenge(request),
            expected_rp_id=_host(),
            expected_origin=settings.SITE_URL,
            require_user_verification=True,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError) as reason:
        raise Refused("The passkey was not kept: what came back is not what was asked for. Try again.") from reason
    facts = {
        "account": account,
        "public_key": bytes_to_base64url(found.credential_public_key),
        "uses": found.sign_count,
        "name": name.strip()[:60] or "Passkey",
    }
    kept, _ = Passkey.objects.get_or_create(credential=bytes_to_base64url(found.credential_id), defaults=facts)
    if kept.account_id != account.pk:
        raise Refused("This passkey opens another account already.")
    return kept


def ask_to_use() -> HttpResponse:
    """What the browser needs to let somebody choose one of their passkeys."""
    return _asked(webauthn.generate_authentication_options(rp_id=_host(), user_verification=CHECKED))


def used(request: HttpRequest, answer: str, credential: str) -> Account:
    """Whose passkey has answered. Refused for an unknown one, and for an answer to another question."""
    passkey = Passkey.objects.select_related("account").filter(credential=credential, account__is_active=True).first()
    if passkey is None:
        raise Refused("This passkey is not known here. Sign in with your password.")
    try:
        found = webauthn.verify_authentication_response(
            credential=answer,
            expected_challenge=_challenge(request),
            expected_rp_id=_host(),
            expected_origin=settings.SITE_URL,
            credential_public_key=base64url_to_bytes(passkey.public_key),
            credential_current_sign_count=passkey.uses,
            require_user_verification=True,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError) as reason:
        raise Refused("The passkey was not taken. Try again, or sign in with your password.") from reason
    passkey.uses, passkey.used_at = found.new_sign_count, timezone.now()
    passkey.save(update_fields=["uses", "used_at"])
    return passkey.account


def _asked(options) -> HttpResponse:
    response = HttpResponse(webauthn.options_to_json(options), content_type="application/json")
    challenge = urlsafe_b64encode(options.challenge).decode()
    response.set_cookie(
        COOKIE,
        signing.dumps(challenge, salt=SALT),
        max_age=LASTS_S,
        httponly=True,
        samesite="Strict",
        secure=settings.HTTPS,
    )
    return response


def _challenge(request: HttpRequest) -> bytes:
    try:
        return base64url_to_bytes(signing.loads(request.COOKIES.get(COOKIE, ""), salt=SALT, max_age=LASTS_S))
    except signing.BadSignature as reason:
        raise ValueError("the question is too old") from reason


def _host() -> str:
    return urlsplit(settings.SITE_URL).hostname or ""
