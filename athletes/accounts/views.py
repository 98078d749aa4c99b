"""Who may sign in: for the owner."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.accounts.forms import AccountForm
from athletes.accounts.write import account_save
from athletes.models import Account


def index(request: HttpRequest) -> HttpResponse:
    return render(request, "accounts/accounts.html", {"accounts": Account.objects.order_by("-is_active", "name")})


def create(request: HttpRequest) -> HttpResponse:
    form = AccountForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        account = account_save(account=form.instance, password=form.cleaned_data["password"])
        messages.success(request, f"{account} can sign in as {account.username} with the password you typed.")
        return redirect("athletes:accounts")
    return render(request, "accounts/account_form.html", {"form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    account = get_object_or_404(Account, pk=pk)
    form = AccountForm(request.POST or None, instance=account)
    if request.method == "POST" and form.is_valid():
        try:
            account_save(account=form.instance, password=form.cleaned_data["password"])
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{account} is changed.")
            return _after(request, account)
    return render(request, "accounts/account_form.html", {"form": form, "account": Account.objects.get(pk=pk)})


def _after(request: HttpRequest, account: Account) -> HttpResponse:
    """Back to the list; owners who changed themselves stay signed in, and may no longer be allowed to see the list."""
    if account != request.user:
        return redirect("athletes:accounts")
    update_session_auth_hash(request, account)
    return redirect("account")
