"""What a password may not be, and what it costs to check one."""

import re

from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.exceptions import ValidationError

SHORTEST = 3  # letters of a name that count


class Argon2Hasher(Argon2PasswordHasher):
    """Argon2id as the OWASP Password Storage Cheat Sheet sets it (19 MiB, 2 passes, 1 lane; from memory).

    About 30 ms of one core, so that guessing is dear and a sign-in does not stop a small server.
    """

    time_cost, memory_cost, parallelism = 2, 19_456, 1


class NotTheDemos:
    """Refuse the password of the demo gym, which everyone can read."""

    def validate(self, password: str, user=None) -> None:
        if settings.DEMO_PASSWORD in password.casefold():
            raise ValidationError(self.get_help_text(), code="of_the_demo")

    def get_help_text(self) -> str:
        return "A password is not that of the demo, which everyone knows."


class NoNameInside:
    """Refuse a password with a part of the person's name in it."""

    def validate(self, password: str, user=None) -> None:
        if user is None:
            return
        said = f"{user.username} {user.name}".casefold()
        names = {word for word in re.split(r"[^\w]+|_", said) if len(word) >= SHORTEST}
        if any(name in password.casefold() for name in names):
            raise ValidationError(self.get_help_text(), code="name_inside")

    def get_help_text(self) -> str:
        return "A password has no part of your name in it: that is what would be guessed first."
