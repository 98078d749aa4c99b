from django import forms
from django.contrib.auth.password_validation import validate_password

from athletes.models import Account


class AccountForm(forms.ModelForm):
    """An account as the owner sees it. The password is set only when one is typed."""

    password = forms.CharField(
        label="first password",
        min_length=10,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least ten characters, not only digits. Tell it in person; it can be changed after signing in.",
    )

    class Meta:
        model = Account
        fields = ["name", "username", "role", "is_active"]
        labels = {"username": "name to sign in with", "is_active": "May sign in"}
        help_texts = {
            "username": "Letters, digits and @ . + - _ only.",
            "role": "Each role may do what the earlier may.",
        }

    field_order = ["name", "username", "role", "password", "is_active"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.fields["password"].required = False
            self.fields["password"].label = "new password"
            self.fields["password"].help_text = "Only if it was forgotten. Empty: the password stays."
        else:
            del self.fields["is_active"]

    def clean(self) -> dict:
        cleaned = super().clean()
        if password := cleaned.get("password"):
            person = Account(username=cleaned.get("username", ""), name=cleaned.get("name", ""))
            try:
                validate_password(password, person)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned


class AppearanceForm(forms.Form):
    theme = forms.ChoiceField(
        label="colours",
        choices=[("", "as this device"), ("light", "light"), ("dark", "dark")],
        required=False,
        widget=forms.RadioSelect,
    )
