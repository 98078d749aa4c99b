from datetime import date

import pytest

from athletes.efforts.parsing import NotUnderstood
from athletes.importing.sheets.dates import Order, date_format, read_day, why
from tests.importing.sheets.builders import TODAY


@pytest.mark.parametrize(
    ("texts", "order", "asks"),
    [
        (["03/11/2025", "13/06/2025"], Order.DAY, False),
        (["03/11/2025", "06/13/2025"], Order.MONTH, False),
        (["03/11/2025", "05/06/2025"], None, True),
        (["13/11/2025", "11/13/2025"], None, True),
        (["3.11.2025"], Order.DAY, False),  # points
        (["2025-11-03", "3 Nov 2025"], None, False),  # needs no order
        (["5/5/2025"], None, False),  # the same day in both
        ([], None, False),
    ],
)
def test_the_order_is_seen_from_all_dates_together_or_asked(texts, order, asks):
    found = date_format(texts)
    assert (found.order, found.open) == (order, asks)


def test_the_date_that_settles_the_order_is_named():
    found = date_format(["1/2/1991", "10/30/2026"])
    assert (found.order, found.example, found.evidence) == (Order.MONTH, "1/2/1991", "10/30/2026")
    assert why(found.order, found.evidence) == "10/30/2026 can only be month/day."
    assert date_format(["1/2/1991", "99/99/2026", "13/40/2026"]).open  # no dates in any order
    assert why(None, "") == why(Order.DAY, "") == ""


@pytest.mark.parametrize(
    "text",
    ["2025-11-03", "2025/11/3", "2025-11-03T18:30", "03/11/2025", "3.11.2025", "3.11.25", "3/11/25 18:30", "3 Nov 2025",
     "3. November 2025", "3-Nov-25", "3rd November 2025", "Nov 3, 2025", "November 3 2025", "Monday, 3 Nov 2025",
     "45964", "45964.5"],
)  # fmt: skip
def test_the_same_day_in_many_ways(text):
    assert read_day(text, Order.DAY, TODAY) == date(2025, 11, 3)


def test_two_digits_of_a_year_lie_in_the_past():
    assert read_day("30.6.85", Order.DAY, TODAY) == date(1985, 6, 30)
    assert read_day("30.6.26", Order.DAY, TODAY) == date(2026, 6, 30)


def test_a_date_that_needs_the_order_is_refused_without_it():
    assert read_day("13/6/2025", None, TODAY) == date(2025, 6, 13)
    with pytest.raises(NotUnderstood, match="“3/6/2025” could be two days"):
        read_day("3/6/2025", None, TODAY)


@pytest.mark.parametrize("text", ["soon", "31/02/2025", "13/13/2025", "3 Movember 2025", "2025-13-01", "1/2", "x45964"])
def test_what_is_no_date_says_how_to_write_one(text):
    with pytest.raises(NotUnderstood, match="Write dates like 2025-11-03"):
        read_day(text, Order.DAY, TODAY)


def test_the_wrong_order_is_named():
    with pytest.raises(NotUnderstood, match="when read as month/day/year"):
        read_day("31/12/2025", Order.MONTH, TODAY)
