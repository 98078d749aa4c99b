"""Who may sign in: for the owner."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.accounts.forms import NOT_YOURS, AccountForm, OwnPasswordForm
from athletes.accounts.invitations import DAYS, invitation_address, invite_again
from athletes.accounts.read import accounts
from athletes.accounts.write import account_save, second_step_ask
from athletes.audit.keeping import nothing_happened
from athletes.models import Account


def index(request: HttpRequest) -> HttpResponse:
    context = {
        "accounts": accounts(),
        # Shown once, on the page after it was made.
        "invitation": request.session.pop("fresh_invitation", None),
        "days": DAYS,
        "own_password": OwnPasswordForm(request=request),
    }
    return render(request, "accounts/accounts.html", context)


@require_POST
def second(request: HttpRequest) -> HttpResponse:
    """Ask owners and coaches for a second step, or no longer, which takes the own password: an open page may be
    anybody's.
    """
    asked = request.POST.get("asked") == "1"
    if not asked and not OwnPasswordForm(request.POST, request=request).is_valid():
        nothing_happened(request)
        messages.error(request, f"{NOT_YOURS} A second step is still asked for.")
        return redirect("athletes:accounts")
    second_step_ask(asked=asked)
    words = "need a second step from now on" if asked else "may sign in with the password alone"
    messages.success(request, f"Owners and coaches {words}.")
    return redirect("athletes:accounts")


def create(request: HttpRequest) -> HttpResponse:
    form = AccountForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        account = account_save(account=form.instance)
        request.session["fresh_invitation"] = [str(account), invitation_address(account)]
        return redirect("athletes:accounts")
    return render(request, "accounts/account_form.html", {"form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    account = get_object_or_404(Account, pk=pk)
    form = AccountForm(request.POST or None, instance=account)
    if request.method == "POST" and form.is_valid():
        try:
            account_save(account=form.instance)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{account} is changed.")
            return _after(request, account)
    return render(request, "accounts/account_form.html", {"form": form, "account": Account.objects.get(pk=pk)})


def _after(request: HttpRequest, account: Account) -> HttpResponse:
    """Back to the list; owners who changed themselves may no longer be allowed to see it."""
    return redirect("account" if account == request.user else "athletes:accounts")


@require_POST
def invite(request: HttpRequest, pk: int) -> HttpResponse:
    """A new invitation for someone who forgot the password or lost the phone."""
    account = get_object_or_404(Account, pk=pk, is_active=True)
    if account == request.user:
        nothing_happened(request)
        messages.error(request, "Change your own password on your account's page.")
        return redirect("account")
    request.session["fresh_invitation"] = [str(account), invite_again(account)]
    return redirect("athletes:accounts")
