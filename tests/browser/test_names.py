"""Names are looked for in the page as they are sorted on the server: one folding, written twice."""

import pytest

from athletes.words import name_order

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NAMES = ["Élise", "ŁUKASZ", "Ørjan", "Đorđe", "Işıl", "İpek", "Weiß", "Æneas", "Œdipe", "cœur", "Zoë", "O'Neil Ng"]


def test_page_and_server_fold_names_alike(open_page, staff_client):
    page = open_page(staff_client)
    page.goto("/athletes/")
    folded = page.evaluate(
        "async (names) => names.map((await import('/static/athletes/people/names.js')).plain)", NAMES
    )
    assert folded == [name_order(name) for name in NAMES]
