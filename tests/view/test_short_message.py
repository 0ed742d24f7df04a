"""One line of a trial fits a message of a telephone: in the smallest alphabet where the language has Latin letters."""

from __future__ import annotations

from dataclasses import replace

import pytest
from conftest import computed_sample, sample_folders
from hypothesis import given
from hypothesis import strategies as st

from reportgen.safety import safety_notes
from reportgen.speech import Manner, load, speaking
from reportgen.view.short_message import (
    BASIC,
    EXTENSION,
    LONGEST,
    LONGEST_OF_ANY_SCRIPT,
    can_be_spelt,
    places,
    spelt,
)
from reportgen.view.summary import one_line

LATIN = ("en", "fr", "es", "sw")


def test_the_alphabet_has_as_many_signs_as_seven_bits_without_the_sign_for_its_extension() -> None:
    assert len(BASIC) == len(set(BASIC)) == 2**7 - 1
    # With that sign at its place, 27, letters and figures stand where they stand in ASCII, and @ at nought.
    table = f"{BASIC[:27]}\x1b{BASIC[27:]}"
    assert all(table[ord(sign)] == sign for sign in "09AMZamz ?%")
    assert (table[0], table[0x7B], table[0x7F]) == ("@", "ä", "à")
    assert not set(BASIC) & set(EXTENSION)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("fenêtre, garçon, août", "fenetre, garcon, aout"),
        ("à é è ù ñ ö ü", "à é è ù ñ ö ü"),
        ("día último, camión", "dia ultimo, camion"),
        ("−12 × 3 – “ice” ’n’ CO₂ · m³ ± 2 …", "-12 x 3 - \"ice\" 'n' CO2 . m3 +/- 2 ..."),
        ("4,93\u202fh\u00a0; \u2009½", "4,93 h ;  1/2"),
        ("cœur ❄ мороз", "coeur  "),
    ],
)
def test_signs_give_way_to_their_nearest(text: str, line: str) -> None:
    assert spelt(text) == line


@given(st.text(max_size=40))
def test_whatever_is_spelt_is_of_the_alphabet_and_stays_as_it_is(text: str) -> None:
    line = spelt(text)
    assert set(line) <= set(BASIC + EXTENSION)
    assert spelt(line) == line
    assert places(line) == len(line) + sum(map(line.count, EXTENSION))


def test_a_single_sign_of_another_script_makes_every_sign_take_sixteen_bits() -> None:
    assert places("a" * 160) == 160
    assert places("[a]") == 5
    assert places("ثلج") == 3
    assert places("❄🧊") == 3


@pytest.mark.parametrize("tag", [*LATIN, "ar"])
def test_the_line_of_every_sample_fits_in_every_language(tag: str) -> None:
    with speaking(load(Manner(tag))):
        for folder in sample_folders():
            trial, results = computed_sample(folder.name)
            line = one_line(trial, results, safety_notes(trial, results))
            if tag in LATIN:
                assert set(line) <= set(BASIC + EXTENSION), line
                assert places(line) <= LONGEST
            else:
                assert not can_be_spelt(line)
                assert places(line) <= LONGEST_OF_ANY_SCRIPT
            assert trial.sheet.title[:20] in line


@pytest.mark.parametrize("title", ["x" * 300, "{[~]}" * 60, "ثلج من النفايات", "❄"])
def test_a_line_fits_whatever_the_title(title: str) -> None:
    trial, results = computed_sample("canteen-hand-readings")
    other = replace(trial, sheet=trial.sheet.model_copy(update={"title": title}))
    line = one_line(other, results, ())
    assert places(line) <= LONGEST
    assert set(line) <= set(BASIC + EXTENSION)
    assert "0.79 kg of ice" in line
    if not spelt(title).strip():
        assert line.startswith(f"{trial.sheet.id}, ")
    with speaking(load(Manner("ar"))):
        assert places(one_line(other, results, ())) <= LONGEST_OF_ANY_SCRIPT
