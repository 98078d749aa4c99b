from athletes.models import Limitation
from athletes.selectors.gym import today


def limitation_end(*, limitation: Limitation) -> Limitation:
    """Let a limitation end today; the row stays, so that it can be seen what applied when."""
    limitation.review_on = max(limitation.starts_on, today())
    limitation.save(update_fields=["review_on", "updated_at"])
    return limitation

