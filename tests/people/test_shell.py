"""What all pages share: the six areas, the error pages, signing in."""

import pytest
from django.template import Context, Template
from django.template.loader import get_template
from django.urls import get_resolver

from athletes.templatetags.shell import area_of
from coachhub.access import RULES
from tests.conftest import PASSWORD


@pytest.mark.parametrize(
    ("view_name", "area"),
    [
        ("home", "today"),
        ("sessions:publication", "week"),
        ("sessions:circuit-change", "circuits"),
        ("athletes:detail", "athletes"),
        ("athletes:benchmark-entry", "benchmarks"),
        ("athletes:movements", "movements"),
        ("athletes:machine-change", "gym"),
        ("athletes:rack-create", "gym"),
        ("athletes:air", "gym"),
        ("account", ""),
    ],
)
def test_every_page_belongs_to_an_area(view_name, area):
    assert area_of(view_name) == area


def test_every_page_of_the_table_exists():
    names = {name for name in RULES if name.startswith(("athletes:", "account", "log"))}
    resolver = get_resolver()
    _, athletes = resolver.namespace_dict["athletes"]
    there = {f"athletes:{name}" for name in athletes.reverse_dict} | set(resolver.reverse_dict)
    assert names <= there


def test_the_current_area_is_marked(staff_client, gym_row):
    page = staff_client.get("/athletes/").content.decode()
    assert '<a href="/athletes/" aria-current="page">Athletes</a>' in page
    assert "Test gym" in page


def test_a_page_that_is_not_there_says_what_to_do(client, db):
    response = client.get("/nowhere/")
    assert response.status_code == 404
    assert b"start from this week" in response.content


def test_a_page_for_another_role_is_refused_in_words(staff_client):
    response = staff_client.get("/gym/accounts/")
    assert response.status_code == 403
    assert b"Your role does not cover this page" in response.content


@pytest.mark.parametrize("name", ["400.html", "403.html", "403_csrf.html", "404.html", "500.html"])
def test_error_pages_need_no_request(name):
    assert "<h1>" in get_template(name).render()


def test_signing_in_and_out(client, staff):
    assert client.get("/athletes/").headers["Location"] == "/login/?next=/athletes/"
    response = client.post("/login/?next=/athletes/", {"username": "staff", "password": PASSWORD, "next": "/athletes/"})
    assert response.headers["Location"] == "/athletes/"
    assert client.get("/logout/").status_code == 405
    client.post("/logout/")
    assert client.get("/athletes/").status_code == 302


def test_a_wrong_password_keeps_the_name(client, staff):
    response = client.post("/login/", {"username": "staff", "password": "wrong"})
    assert b'value="staff"' in response.content
    assert b'role="alert"' in response.content


def test_after_many_wrong_passwords_the_page_says_to_wait(client, staff, settings):
    settings.AXES_ENABLED = True
    for _ in range(settings.AXES_FAILURE_LIMIT):
        response = client.post("/login/", {"username": "staff", "password": "wrong"})
    assert response.status_code == 429
    assert b"Try again in an hour" in response.content


def test_a_code_has_a_label_and_no_inline_style():
    template = Template('{% load shell %}{% qr "https://gym.example/a/x/" label %}')
    page = template.render(Context({"label": "Opens <it>"}))
    assert 'aria-label="Opens &lt;it&gt;"' in page
    assert "style" not in page
