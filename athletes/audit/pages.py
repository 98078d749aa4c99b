"""Which pages are entered, and what an entry says of them. (in words when looked at, in words when sent)

What is typed and logged in class has who and when in its own rows: efforts, logs, pins, publications.
"""

# pages whose `pk` is an athlete
OF_ATHLETE = {
    "athletes:detail": ("the page", ""),
    "athletes:change": ("the facts", "changed the facts"),
    "athletes:limitation-create": ("", "entered a limitation"),
    "athletes:override-create": ("", "set a caution aside"),
    "athletes:link-renew": ("", "made a new link"),
    "athletes:link-revoke": ("", "took the link back"),
    "sessions:cautions": ("the cautions", ""),
    "sessions:progress-athlete": ("the progress", ""),
    "sessions:progress-report": ("the report", ""),
    "sessions:everything": ("everything, as a file", ""),
    "sessions:erase": ("", "erased the athlete"),
    "api:athlete-detail": ("the facts, by API", "changed the facts, by API"),
    "api:athlete-link-renew": ("", "made a new link, by API"),
    "api:athlete-link-revoke": ("", "took the link back, by API"),
    "api:athlete-estimates": ("the numbers, by API", ""),
    "api:athlete-progress": ("the progress, by API", ""),
}
# pages of everyone, or whose view says whom they are about (`keeping.entry_about`)
OF_ALL = {
    "athletes:export": ("a table of everyone", ""),
    "sessions:export": ("a table of everyone", ""),
    "athletes:roster": ("everyone's links", "made missing links"),
    "athletes:limitation-end": ("", "ended a limitation"),
    "athletes:override-end": ("", "let a caution hold again"),
    "athletes:import-keep": ("", "kept a file of results"),
    "athletes:screen-link": ("", "made a new link for the wall"),
    "athletes:account-create": ("", "invited somebody"),
    "athletes:account-change": ("", "changed an account"),
    "athletes:accounts-second": ("", "changed whether a second step is asked for"),
    "athletes:account-invite": ("", "invited somebody again"),
    "athletes:gym": ("", "changed the settings"),
    "gym-archive-file": ("the whole gym, as a file", ""),
    "account-password": ("", "changed the own password"),
    "account-token": ("", "made or removed an API token"),
    "api:limitation-list": ("limitations, by API", "entered a limitation, by API"),
    "api:limitation-detail": ("a limitation, by API", ""),
    "api:limitation-end": ("", "ended a limitation, by API"),
    "api:gym": ("", "changed the settings, by API"),
    "api:import-keep": ("", "kept a file of results, by API"),
    "api:athlete-list": ("the facts of everyone, by API", "added an athlete, by API"),
    "api:class-logs": ("the logs of a class, by API", ""),
    "api:class-floor": ("notes on a class, by API", ""),
    "api:flag-list": ("who had pain or stopped, by API", ""),
}
PAGES = OF_ATHLETE | OF_ALL


def words(page: str, changed: bool) -> str:
    looked, sent = PAGES.get(page, (page, page))
    return sent if changed else f"looked at {looked}"
