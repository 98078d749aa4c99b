from athletes.models import Account


def anyone() -> bool:
    """Whether there is an account that can sign in. One query."""
    return Account.objects.filter(is_active=True).exists()
