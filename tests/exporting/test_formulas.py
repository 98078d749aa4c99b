from hypothesis import given
from hypothesis import strategies as st

from athletes.formulas import BEGINS, as_written, harmless

# Letters that matter here, often.
texts = st.text(st.sampled_from("='+-@\t\r\n aé7"), max_size=8) | st.text(max_size=20)


@given(texts)
def test_no_text_runs_as_a_formula_and_all_come_back(text):
    assert not harmless(text).startswith(BEGINS)
    assert as_written(harmless(text)) == text


def test_ordinary_text_stays_as_it_is():
    assert [harmless(text) for text in ("Ada", "7:42.3", "'tis", "")] == ["Ada", "7:42.3", "'tis", ""]
    assert harmless("=1+1") == "'=1+1"
