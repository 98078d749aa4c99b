"""API tokens, as the database keeps them."""

from django.utils.crypto import salted_hmac


def kept_as(token: str) -> str:
    """What is kept of an API token: whoever reads the database can use none of them. 160 bits, as the column holds."""
    return salted_hmac("api-token", token, algorithm="sha256").hexdigest()[:40]
