"""Words as they are compared, whatever they are written with."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.everyday.letters import bare, places_in, western
from reportgen.everyday.phrases import key, name_key, normalised


@pytest.mark.parametrize(
    ("written", "compared"),
    [
        ("GELÉE", "gelee"),
        ("l\u2019eau", "l'eau"),
        ("Œuf", "oeuf"),
        ("niño", "nino"),
        ("أُوّل إآٱ", "اول ااا"),
        ("ثلاجـــة", "ثلاجه"),
        ("مستوى", "مستوي"),
        ("\u200fهواء\u200e", "هواء"),
        ("\ufedf\ufeee", "لو"),
        ("H\u2082S", "h2s"),
        ("١٢", "12"),
    ],
)
def test_case_accents_and_forms_of_letters_do_not_matter(written: str, compared: str) -> None:
    assert bare(written) == compared
    assert bare(compared) == compared


@given(st.text(max_size=40))
def test_every_letter_that_is_compared_stands_somewhere_in_the_text(text: str) -> None:
    places = places_in(text)
    assert len(places) == len(bare(text))
    assert places == sorted(places)
    assert all(0 <= place < len(text) for place in places)


def test_digits_and_signs_of_arabic_are_those_of_every_keyboard() -> None:
    assert western("٢٦٫٥ ٪") == "26.5 %"
    assert western("۱۲") == "12"
    assert western("26,5 °C") == "26,5 °C"


def test_words_are_compared_in_any_order_without_what_adds_nothing() -> None:
    assert name_key("Temp. de l'armoire", "fr") == name_key("frigo température", "fr") == ("armoire", "temperature")
    assert name_key("درجة حرارة البراد", "ar") == name_key("الثلاجة حراره", "ar")
    assert key("se encendió el quemador", "es") == ("encendio", "quemador")
    assert normalised("Gas-Volume") == "gasvolume"
