"""What a log column can hold."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import units
from reportgen.vocabulary import (
    COLUMNS,
    EVENTS,
    ICE_WORDS,
    POSSIBLE,
    TIME_COLUMNS,
    column_named,
    columns_meant,
    event_kind,
    frozen_share,
    normalised,
    plain_ice_word,
    split_header,
)

#: Columns that outside files are written to, with the unit taken where the header gives none.
AGREED = {
    "time": None,
    "date": None,
    "elapsed": "min",
    "epoch": "s",
    "material": None,
    "fresh_mass": "kg",
    "total_solids": "%",
    "volatile_solids": "%",
    "water_added": "L",
    "gas_volume": "L",
    "gas_level": "cm",
    "gas_flow": "L/min",
    "gas_produced": "L",
    "gas_elsewhere": "L",
    "gas_temperature": "degC",
    "gas_pressure": "mbar",
    "atmospheric_pressure": "hPa",
    "methane": "%",
    "hydrogen_sulfide": "ppm",
    "carbon_monoxide": "ppm",
    "cabinet_temperature": "degC",
    "ambient_temperature": "degC",
    "boiler_temperature": "degC",
    "water_temperature": "degC",
    "ice": None,
    "container": None,
    "event": None,
    "note": None,
}


def test_the_agreed_columns_have_their_agreed_units() -> None:
    assert {name: column.default_unit for name, column in COLUMNS.items()} == AGREED


@pytest.mark.parametrize("name", COLUMNS)
def test_a_column_is_whole(name: str) -> None:
    column = COLUMNS[name]
    assert column.name == name
    assert column.label and column.meaning
    assert (column.unit is None) == (column.default_unit is None)
    if column.unit is not None and column.default_unit is not None:
        assert units.conversion(column.default_unit, column.unit)[0] > 0


def test_every_measured_column_has_limits_of_what_is_possible() -> None:
    measured = {name for name, column in COLUMNS.items() if column.unit is not None} - set(TIME_COLUMNS)
    assert set(POSSIBLE) == measured
    assert all(low < high for low, high in POSSIBLE.values())


@pytest.mark.parametrize(
    ("cell", "name", "unit"),
    [
        ("cabinet_temperature [degC]", "cabinet_temperature", "degC"),
        ("cabinet_temperature (°C)", "cabinet_temperature", "°C"),
        ("  gas_volume[ m3 ] ", "gas_volume", "m3"),
        ("time", "time", None),
        ("note []", "note", None),
        ("Kanal (1) [F]", "Kanal (1)", "F"),
        ("Kanal 1 [F]", "Kanal 1", "F"),
        ("gas (L) by eye", "gas (L) by eye", None),
        ("", "", None),
        ("((( ", "(((", None),
        ("x" * 500 + " [L]", "x" * 500 + " [L]", None),
    ],
)
def test_a_header_is_a_name_and_perhaps_a_unit(cell: str, name: str, unit: str | None) -> None:
    assert split_header(cell) == (name, unit)


@given(st.text(max_size=60))
def test_any_header_can_be_split(cell: str) -> None:
    name, unit = split_header(cell)
    assert name in cell
    assert unit is None or unit in cell


@pytest.mark.parametrize("name", COLUMNS)
def test_case_spaces_hyphens_and_underscores_do_not_matter(name: str) -> None:
    words = name.replace("_", " ")
    for text in (
        name,
        words,
        words.title(),
        words.upper(),
        name.replace("_", "-"),
        name.replace("_", ""),
        f" {name} ",
    ):
        assert column_named(text) == name


@pytest.mark.parametrize("text", ["", "temperature", "cabinet", "gas volume (L)", "times"])
def test_other_names_mean_nothing(text: str) -> None:
    assert column_named(text) is None


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("burner lit", "burner lit"),
        ("Burner Lit", "burner lit"),
        ("lit", "burner lit"),
        ("burner_lit", "burner lit"),
        ("burner out", "burner out"),
        ("FLAME OUT", "burner out"),
        ("water placed", "water placed"),
        ("water-in", "water placed"),
        ("door opened", "door opened"),
        ("refill", "refill"),
        ("tea break", "other"),
        ("not lit", "other"),
        ("", "other"),
    ],
)
def test_an_event_is_known_by_several_names(text: str, kind: str) -> None:
    assert event_kind(text) == kind


def test_no_name_means_two_events() -> None:
    names = [normalised(name) for group in EVENTS.values() for name in group]
    assert len(names) == len(set(names))
    assert all(event_kind(kind) == kind for kind in EVENTS)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("liquid", 0.0),
        ("Partial", None),
        ("SOLID", 1.0),
        ("0", 0.0),
        ("60", 0.6),
        ("60%", 0.6),
        ("60 %", 0.6),
        ("62,5 %", 0.625),
        ("62.5", 0.625),
        ("100", 1.0),
        (" solid ", 1.0),
        ("0.5", 0.005),
    ],
)
def test_ice_is_a_word_or_a_percentage(text: str, share: float | None) -> None:
    assert frozen_share(text) == share


@pytest.mark.parametrize("text", ["soft", "101", "-1", "nan", "inf", "", "%", "half", "60 L"])
def test_other_ice_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        frozen_share(text)


def test_every_ice_word_is_read() -> None:
    assert {frozen_share(word) for word in ICE_WORDS} == {0.0, None, 1.0}


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("frozen", "solid"),
        ("Frozen  solid", "solid"),
        ("hard", "solid"),
        ("NOT frozen", "liquid"),
        ("water", "liquid"),
        ("still water", "liquid"),
        ("partly", "partial"),
        ("partly frozen", "partial"),
        ("skin", "partial"),
        (" thin skin ", "partial"),
        ("slush", "partial"),
        ("solid", None),
        ("60", None),
    ],
)
def test_everyday_words_for_ice_are_read_as_words_of_ours(text: str, word: str | None) -> None:
    assert plain_ice_word(text) == word
    if word is not None:
        assert frozen_share(text) == ICE_WORDS[word]


@pytest.mark.parametrize(
    ("header", "meant"),
    [
        ("Gas volum [L]", ["gas_volume"]),
        ("cabinet temprature", ["cabinet_temperature"]),
        ("gas volume L", ["gas_volume"]),
        ("Cabient Temperature (F)", ["cabinet_temperature"]),
        ("ambiant_temperature", ["ambient_temperature"]),
        ("metane [%]", ["methane"]),
        ("tme", ["time"]),
        ("notes", ["note"]),
        ("pressure", ["gas_pressure", "atmospheric_pressure"]),
        ("air temperature", []),
        ("outer temperature", []),
        ("humidity", []),
        ("battery [V]", []),
        ("Kanal 2 [F]", []),
        ("X", []),
        ("", []),
    ],
)
def test_a_slip_of_the_pen_in_a_header_is_asked_about(header: str, meant: list[str]) -> None:
    assert columns_meant(header) == meant


@pytest.mark.parametrize("name", COLUMNS)
def test_a_letter_left_out_of_a_name_is_asked_about(name: str) -> None:
    for i in range(len(name)):
        header = name[:i] + name[i + 1 :]
        if len(name) > 4 and column_named(header) is None:
            assert columns_meant(header)[:1] == [name], header
