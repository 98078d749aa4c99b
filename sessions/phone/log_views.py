from datetime import timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from athletes.links.keys import without_key
from athletes.models import Athlete
from athletes.words import bar_unit
from sessions.boards.phone import to_log
from sessions.logs.read import ends_of_classes, session_to_log
from sessions.logs.write import MOST_ROUNDS, MOST_TIMES
from sessions.phone.forms import RPE_WORDS, UNFINISHED, PhoneLogForm, mark_of, read_mark
from sessions.phone.logs import form_log_write
from sessions.phone.private import answer, gone, here, made, shell
from sessions.phone.read import Opened, logs_with_entries, opened_by
from sessions.phone.views import sessions_of
from sessions.weeks.read import monday_of

NO_SESSION = "No session of that day had targets for you. Look at your week, or ask a coach."
NOT_YET = "That session is still to come. Log it from its day on."


@csrf_exempt  # nobody can make a browser send this without knowing the link, or with the key that it keeps: links.keys
def log(request: HttpRequest, token: str) -> HttpResponse:
    """Log a session of the last, this or the next week: by script as it happens, without one by a plain form."""
    opened = _opened(token)
    if opened is None:
        return gone(request)
    if request.method != "POST":
        return _page(request, token, opened, request.GET.get("on", ""))
    mark = read_mark(request.POST.get("mark", ""))
    on = f"{mark[1]}.{mark[0]}" if mark else ""
    errors = _take(request, opened, *mark) if mark else [UNFINISHED]
    if errors:
        return _page(request, token, opened, on, errors=errors, status=422)
    return HttpResponseRedirect(f"{reverse('sessions:phone-log', args=[without_key(token)])}?on={on}")


def _take(request: HttpRequest, opened: Opened, key: UUID, day: str) -> list[str]:
    """Keep what the form says; what is to be mended, or nothing."""
    asked = next((s for s in _to_log(opened) if s["key"] == str(key) and s["date"] == day), None)
    athlete = Athlete.objects.get(pk=opened.athlete_id)
    session = session_to_log(athlete, key, day) if asked else None
    if session is None:
        return [NO_SESSION]
    if not asked["past"]:
        return [NOT_YET]
    form = PhoneLogForm(request.POST, asked["log"], asked.get("format", ""))
    if not form.is_valid():
        return form.sentences()
    try:
        form_log_write(athlete=athlete, session=session, mark=request.POST["mark"], content=form.content())
    except ValidationError as error:
        return error.messages
    return []


def _page(request: HttpRequest, token: str, opened: Opened, on: str, errors=(), status: int = 200) -> HttpResponse:
    sessions = _to_log(opened)
    past = [session for session in sessions if session["past"]]
    chosen = next((s for s in past if f"{s['date']}.{s['key']}" == on), past[0] if past else None)
    context = shell("log", token, opened.athlete_key, opened.name, here(request.gym)) | {
        "sessions": sessions,
        "chosen": chosen,
        "errors": errors,
        "typed": request.POST if errors else {},
        "rpe_words": RPE_WORDS,
        "today": timezone.localdate(),
    }
    return answer(request, made(render_to_string("phone/phone_log.html", context)), status)


def _opened(token: str) -> Opened | None:
    monday = monday_of(timezone.localdate())
    return opened_by(token, [monday + timedelta(weeks=week) for week in (-1, 0, 1)])


def _to_log(opened: Opened) -> list[dict]:
    """The sessions of three weeks, the latest first, each with what was logged, or else asked, at its stations."""
    sessions = sessions_of(opened, timezone.localdate())[::-1]
    _as_done(opened.athlete_id, sessions)
    logs = logs_with_entries([log for _, (log, _) in opened.logged])
    for session in sessions:
        if title := session.get("title"):
            session["name"] = f"{title}: {session['name']}"
        standing = logs.get(session["logged"][0]) if session["logged"] else None
        entries = {entry.station: entry for entry in standing.entries.all()} if standing else {}
        session["standing"] = standing
        session["mark"] = mark_of(session["key"], session["date"], str(standing.key) if standing else "-")
        session["log"] = [
            _station(station, session["rotations"], entries.get(station["station"]), session.get("format") == "as_many")
            for station in session.get("log", ())  # pages frozen before there were logs have none
        ]
    return sessions


def _as_done(athlete_id: int, sessions: list[dict]) -> None:
    """What was published after somebody's class was over is not what they did: ask about what stood there then."""
    day = timezone.localdate()
    ended = ends_of_classes(athlete_id, day)
    todays = [s for s in sessions if s["date"] == day.isoformat() and UUID(s.get("part_of", s["key"])) in ended]
    athlete = Athlete.objects.get(pk=athlete_id) if todays else None
    for session in todays:
        done = session_to_log(athlete, UUID(session["key"]), day)
        if done and done.publication.state != done.publication.State.LIVE:
            targets = list(done.targets.filter(athlete=athlete).order_by("station"))
            session["log"] = to_log(done.definition, targets, first_time=bool(session.get("first_time")))


def _station(station: dict, rotations: int, entry, as_many: bool) -> dict:
    """What was asked, the figures to begin with, and how far they may go (sessions.logs.write takes no more)."""
    asked = station.get("rounds", rotations)  # pages frozen before everyone had rounds of their own
    return {
        **station,
        "asked_rounds": asked,
        "rounds": entry.rounds if entry else asked,
        "done": entry.dose if entry else None if station.get("feel") else station["dose"],
        "load_unit": bar_unit(station["load_kg"]),
        "load": entry.load_kg if entry else station["load_kg"],
        "last": entry.open_last if entry else None,
        "most": MOST_TIMES * max(station["written"], station["dose"]),
        "most_rounds": MOST_ROUNDS if as_many else 2 * rotations,
        "step": 5 if station["kind"] in ("metres", "seconds") else 1,
    }
