from datetime import date

from django.urls import path, register_converter

from sessions.views import boards, circuits, curves, phone, publications, room, wall, weeks


class WeekConverter:
    """2026-W48 ↔ the Monday it begins on (ISO 8601)."""

    regex = r"\d{4}-W\d{2}"

    def to_python(self, value: str) -> date:
        if not 2000 <= int(value[:4]) <= 2100:
            raise ValueError("no gym plans that far")
        return date.fromisocalendar(int(value[:4]), int(value[6:]), 1)  # a week 54 raises ValueError: no such page

    def to_url(self, value) -> str:
        year, week, _ = (value if isinstance(value, date) else value.starts_on).isocalendar()
        return f"{year}-W{week:02d}"


register_converter(WeekConverter, "week")

app_name = "sessions"

urlpatterns = [
    path("weeks/<week:monday>/", weeks.week, name="week"),
    path("weeks/<week:monday>/copy/", weeks.copy, name="week-copy"),
    path("weeks/<week:monday>/sessions/", weeks.planned_create, name="planned-create"),
    path("weeks/<week:monday>/publish/", publications.publish, name="publish"),
    path("planned/<int:pk>/", weeks.planned_change, name="planned-change"),
    path("planned/<int:pk>/remove/", weeks.planned_remove, name="planned-remove"),
    path("planned/<int:pk>/room/", room.planned, name="room"),
    path("publications/<int:pk>/", publications.detail, name="publication"),
    path("publications/<int:pk>/progress/", publications.progress, name="publication-progress"),
    path("publications/<int:pk>/changes/", publications.changes, name="publication-changes"),
    path("publications/<int:pk>/<str:size>.pdf", boards.paper, name="board-paper"),
    path("targets/<int:pk>/", publications.target, name="target"),
    path("athletes/<int:pk>/curve/<str:engine>.json", curves.curve, name="curve"),
    path("board/<int:pk>/", boards.wall_page, name="board"),
    path("circuits/", circuits.index, name="circuits"),
    path("circuits/new/", circuits.create, name="circuit-create"),
    path("circuits/preview/", room.preview, name="circuit-preview"),
    path("circuits/<int:pk>/", circuits.change, name="circuit-change"),
    path("circuits/<int:pk>/archive/", circuits.archive, name="circuit-archive"),
    path("wall/<str:token>/", wall.screen, name="wall"),
    path("a/<str:token>/", phone.today, name="phone"),
    path("a/<str:token>/week/", phone.week, name="phone-week"),
    path("a/<str:token>/numbers/", phone.numbers, name="phone-numbers"),
]
