from datetime import date

from django.urls import path, register_converter

from athletes.links import views as links
from sessions.arithmetic import views as targets
from sessions.boards import views as boards
from sessions.builds import views as builds
from sessions.by_hand import many_views as pins_many
from sessions.by_hand import views as pins
from sessions.calendar import views as feeds
from sessions.cautions import views as cautions
from sessions.circuits import views as circuits
from sessions.clock import views as clock
from sessions.clock import wall_views as wall
from sessions.first_hour import views as first_hour
from sessions.floor import people_views as floor_people
from sessions.floor import tap_views as floor_taps
from sessions.floor import views as floor
from sessions.logs import views as flags
from sessions.pace import views as advice
from sessions.phone import app_views as phone_app
from sessions.phone import coming_views as phone_coming
from sessions.phone import log_views as phone_log
from sessions.phone import views as phone
from sessions.progress import curve_views as curves
from sessions.progress import views as progress
from sessions.publishing import views as publications
from sessions.records import erase_views as erase
from sessions.records import views as exports
from sessions.retests import views as retests
from sessions.room import views as room
from sessions.weeks import views as weeks
from sessions.weeks.read import FIRST_YEAR, LAST_YEAR


class WeekConverter:
    """2026-W48 ↔ the Monday it begins on (ISO 8601)."""

    regex = r"\d{4}-W\d{2}"

    def to_python(self, value: str) -> date:
        if not FIRST_YEAR <= int(value[:4]) <= LAST_YEAR:
            raise ValueError("no gym plans that far")
        return date.fromisocalendar(int(value[:4]), int(value[6:]), 1)  # a week 54 raises ValueError: no such page

    def to_url(self, value) -> str:
        year, week, _ = (value if isinstance(value, date) else value.starts_on).isocalendar()
        return f"{year}-W{week:02d}"


class DayConverter:
    """2026-11-25 ↔ a date (ISO 8601)."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(WeekConverter, "week")
register_converter(DayConverter, "isodate")

app_name = "sessions"

urlpatterns = [
    path("first-hour/", first_hour.begin, name="first-hour"),
    path("first-hour/gym/", first_hour.gym, name="first-hour-gym"),
    path("first-hour/people/", first_hour.people, name="first-hour-people"),
    path("first-hour/people/reading/", first_hour.people_reading, name="first-hour-people-reading"),
    path("first-hour/room/", first_hour.room, name="first-hour-room"),
    path("first-hour/week/", first_hour.week, name="first-hour-week"),
    path("first-hour/week/unknown/", first_hour.unknown, name="first-hour-unknown"),
    path("first-hour/publish/", first_hour.publish, name="first-hour-publish"),
    path("first-hour/leave/", first_hour.leave, name="first-hour-leave"),
    path("weeks/<week:monday>/", weeks.week, name="week"),
    path("weeks/<week:monday>/library/", weeks.library_rows, name="week-library"),
    path("weeks/<week:monday>/sessions/", weeks.planned_create, name="planned-create"),
    path("weeks/<week:monday>/review/", publications.review, name="review"),
    path("weeks/<week:monday>/publish/", publications.publish, name="publish"),
    path("planned/<int:pk>/", weeks.planned_change, name="planned-change"),
    path("planned/<int:pk>/move/", weeks.planned_move, name="planned-move"),
    path("planned/take-off/", weeks.planned_take_off, name="planned-take-off"),
    path("planned/put-back/", weeks.planned_put_back, name="planned-put-back"),
    path("planned/copy/", weeks.copy, name="planned-copy"),
    path("planned/<int:pk>/room/", room.planned, name="room"),
    path("publications/<int:pk>/", publications.detail, name="publication"),
    path("publications/<int:pk>/progress/", publications.progress, name="publication-progress"),
    path("publications/<int:pk>/cancel/", publications.cancel, name="publication-cancel"),
    path("publications/<int:pk>/bring-back/", publications.bring_back, name="bring-back"),
    path("publications/<int:pk>/changes/", publications.changes, name="publication-changes"),
    path("publications/<int:pk>/<str:size>.pdf", boards.paper, name="board-paper"),
    path("targets/<int:pk>/", targets.target, name="target"),
    path("targets/<uuid:key>/<int:athlete>/<int:station>/", targets.at_station, name="target-of"),
    path("athletes/<int:pk>/targets/", targets.of_athlete, name="targets"),
    path("pins/<uuid:key>/", pins.index, name="pins"),
    path("pins/<uuid:key>/<int:athlete>/<int:station>/", pins.change, name="pin"),
    path("pins/<uuid:key>/many/", pins_many.change, name="pins-many"),
    path("pins/many/off/", pins_many.take_off, name="pins-many-off"),
    path("pins/<int:pk>/off/", pins.take_off, name="pin-off"),
    path("athletes/<int:pk>/pace/", advice.pace, name="pace"),
    path("athletes/<int:pk>/cautions/", cautions.of_athlete, name="cautions"),
    path("progress/", progress.gym, name="progress"),
    path("progress/held/", progress.held, name="progress-held"),
    path("athletes/<int:pk>/progress/", progress.athlete, name="progress-athlete"),
    path("athletes/<int:pk>/report.pdf", progress.report, name="progress-report"),
    path("athletes/<int:pk>/curve/<str:engine>.json", curves.curve, name="curve"),
    path("athletes/<int:pk>/erase/", erase.erase, name="erase"),
    path("athletes/<int:pk>/everything.zip", exports.everything, name="everything"),
    path("athletes/sessions/export/<str:file>", exports.table, name="export"),
    path("board/<int:pk>/", wall.page, name="board"),
    path("builds/", builds.index, name="builds"),
    path("builds/new/", builds.create, name="build-create"),
    path("builds/<int:pk>/", builds.detail, name="build"),
    path("builds/<int:pk>/decision/", builds.decision, name="build-decision"),
    path("circuits/", circuits.index, name="circuits"),
    path("circuits/new/", circuits.create, name="circuit-create"),
    path("settings/effect/", room.effect, name="settings-effect"),
    path("circuits/reading/", circuits.reading, name="circuit-reading"),
    path("circuits/fields/", circuits.fields, name="circuit-fields"),
    path("circuits/draft/", circuits.draft, name="circuit-draft"),
    path("circuits/drafts/<uuid:key>/away/", circuits.draft_away, name="circuit-draft-away"),
    path("circuits/preview/", room.preview, name="circuit-preview"),
    path("accustomed/<int:pk>/", room.accustomed, name="accustomed"),
    path("circuits/<int:pk>/", circuits.change, name="circuit-change"),
    path("circuits/<int:pk>/archive/", circuits.archive, name="circuit-archive"),
    path("clock/<int:pk>/", clock.control, name="clock"),
    path("clock/<int:pk>/state/", clock.state, name="clock-state"),
    path("clock/<int:pk>/presses/", clock.send, name="clock-presses"),
    path("floor/<int:pk>/", floor.sheet, name="floor"),
    path("floor/<int:pk>/rows/", floor.rows, name="floor-rows"),
    path("floor/<int:pk>/doses/", floor_taps.dose, name="floor-dose"),
    path("floor/<int:pk>/ahead/<int:athlete>/<int:station>/", floor.ahead, name="floor-ahead"),
    path("floor/<int:pk>/attendance/", floor_taps.attendance, name="floor-attendance"),
    path("floor/<int:pk>/places/", floor.places, name="floor-places"),
    path("floor/<int:pk>/offers/", floor_taps.offer, name="floor-offer"),
    path("floor/<int:pk>/starts/", floor_taps.start, name="floor-start"),
    path("floor/<int:pk>/class-log/", floor_taps.class_log, name="floor-class-log"),
    path("floor/<int:pk>/logs/", floor_taps.log, name="floor-log"),
    path("floor/<int:pk>/logs/<int:athlete>/", floor_people.log, name="floor-log-detail"),
    path("floor/<int:pk>/walk-ins/", floor_people.walk_in, name="floor-walk-in"),
    path("floor/<int:pk>/walk-ins/<int:athlete>/", floor_people.walk_in_known, name="floor-walk-in-known"),
    path("retests/", retests.index, name="retests"),
    path("flags/", flags.index, name="flags"),
    path("flags/<int:pk>/seen/", flags.seen, name="flag-seen"),
    path("wall/<str:token>/", wall.screen, name="wall"),
    path("wall/<str:token>/clock/", clock.on_wall, name="wall-clock"),
    path("wall/<str:token>/clock/plan/", clock.plan_on_wall, name="wall-clock-plan"),
    path("a/<str:token>/", phone.today, name="phone"),
    path("calendar/<str:token>/sessions.ics", feeds.calendar, name="calendar"),
    path("a/<str:token>/stored/", phone.stored, name="phone-stored"),
    path("a/<str:token>/device/", links.device, name="phone-device"),
    path("class/<uuid:key>/<isodate:day>/", feeds.class_page, name="class-page"),
    path("a/<str:token>/coming/", phone_coming.choose, name="phone-coming"),
    path("a/<str:token>/week/", phone.week, name="phone-week"),
    path("a/<str:token>/numbers/", phone.numbers, name="phone-numbers"),
    path("a/<str:token>/progress/", phone.progress, name="phone-progress"),
    path("a/<str:token>/log/", phone_log.log, name="phone-log"),
    path("a/<str:token>/settings/", phone.settings, name="phone-settings"),
    path("a/<str:token>/app.webmanifest", phone_app.manifest, name="phone-manifest"),
    path("a/<str:token>/worker.js", phone_app.worker, name="phone-worker"),
    path("a/<str:token>/clock/", clock.on_phone, name="phone-clock"),
    path("a/<str:token>/clock/plan/", clock.plan_on_phone, name="phone-clock-plan"),
]
