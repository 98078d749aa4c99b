"""Which pages are entered, and what an entry says of them. (in words when looked at, in words when sent)

What is typed and logged in class has who and when in its own rows: efforts, logs, pins, publications. What a page asks
for by itself every few seconds (the rows of the floor sheet, the clock) is not entered: the page that asks is.
"""

# pages whose `pk` is an athlete
OF_ATHLETE = {
    "athletes:detail": ("the page", ""),
    "athletes:change": ("the facts", "changed the facts"),
    "athletes:limitation-create": ("", "entered a limitation"),
    "athletes:override-create": ("", "set a caution aside"),
    "athletes:link-renew": ("", "made a new link"),
    "athletes:link-revoke": ("", "took the link back"),
    "athletes:merge": ("", "made one of two athletes"),
    "sessions:cautions": ("the cautions", ""),
    "sessions:targets": ("the targets", ""),
    "sessions:curve": ("the curve", ""),
    "sessions:pace": ("the paces", ""),
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
    "athletes:merge-undo": ("", "parted two athletes again"),
    "athletes:import-keep": ("", "kept a file of results"),
    "athletes:import-take-back": ("", "took a file of results back"),
    "athletes:screen-link": ("", "made a new link for the wall"),
    "athletes:account-create": ("", "invited somebody"),
    "athletes:account-change": ("", "changed an account"),
    "athletes:accounts-second": ("", "changed whether a second step is asked for"),
    "athletes:account-invite": ("", "invited somebody again"),
    "athletes:gym": ("", "changed the settings"),
    "gym-archive-file": ("the whole gym, as a file", ""),
    "sessions:floor": ("the floor sheet of a class", ""),
    "sessions:floor-log-detail": ("a log", ""),
    "sessions:flags": ("who had pain or stopped", ""),
    "sessions:target": ("a target and its reasons", ""),
    "login": ("", "signed in"),
    "login-second": ("", "signed in, with a second step"),
    "passkey-answer": ("", "signed in, with a passkey"),
    "account-password": ("", "changed the own password"),
    "account-token": ("", "made an API token"),
    "account-codes": ("", "set up codes from an app"),
    "account-passkey-answer": ("", "made a passkey"),
    "account-passkey-remove": ("", "removed a passkey"),
    "account-second-off": ("", "removed the own second step"),
    "account-sign-ins-off": ("", "signed out other devices"),
    "api:limitation-list": ("limitations, by API", "entered a limitation, by API"),
    "api:limitation-detail": ("a limitation, by API", ""),
    "api:limitation-end": ("", "ended a limitation, by API"),
    "api:gym": ("", "changed the settings, by API"),
    "api:override-list": ("cautions set aside, by API", "set a caution aside, by API"),
    "api:override-detail": ("a caution set aside, by API", ""),
    "api:override-end": ("", "let a caution hold again, by API"),
    "api:merge-list": ("who is one with whom, by API", "made one of two athletes, by API"),
    "api:merge-detail": ("who is one with whom, by API", ""),
    "api:merge-undo": ("", "parted two athletes again, by API"),
    "api:effort-list": ("results, by API", ""),
    "api:effort-detail": ("a result, by API", ""),
    "api:target-list": ("targets, by API", ""),
    "api:target-detail": ("a target, by API", ""),
    "api:import-keep": ("", "kept a file of results, by API"),
    "api:import-take-back": ("", "took a file of results back, by API"),
    "api:athlete-list": ("the facts of everyone, by API", "added an athlete, by API"),
    "api:class-logs": ("the logs of a class, by API", ""),
    "api:class-floor": ("notes on a class, by API", ""),
    "api:flag-list": ("who had pain or stopped, by API", ""),
}
PAGES = OF_ATHLETE | OF_ALL
# pages that answer a form that was taken with a document, and one that was refused with an error
ANSWERED = ("api:", "passkey-answer", "account-passkey-answer")
# what else happens on a page (`keeping.entry_as`), or before anybody is signed in (`keeping.entry_of`)
EVENTS = {
    "token-removed": "removed the API token",
    "sign-in-refused": "did not get in: a wrong password was typed for this name",
    "own-password-refused": "did not go on: a wrong password was typed at an open page",
    "code-refused": "did not get in: the password was right, and the second step was not",
}


def words(page: str, changed: bool) -> str:
    looked, sent = PAGES.get(page, (page, EVENTS.get(page, page)))
    return sent if changed else f"looked at {looked}"
