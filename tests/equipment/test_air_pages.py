from datetime import datetime, time, timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes.gym.read import today
from athletes.models import AirReading


def sent(**more) -> dict:
    measured = {"temperature_c": "19.5", "humidity_percent": "62", "pressure_hpa": "941", "wbgt_c": "", "taken_at": ""}
    return {**measured, "key": str(uuid4()), **more}


def test_without_a_reading_it_is_standard_air(staff_client, gym_row):
    page = staff_client.get("/gym/air/").content.decode()
    assert "<strong>1.151 kg/m³</strong>, standard air at 640 m." in page
    assert "No reading yet" in page


def test_staff_add_one_that_is_of_now(staff_client, staff, gym_row):
    page = staff_client.post("/gym/air/", sent(), follow=True).content.decode()
    reading = AirReading.objects.get()
    assert (reading.temperature_c, reading.entered_by) == (19.5, staff)
    assert timezone.now() - reading.taken_at < timedelta(minutes=5)
    at = timezone.localtime(reading.taken_at, gym_row.zone)
    assert f"<strong>1.114 kg/m³</strong>, from the reading of {at:%H:%M}." in page


def test_what_was_not_measured_is_said(staff_client, gym_row):
    page = staff_client.post("/gym/air/", sent(pressure_hpa="", humidity_percent=""), follow=True).content.decode()
    assert ", with the usual pressure at 640 m, at 50 % humidity." in page


def test_a_reading_of_an_earlier_day_says_which(staff_client, gym_row):
    evening = datetime.combine(today() - timedelta(days=1), time(18, 40), gym_row.zone)
    AirReading.objects.create(taken_at=evening, temperature_c=20)
    assert "from the reading of yesterday 18:40, with" in staff_client.get("/gym/air/").content.decode()


def test_a_time_is_of_the_gyms_zone(staff_client, gym_row):
    staff_client.post("/gym/air/", sent(taken_at="2026-07-15T14:05"))
    assert AirReading.objects.get().taken_at.isoformat() == "2026-07-15T13:05:00+00:00"


def test_sending_it_twice_keeps_one(staff_client, gym_row):
    form = sent()
    for _ in range(2):
        assert staff_client.post("/gym/air/", form).status_code == 302
    assert AirReading.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"temperature_c": ""}, "Give a temperature, or a wet-bulb globe temperature, or both."),
        ({"temperature_c": "99"}, "less than or equal to 50"),
        ({"taken_at": "2999-01-01T10:00"}, "This moment has not come yet."),
        ({"pressure_hpa": "1013"}, "give what a barometer in this room shows"),
    ],
)
def test_a_wrong_one_keeps_what_was_typed(staff_client, gym_row, wrong, sentence):
    page = staff_client.post("/gym/air/", sent(humidity_percent="61.5", **wrong)).content.decode()
    assert sentence in page
    assert 'value="61.5"' in page
    assert not AirReading.objects.exists()


def test_heat_alone_is_a_reading_and_says_nothing_of_fans(staff_client, gym_row):
    page = staff_client.post("/gym/air/", sent(temperature_c="", wbgt_c="28.4"), follow=True).content.decode()
    assert "Wet-bulb globe 28.4 °C" in page
    assert "standard air at 640 m" in page


def test_removing_it_twice_removes_it(staff_client, gym_row):
    reading = AirReading.objects.create(taken_at=timezone.now(), temperature_c=20)
    for _ in range(2):
        assert staff_client.post(f"/gym/air/{reading.pk}/remove/").status_code == 302
    assert not AirReading.objects.exists()
    assert staff_client.get(f"/gym/air/{reading.pk}/remove/").status_code == 405


def test_queries_do_not_grow(staff_client, staff, gym_row, django_assert_max_num_queries):
    for hours in range(9):
        AirReading.objects.create(taken_at=timezone.now() - timedelta(hours=hours), temperature_c=20, entered_by=staff)
    with django_assert_max_num_queries(6):
        staff_client.get("/gym/air/")
