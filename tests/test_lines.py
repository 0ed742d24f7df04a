"""Text in plain lines: they fit, and an amount stays whole."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.lines import NARROWEST, itemised, wrapped
from reportgen.speech import END_ISOLATE, ISOLATE, LEFT_TO_RIGHT

words = st.lists(st.text("abc,é", min_size=1, max_size=12), min_size=1, max_size=30)


@given(words, st.integers(NARROWEST, 100))
def test_lines_fit_and_hold_every_word_once(told: list[str], width: int) -> None:
    lines = wrapped(" ".join(told), width, "- ", "  ").split("\n")
    assert all(len(line) <= width for line in lines)
    assert [word for line in lines for word in line[2:].split(" ")] == told
    # A line ends only where the next word has no room.
    assert all(len(one) + 1 + len(other[2:].split(" ")[0]) > width for one, other in pairwise(lines))


@pytest.mark.parametrize("amount", ["16.7 h", "26 %", "−6 °C", "1.00 kg/(m³ d)", f"{ISOLATE}4.5{END_ISOLATE} h"])
def test_an_amount_is_never_parted(amount: str) -> None:
    for before in range(20, NARROWEST + 4):
        lines = wrapped(f"{'x' * before} {amount} later", NARROWEST).split("\n")
        assert any(amount in line for line in lines)


def test_signs_of_direction_and_marks_take_no_room() -> None:
    word = LEFT_TO_RIGHT + "e\N{COMBINING ACUTE ACCENT}" * 14 + END_ISOLATE
    assert wrapped(f"{word} {word}", NARROWEST) == f"{word} {word}"


def test_two_blanks_hold_apart_and_end_no_line() -> None:
    assert wrapped(f"{'x' * 20} caution  log.csv", NARROWEST) == f"{'x' * 20}\ncaution  log.csv"


def test_items_stand_below_their_head() -> None:
    assert itemised("Next:", ["one", "two"], 40) == "Next:\n- one\n- two"
