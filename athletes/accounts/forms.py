from django import forms
from django.contrib.auth.forms import PasswordChangeForm

from athletes.accounts.guessing import is_own_password
from athletes.models import Account

NOT_YOURS = "This is not your password."


class AccountForm(forms.ModelForm):
    """An account as the owner sees it. Its password is chosen by whoever it is for, through an invitation."""

    class Meta:
        model = Account
        fields = ["name", "username", "role", "is_active"]
        labels = {"username": "name to sign in with", "is_active": "May sign in"}
        help_texts = {
            "username": "Letters, digits and @ . + - _ only.",
            "role": "Each role may do what the earlier may.",
        }

    field_order = ["name", "username", "role", "is_active"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not self.instance.pk:
            del self.fields["is_active"]


class AppearanceForm(forms.Form):
    theme = forms.ChoiceField(
        label="colours",
        choices=[("", "as this device"), ("light", "light"), ("dark", "dark")],
        required=False,
        widget=forms.RadioSelect,
    )


class OwnPasswordForm(forms.Form):
    """Asked for where something new would open the account from then on: an open page may be anybody's."""

    password = forms.CharField(
        label="your password",
        strip=False,
        max_length=4096,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args, request, **kwargs):
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_password(self) -> str:
        if not is_own_password(self.request, self.cleaned_data["password"]):
            raise forms.ValidationError(NOT_YOURS)
        return self.cleaned_data["password"]


class NewPasswordForm(PasswordChangeForm):
    def __init__(self, *args, request, **kwargs):
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_old_password(self) -> str:
        if not is_own_password(self.request, self.cleaned_data["old_password"]):
            raise forms.ValidationError(self.error_messages["password_incorrect"], code="password_incorrect")
        return self.cleaned_data["old_password"]
