"""Who may be here already, seen from names."""

import pytest

from athletes.people.doubles import alike


@pytest.mark.parametrize(
    ("name", "who"),
    [
        ("Seun A.", "Oluwaseun Adelabi"), ("Seun", "Oluwaseun Adelabi"), ("Seun Adelabi", "Oluwaseun Adelabi"),
        ("Adelabi Oluwaseun", "Oluwaseun Adelabi"), ("Nadia B", "Nadia Belouizdane"), ("Nadia", "Nadia Belouizdane"),
        ("Nadia K", None), ("Nadia Karim", None), ("Seun Belouizdane", None), ("Rank 1", None),
    ],
)  # fmt: skip
def test_a_name_that_is_shortened_is_known(make_athlete, django_assert_max_num_queries, name, who):
    make_athlete("Oluwaseun Adelabi", board_name="Seun")
    make_athlete("Nadia Belouizdane", board_name="Nadia")
    with django_assert_max_num_queries(2):
        assert [athlete.name for athlete in alike(name)] == ([who] if who else [])
