from hypothesis import given
from hypothesis import strategies as st

from sessions.phone.trends import EDGE, HEIGHT, WIDTH, bars, level, line

VALUES = st.lists(st.floats(0, 5000), min_size=2, max_size=30)


@given(VALUES)
def test_every_point_lies_in_the_drawing_and_better_is_higher(values):
    points = line(range(len(values)), values, [False] * len(values))
    assert all(EDGE <= p.x <= WIDTH - EDGE and EDGE <= p.y <= HEIGHT - EDGE for p in points)
    assert [p.x for p in points] == sorted(p.x for p in points)
    best, worst = values.index(max(values)), values.index(min(values))
    assert points[best].y <= points[worst].y


def test_equal_values_lie_halfway_up():
    assert {p.y for p in line([1, 2, 3], [7, 7, 7], [True, False, False])} == {HEIGHT / 2}


@given(st.lists(st.none() | st.floats(0, 5000), min_size=1, max_size=12), st.floats(1, 5000))
def test_bars_stand_on_the_floor_and_are_as_high_as_what_they_say(values, top):
    for value, bar in zip(values, bars(values, top), strict=True):
        assert abs(bar.y + bar.height - HEIGHT) < 0.11
        assert 0 <= bar.x < bar.x + bar.width <= WIDTH + 0.1
        assert abs(bar.height - min((value or 0) / top, 1) * (HEIGHT - EDGE)) <= 0.05


def test_the_line_to_compare_with_is_where_a_bar_of_its_value_ends():
    [bar] = bars([1.0], 1.25)
    assert level(1.0, 1.25) == bar.y


def test_nothing_to_draw_is_no_division_by_nothing():
    assert bars([], 0) == []
    assert [bar.height for bar in bars([None, 0], 0)] == [0, 0]
