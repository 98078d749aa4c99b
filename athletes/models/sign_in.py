"""How people who have an account got in, and what they can get in with besides a password."""

from django.db import models


class SignIn(models.Model):
    """One log-in session that is open: on which kind of device, since when, and when it was last seen."""

    account = models.ForeignKey("athletes.Account", models.CASCADE, related_name="sign_ins")
    session_key = models.CharField(max_length=40, unique=True)
    device = models.CharField(max_length=80, blank=True, help_text="As its browser names itself, in a few words.")
    made_at = models.DateTimeField(auto_now_add=True)
    seen_at = models.DateTimeField(help_text="To the hour.")

    class Meta:
        ordering = ["-seen_at"]

    def __str__(self) -> str:
        return self.device or "a device"


class Passkey(models.Model):
    """A key that one account's phone, computer or security key holds (WebAuthn); only its public half is here."""

    account = models.ForeignKey("athletes.Account", models.CASCADE, related_name="passkeys")
    credential = models.CharField(max_length=1400, unique=True, help_text="Its id, in base64url.")
    public_key = models.CharField(max_length=2000, help_text="In base64url.")
    uses = models.PositiveBigIntegerField(default=0, help_text="As the key counts them, where it does.")
    name = models.CharField(max_length=60)
    made_at = models.DateTimeField(auto_now_add=True)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at"]

    def __str__(self) -> str:
        return self.name
