import json
from datetime import date, timedelta
from functools import lru_cache

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils import timezone

from athletes.estimates.people import people_of
from athletes.estimates.read import numbers_of
from athletes.links.addresses import calendar_address
from athletes.links.read import athlete_for_token, link_for_token
from athletes.models import Athlete, Link
from sessions.boards import files
from sessions.phone import trends
from sessions.phone.forms import RPE_WORDS
from sessions.phone.private import Here, Page, answer, gone, here, made, shell
from sessions.phone.read import Opened, opened_by
from sessions.phone.stored import stored_of
from sessions.progress import read as ways
from sessions.progress.athlete import curves_compared
from sessions.progress.benchmarks import predicted
from sessions.progress.forms import A_YEAR
from sessions.progress.glance import Answer, answers
from sessions.progress.read import Done, ResultHistory
from sessions.progress.report import goals
from sessions.weeks.read import monday_of


def today(request: HttpRequest, token: str) -> HttpResponse:
    """Today's session of one athlete; on a free day the next one of the week."""
    return _frozen(request, token, "today")


def week(request: HttpRequest, token: str) -> HttpResponse:
    """All sessions of the athlete's week and the next."""
    return _frozen(request, token, "week")


def numbers(request: HttpRequest, token: str) -> HttpResponse:
    """The athlete's own benchmarks and what they say."""
    return _of_athlete(request, token, "numbers", numbers_of)


def progress(request: HttpRequest, token: str) -> HttpResponse:
    """Results over the years, what was asked and done, and the load of the weeks."""
    return _of_athlete(request, token, "progress", _progress_of)


def settings(request: HttpRequest, token: str) -> HttpResponse:
    """What this device does, and what it keeps."""
    return _of_athlete(request, token, "settings", lambda athlete: _settings_of(link_for_token(token)))


def stored(request: HttpRequest, token: str) -> HttpResponse:
    """What is kept of the athlete, what for, and who looked at it."""
    return _of_athlete(request, token, "stored", stored_of)


def sessions_of(opened: Opened, day: date) -> list[dict]:
    """The frozen sessions that a link opens, by their day: with `past` (may be logged) and `logged` (log, RPE)."""
    sessions = [session for name in opened.pages for session in json.loads(files.read(name))["sessions"]]
    logged = dict(opened.logged)
    for session in sessions:
        session["past"] = session["date"] <= day.isoformat()
        session["logged"] = logged.get((session["key"], session["date"]))
    return sorted(sessions, key=lambda session: session["date"])


def _frozen(request: HttpRequest, token: str, page: str) -> HttpResponse:
    day = timezone.localdate()
    monday = monday_of(day)
    opened = opened_by(token, [monday, monday + timedelta(days=7)])
    if opened is None:
        return gone(request)
    return answer(request, _rendered(page, token, opened, here(request.gym), day))


@lru_cache(maxsize=600)
def _rendered(page: str, token: str, opened: Opened, gym: Here, day: date) -> Page:
    """A page made of frozen files; kept in memory by everything it is made of, so that it can never be stale."""
    sessions = _whole_classes(sessions_of(opened, day))
    context = {**shell(page, token, opened.athlete_key, opened.name, gym), "today": day, "sessions": sessions}
    if page == "today":
        coming = [s for s in sessions if s["date"] >= day.isoformat()]
        shown = [s for s in coming if s["date"] == coming[0]["date"]]
        is_today = bool(shown) and shown[0]["date"] == day.isoformat()
        context |= {"sessions": shown, "is_today": is_today, "rpe_words": RPE_WORDS}
    return made(render_to_string(f"phone/phone_{page}.html", context))


def _whole_classes(sessions: list[dict]) -> list[dict]:
    """The classes among frozen sessions, each of its parts that has a circuit with that circuit's session as `own`."""
    found = {(session["key"], session["date"]): session for session in sessions}
    for session in sessions:
        for part in session.get("parts", ()):
            part["own"] = found.get((part["key"], session["date"]))
    return [session for session in sessions if "part_of" not in session]


def _of_athlete(request: HttpRequest, token: str, page: str, facts) -> HttpResponse:
    athlete = athlete_for_token(token)
    if athlete is None:
        return gone(request)
    context = shell(page, token, str(athlete.key), athlete.name, here(request.gym))
    context |= {"athlete": athlete, "today": timezone.localdate(), **facts(athlete)}
    return answer(request, made(render_to_string(f"phone/phone_{page}.html", context)))


def _settings_of(link: Link) -> dict:
    """Of the link that opened the page: somebody merged may hold another than whom they are now."""
    return {"calendar": calendar_address(link), "limited": bool(link.only_device)}


def _progress_of(athlete: Athlete) -> dict:
    day = timezone.localdate()
    done, found = ways.sessions_done(athlete, day), ways.histories(athlete)
    weeks = ways.week_loads(done, day)
    return {
        "answers": _answers_of(athlete, found, done, day) if found or done else [],
        "histories": [(history, trends.of_history(history)) for history in found],
        "done": done[::-1],
        "done_trend": trends.of_done(done),
        "weeks": [week for week in weeks[::-1] if week.sessions],
        "load_trend": trends.of_loads(weeks),
    }


def _answers_of(athlete: Athlete, found: list[ResultHistory], done: list[Done], day: date) -> list[Answer]:
    """The three answers; who must not go all out is not told how near a best is."""
    people, then = people_of([athlete]), day - A_YEAR
    caution, next_up = goals(athlete, found, predicted(people, [history.benchmark for history in found]), day)
    curves = curves_compared(athlete, found, then, day)
    return answers(found, curves, done, "", [] if caution else next_up, then, day)
