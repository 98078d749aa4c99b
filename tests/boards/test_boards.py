import re
from datetime import datetime, time, timedelta
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from athletes.links.write import screen_link_issue
from athletes.models import Athlete, Gym, Machine, MachineType
from sessions.boards import files, paper, wall
from sessions.models import Circuit, PlannedSession, StationOption
from sessions.scaling.targets import Reason
from sessions.weeks.published import next_class
from sessions.weeks.write import session_plan
from tests import gym
from tests.conftest import publish

A3_MM, A4_MM = (420, 297), (297, 210)  # landscape, ISO 216
POINTS_PER_MM = 72 / 25.4


@pytest.fixture
def big_week(furnished, coach):
    gym.people(42)
    for kind in MachineType.objects.all():
        Machine.objects.bulk_create(Machine(type=kind, number=100 + n) for n in range(42))
    circuit = gym.circuit()
    return publish(gym.planned_week(gym.this_monday(), *[circuit] * 7), coach)


@pytest.mark.paper
@pytest.mark.parametrize(("size", "millimetres"), [("a3", A3_MM), ("a4", A4_MM)])
def test_the_paper_board_is_one_readable_page_a_session_in_the_right_size(big_week, size, millimetres):
    pdf = PdfReader(BytesIO(files.read(getattr(big_week, f"paper_{size}"))))
    assert len(pdf.pages) == 7
    page = pdf.pages[0]
    assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(
        [mm * POINTS_PER_MM for mm in millimetres], abs=0.5
    )
    text = page.extract_text()
    assert "Mill race" in text
    assert "A0000" in text
    assert "A0041" in text
    assert ("per 500 m" in text) == (size == "a3")  # on A4 two blocks side by side, with doses alone
    assert "Stop on pain" in text
    sizes = []
    page.extract_text(
        visitor_text=lambda words, _, at, __, height: words.startswith("A00") and sizes.append(height * at[3])
    )
    assert len(sizes) == 42
    assert min(sizes) >= 10  # points: reading size (common practice)


@pytest.mark.paper
def test_a_room_too_long_for_a_page_goes_on_to_the_next_and_loses_nobody(furnished, coach):
    gym.people(90)
    publication = publish(gym.planned_week(), coach)
    pdf = PdfReader(BytesIO(files.read(publication.paper_a4)))
    assert len(pdf.pages) == 2
    assert min(page.extract_text().count("A00") for page in pdf.pages) >= 40  # nobody hangs there alone
    text = "".join(page.extract_text() for page in pdf.pages)
    assert all(f"A{n:04d}" in text for n in range(90))


@pytest.mark.paper
def test_names_of_all_alphabets_the_font_has_are_printed(furnished, coach):
    gym.people(1)
    Athlete.objects.update(board_name="Zoë Łuś")
    publication = publish(gym.planned_week(), coach)
    assert "Zoë Łuś" in PdfReader(BytesIO(files.read(publication.paper_a3))).pages[0].extract_text()


def test_names_stand_where_people_look_for_them(furnished, coach):
    gym.people(3)
    for athlete, name in zip(Athlete.objects.all(), ["Zoë", "Élise", "Łukasz"], strict=True):
        Athlete.objects.filter(pk=athlete.pk).update(board_name=name)
    publication = publish(gym.planned_week(), coach)
    lines = wall.board_lines(publication, publication.sessions.first())
    assert [line.name for line in lines] == ["Élise", "Łukasz", "Zoë"]


def test_a_load_that_is_not_the_written_one_stands_beside_the_dose_and_a_swap_set_by_hand_has_its_letter(live_week):
    session = live_week.sessions.get()
    own, other = Athlete.objects.order_by("pk")[:2]
    session.targets.filter(athlete=own, station=3).update(rung=0, dose=7, load_kg=17.5)
    session.targets.filter(athlete=other, station=3).update(rung=0, dose=8, load_kg=24)
    pinned = session.targets.get(athlete=own, station=2)
    detail = {**pinned.detail, "reason": int(Reason.BY_HAND)}
    session.targets.filter(pk=pinned.pk).update(rung=1, dose=9, detail=detail)
    page = wall.board(session, wall.board_lines(live_week, session))
    cells = dict(re.findall(r'<th scope="row">(\S+)</th>(.*?)</tr>', page, re.DOTALL))
    assert '<span class="figure">7</span> <span class="unit">× 17.5 kg</span>' in cells[own.board_name]
    assert '<span class="figure">9</span><b class="wall-mark">a</b>' in cells[own.board_name]
    assert '<span class="figure">8</span></td>' in cells[other.board_name]


def test_a_board_off_the_clock_has_everyone_on_as_few_screens_as_can_be_read():
    assert wall._columns(4, 16.0) == (1, 4)
    assert wall._columns(24, 14.0) == (3, 8)
    for lines in (0, 1, 5, 42, 300):
        columns, rows = wall._columns(lines, 26.0)
        assert rows * wall.LINE + wall.HEAD <= wall.ROOM_HIGH / wall.LEAST_TYPE
        assert columns * 26.0 <= wall.ROOM_WIDE / wall.LEAST_TYPE
    columns, rows = wall._columns(42, 80.0)  # as many stations have smaller letters, and not one line a screen
    assert (columns, rows > 10) == (1, True)


def test_a_long_text_is_cut_to_its_column(live_week):
    paper._fonts()
    assert paper._fit("A very long movement name indeed", paper.REGULAR, 10, 60).endswith("…")


def test_the_wall_shows_the_next_board_to_the_screens_link_only(big_week, coach):
    publish(gym.planned_week(gym.this_monday() + timedelta(days=7), Circuit.objects.get()), coach)
    token = screen_link_issue(by=None).token
    page = Client().get(reverse("sessions:wall", args=[token])).content.decode()
    assert "Mill race" in page
    assert "A0041" in page
    assert "Athlete 0041" not in page  # the full name stays off the wall
    fresh = screen_link_issue(by=None).token
    assert Client().get(reverse("sessions:wall", args=[token])).status_code == 410
    assert Client().get(reverse("sessions:wall", args=[fresh])).status_code == 200


def test_the_wall_follows_the_classes_of_the_day(furnished, coach):
    gym.people(1)
    morning = gym.circuit()
    evening = gym.circuit({**gym.DOCUMENT, "name": "Evening ebb"})
    monday = gym.this_monday() + timedelta(days=7)
    week = gym.planned_week(monday, morning)
    session_plan(planned=PlannedSession(week=week, weekday=0, circuit=evening), hours=[time(19)])
    session_plan(planned=week.sessions.get(circuit=morning), hours=[time(6), time(18)])
    publish(week, coach)
    zone = Gym.objects.get().zone

    def shown(*at):
        return next_class(datetime.combine(monday, time(*at), tzinfo=zone))[0].circuit["name"]

    assert [shown(5, 0), shown(6, 40), shown(7, 0), shown(18, 30), shown(19, 10)] == [
        "Mill race",
        "Mill race",
        "Mill race",
        "Mill race",
        "Evening ebb",
    ]
    assert next_class(datetime.combine(monday, time(23), tzinfo=zone)) == (None, None)


def test_an_empty_wall_says_when_something_will_appear(furnished):
    page = Client().get(reverse("sessions:wall", args=[screen_link_issue(by=None).token])).content.decode()
    assert "it appears here" in page


def test_staff_look_at_every_board(big_week, staff_client):
    session = big_week.sessions.first()
    assert "A0001" in staff_client.get(reverse("sessions:board", args=[session.pk])).content.decode()
    answer = staff_client.get(reverse("sessions:board-paper", args=[big_week.pk, "a4"]))
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert staff_client.get(reverse("sessions:board-paper", args=[big_week.pk, "a9"])).status_code == 404


def test_until_the_switch_everyone_sees_the_earlier_board(live_week, coach):
    token = screen_link_issue(by=None).token
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request

    second = publication_request(week=live_week.week, by=coach)
    publishing.Publication.objects.filter(pk=second.pk).update(
        state="rendering", claim="11111111-1111-4111-8111-111111111111"
    )
    before = Client().get(reverse("sessions:wall", args=[token])).content
    second.refresh_from_db()
    publishing.compute(second)
    publishing.render(second)
    assert Client().get(reverse("sessions:wall", args=[token])).content == before
    publishing.go_live(second)
    assert live_week.week.publications.get(state="live") == second


def test_the_same_page_is_one_file(live_week):
    assert files.write("one", ".html") == files.write("one", ".html")
    assert files.write("two", ".html") != files.write("one", ".html")
