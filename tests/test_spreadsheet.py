"""Cells that a spreadsheet would run: guarded on the way out, the same text on the way back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.spreadsheet import guard_text, unguard_text

# The signs that OWASP's page on CSV injection lists: = + - @, tab, carriage return, line feed and full-width forms.
ACTIVE = "=+-@\t\r\n＝＋－＠"
TEXTS = st.one_of(st.text(), st.builds("".join, st.tuples(st.text("'", max_size=4), st.text(ACTIVE), st.text())))


@pytest.mark.parametrize("sign", ACTIVE)
def test_an_active_cell_gets_an_apostrophe(sign: str) -> None:
    assert guard_text(f'{sign}HYPERLINK("x")') == f'\'{sign}HYPERLINK("x")'


@pytest.mark.parametrize("text", ["", "54", "9:00", "'54", "''", "it's", "a=b", "sand", "(-)", " x"])
def test_a_quiet_cell_stays_as_it_is_both_ways(text: str) -> None:
    assert guard_text(text) == text
    assert unguard_text(text) == text


@given(text=TEXTS)
def test_guarded_text_comes_back_and_never_starts_with_an_active_sign(text: str) -> None:
    guarded = guard_text(text)
    assert unguard_text(guarded) == text
    assert guarded[:1] not in set(ACTIVE)


@given(texts=st.lists(TEXTS, min_size=2, max_size=2, unique=True))
def test_two_texts_never_become_one(texts: list[str]) -> None:
    assert guard_text(texts[0]) != guard_text(texts[1])
