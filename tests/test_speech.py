"""Languages: how numbers, dates and plural forms are said, and what a catalogue must hold."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from uncertainties import ufloat

from reportgen import rounding, speech
from reportgen.errors import ReportgenError
from reportgen.message import Message, listed, printable, say, say_counted
from reportgen.speech import Manner

POLISH = """# pl: words of a test.
# Reviewed by a native speaker: A. Example
msgid ""
msgstr ""
"Language: pl\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);\\n"

msgid "{mass} kg of ice"
msgstr "{mass} kg lodu"

msgid "{n} tray"
msgid_plural "{n} trays"
msgstr[0] "{n} taca"
msgstr[1] "{n} tace"
msgstr[2] "{n} tac"

#, fuzzy
msgid "the cabinet"
msgstr "szafa?"
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    folder = tmp_path / speech.FOLDER
    folder.mkdir()
    (folder / "pl.po").write_text(POLISH, encoding="utf-8")
    return tmp_path


def in_language(tag: str, message: object, folder: Path | None = None) -> str:
    with speech.speaking(speech.load(Manner(tag, folder=folder))):
        return str(message)


def test_a_catalogue_alone_makes_a_language(own: Path) -> None:
    assert in_language("pl", say("{mass} kg of ice", mass=ufloat(0.79, 0.01)), own) == "0,790 kg lodu"


def test_plural_forms_are_those_of_the_language(own: Path) -> None:
    said = [in_language("pl", say_counted(n, "{n} tray", "{n} trays"), own) for n in (1, 2, 5, 22)]
    assert said == ["1 taca", "2 tace", "5 tac", "22 tace"]


def test_what_has_no_translation_is_said_in_english_and_counted(own: Path) -> None:
    with speech.speaking(speech.load(Manner("pl", folder=own))) as spoken:
        assert str(say("the cabinet")) == "the cabinet"
        assert str(say_counted(2, "{n} lid", "{n} lids")) == "2 lids"
        assert spoken.lacking == {"the cabinet", "{n} lid"}
        assert spoken.reviewer == "A. Example"


def test_lists_dates_and_sentences_inside_are_said_in_the_language(own: Path) -> None:
    inner = say_counted(2, "{n} tray", "{n} trays")
    assert in_language("pl", say("{all}", all=listed([inner, 0.5])), own) == "2 tace; 0,5"
    assert in_language("fr", say("{day}", day=dt.date(2026, 3, 1))) == "1 mars 2026"
    assert in_language("en", say("{day}", day=dt.date(2026, 3, 1))) == "2026-03-01"


def test_numbers_have_the_decimal_mark_of_the_language() -> None:
    with speech.speaking(speech.load(Manner("es"))) as spoken:
        assert rounding.about(0.7912, 0.77, 0.81) == ("0,791", "0,770", "0,810")
        assert spoken.number_of(rounding.fixed(-6.5, 1)) == -6.5
    assert rounding.plain(0.5) == "0.5"


def test_what_is_put_into_a_sentence_from_right_to_left_keeps_its_own_direction() -> None:
    with speech.speaking(speech.load(Manner("ar"))) as spoken:
        assert spoken.direction == "rtl"
        text = str(say("{name}", name="tray \u202e1"))
        assert text == f"{speech.ISOLATE}tray 1{speech.END_ISOLATE}"
        assert printable(text) == text
    assert printable(text) != text


def test_from_right_to_left_an_amount_keeps_its_unit_on_the_right() -> None:
    with speech.speaking(speech.load(Manner("ar"))):
        text = str(say("{t} °C, below −6 °C for {h} h", t=-12.0, h=2.5))
    left, end = speech.LEFT_TO_RIGHT, speech.END_ISOLATE
    inner = [f"{speech.ISOLATE}{number}{end}" for number in ("−12", "2.5")]
    assert text == f"{left}{inner[0]} °C{end}, below {left}−6 °C{end} for {left}{inner[1]} h{end}"


@pytest.mark.parametrize("tag", ["xx", "../fr", "", "FR", "fr.po"])
def test_an_unknown_language_is_an_error_that_names_the_known_ones(tag: str) -> None:
    with pytest.raises(ReportgenError, match=r"ar, en, es, fr, sw") as caught:
        speech.load(Manner(tag))
    assert caught.value.code == "language-unknown"


def test_a_broken_catalogue_is_an_error(own: Path) -> None:
    (own / speech.FOLDER / "de.po").write_bytes(b'msgid "a\nmsgstr \xff')
    with pytest.raises(ReportgenError, match=r"de\.po") as caught:
        speech.load(Manner("de", folder=own))
    assert caught.value.code == "language-unreadable"


def test_a_message_keeps_its_plural_where_it_is_sent_to_another_process() -> None:
    import pickle

    message = say_counted(3, "{n} tray", "{n} trays")
    assert isinstance(message, Message)
    assert str(pickle.loads(pickle.dumps(message))) == "3 trays"


def test_what_keeps_its_own_order_keeps_it_inside_another_sentence() -> None:
    spoken = speech.Speech(tag="qaa", is_right_to_left=True)
    held = f"{speech.LEFT_TO_RIGHT}−6 °C{speech.END_ISOLATE}"
    assert spoken.inserted(held) == f"{speech.ISOLATE}{held}{speech.END_ISOLATE}"
    for loose in (f"{speech.END_ISOLATE}x", f"x{speech.ISOLATE}", "x\N{RIGHT-TO-LEFT OVERRIDE}"):
        assert spoken.inserted(loose) == f"{speech.ISOLATE}x{speech.END_ISOLATE}"


def test_a_sentence_without_words_lacks_no_translation() -> None:
    with speech.speaking(speech.Speech(tag="qaa")) as speaks:
        assert [speaks.sentence(text) for text in ("{label}: {value}", "{n} × 5", "; ")]
        assert speaks.lacking == set()
        speaks.sentence("{n} rows")
        assert speaks.lacking == {"{n} rows"}
