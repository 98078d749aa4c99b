"""Why a test is worth doing, in words."""

# How much surer targets become when the SD of their logarithm falls by a share below each limit.
SURER = (
    (0.07, "slightly surer"), (0.15, "about a tenth surer"), (0.22, "about a fifth surer"),
    (0.29, "about a quarter surer"), (0.42, "about a third surer"), (0.58, "about twice as sure"),
    (0.71, "about three times as sure"), (1.01, "at least four times as sure"),
)  # fmt: skip


def reason_for(subject: str, times: int, sessions: int, last: str | None, benchmark: str, share: float) -> str:
    """Row is in 4 of the coming 6 sessions; the last effort was 14 months ago: Row 2000 m would make …

    `last` says how long ago the athlete was last tested there, None for never; `share` by how much the SD falls.
    """
    coming = "the coming session" if sessions == 1 else f"{times} of the coming {sessions} sessions"
    tested = f"the last effort was {last}" if last else "nothing was ever tested there"
    surer = next(words for limit, words in SURER if share < limit)
    return f"{subject[:1].upper()}{subject[1:]} is in {coming}; {tested}: {benchmark} would make those targets {surer}."
