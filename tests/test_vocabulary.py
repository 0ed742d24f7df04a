"""What a log column can hold."""

from __future__ import annotations

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import everyday, units, vocabulary
from reportgen.everyday.phrases import name_key
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
    is_own_name,
    lights_again,
    plain_ice_word,
    split_header,
    went_out_by_itself,
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
        ("Fridge temp, °C", "Fridge temp", "°C"),
        ("Temp, °C (LGR S/N: 12, SEN S/N: 12)", "Temp", "°C"),
        ("cabinet_temperature [degC] (LGR S/N: 12)", "cabinet_temperature", "degC"),
        ("Temperature (probe 1) [°C] (S/N 12)", "Temperature (probe 1)", "°C"),
        ("cabinet_temperature_degC", "cabinet_temperature", "degC"),
        ("cabinet_temp_deg_C", "cabinet_temp", "degC"),
        ("fridge temp deg C", "fridge temp", "degC"),
        ("gas_volume_L", "gas_volume", "L"),
        ("temp_C", "temp", "C"),
        ("waste kg", "waste", "kg"),
        ("gas flow L/min", "gas flow", "L/min"),
        ("gas flow / (L/min)", "gas flow", "L/min"),
        ("cabinet temperature / °C", "cabinet temperature", "°C"),
        ("cabinet temperature/\u00baC", "cabinet temperature", "°C"),
        ("cabinet temperature (\u00c2\u00b0C)", "cabinet temperature", "°C"),
        ('"cabinet\u00a0temperature\u00a0[°C]":', "cabinet temperature", "°C"),
        ("\uff47\uff41\uff53 \uff56\uff4f\uff4c\uff55\uff4d\uff45 \uff3b\u33a5\uff3d", "gas volume", "m3"),
        ("CH4 %", "CH4", "%"),
        ("date/time", "date/time", None),
        ("Time:", "Time", None),
        ("time (UTC)", "time", "UTC"),
        ("Probe F", "Probe F", None),  # the sixth probe, or a scale
        ("Probe, in", "Probe, in", None),
        ("Channel 1, °F", "Channel 1", "°F"),
        ("gas_volume h", "gas_volume h", None),
    ],
)
def test_a_header_is_a_name_and_perhaps_a_unit(cell: str, name: str, unit: str | None) -> None:
    assert split_header(cell) == (name, unit)


@given(st.text(max_size=60))
def test_any_header_can_be_split(cell: str) -> None:
    name, unit = split_header(cell)
    folded = unicodedata.normalize("NFKC", cell.replace("\u00c2\u00b0", "\u00b0").replace("\u00ba", "\u00b0"))
    assert name in folded
    assert unit is None or unit in re.sub(r"[\s_]+", "", folded) or unit in folded


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


@pytest.mark.parametrize(
    "text",
    (
        *("", "temperature", "temp", "T", "cabinet", "volume", "pressure", "level", "gas volume (L)", "times", "hour"),
        *("waste", "air temperature", "gas used", "gas production", "elapsed time", "the", "CO2", "x" * 500),
    ),
)
def test_other_names_mean_nothing(text: str) -> None:
    assert column_named(text) is None


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("Date Time", "time"),
        ("date/time", "time"),
        ("Timestamp", "time"),
        ("UNIX Timestamp", "epoch"),
        ("Fridge temp", "cabinet_temperature"),
        ("fridgeTemp", "cabinet_temperature"),
        ("fridgetemp", "cabinet_temperature"),
        ("Temp. of the fridge", "cabinet_temperature"),
        ("temperature cabinet", "cabinet_temperature"),
        ("Temperature (freezer)", "cabinet_temperature"),
        ("T_cabinet", "cabinet_temperature"),
        ("Cabinet air, °C", "cabinet_temperature"),
        ("inside temperature", "cabinet_temperature"),
        ("Ambient", "ambient_temperature"),
        ("room temp [F]", "ambient_temperature"),
        ("air temperature outside", "ambient_temperature"),
        ("Gasholder volume", "gas_volume"),
        ("biogas volume", "gas_volume"),
        ("meter reading (m3)", "gas_volume"),
        ("gas remaining", "gas_volume"),
        ("holder_L", "gas_volume"),
        ("holder [cm]", "gas_level"),
        ("flow rate", "gas_flow"),
        ("biogas pressure", "gas_pressure"),
        ("Barometric pressure", "atmospheric_pressure"),
        ("CH4", "methane"),
        ("% methane", "methane"),
        ("Methane percentage", "methane"),
        ("H2S", "hydrogen_sulfide"),
        ("H\u2082S", "hydrogen_sulfide"),
        ("Hydrogen sulphide", "hydrogen_sulfide"),
        ("CO (ppm)", "carbon_monoxide"),
        ("waste [kg]", "fresh_mass"),
        ("waste_kg", "fresh_mass"),
        ("Wet weight", "fresh_mass"),
        ("waste fed", "fresh_mass"),
        ("type of waste", "material"),
        ("ice state", "ice"),
        ("ice %", "ice"),
        ("frozen [%]", "ice"),
        ("Remarks", "note"),
        ("Notes:", "note"),
        ("Évent", "event"),
        ("température armoire", "cabinet_temperature"),
        ("Temp. du frigo, °C", "cabinet_temperature"),
        ("TEMPERATURE_AMBIANTE", "ambient_temperature"),
        ("T° réfrigérateur [°C]", "cabinet_temperature"),
        ("Heure", "time"),
        ("Volume du gazomètre (litres)", "gas_volume"),
        ("Pression de l\u2019air (hPa)", "atmospheric_pressure"),
        ("armoire [°C]", "cabinet_temperature"),
        ("déchets_kg", "fresh_mass"),
        ("% CH4", "methane"),
        ("Méthane", "methane"),
        ("Temperatura de la nevera", "cabinet_temperature"),
        ("Presión del gas [mbar]", "gas_pressure"),
        ("hielo", "ice"),
        ("Fecha/hora", "time"),
        ("peso de los desechos (kg)", "fresh_mass"),
        ("Joto la friji", "cabinet_temperature"),
        ("halijoto ya chumba", "ambient_temperature"),
        ("ujazo wa gesi [lita]", "gas_volume"),
        ("barafu (%)", "ice"),
        ("درجة حرارة الثلاجة", "cabinet_temperature"),
        ("دَرَجَة حرارة البرّاد (°م)", "cabinet_temperature"),
        ("حرارة الغرفه [°C]", "ambient_temperature"),
        ("حجـــم الغاز (لتر)", "gas_volume"),
        ("مُلاحظات", "note"),
        ("أول اكسيد الكربون (ppm)", "carbon_monoxide"),
        ("\u200fالتاريخ\u200e", "date"),
    ],
)
def test_everyday_names_are_known(header: str, column: str) -> None:
    name, unit = split_header(header)
    assert column_named(name, unit) == column


@pytest.mark.parametrize(
    "header", ["meter reading [kWh]", "ambient [%]", "CO2 [ppm]", "waste [L]", "remarks [kg]", "fridge [V]", "cabinet"]
)
def test_an_everyday_name_with_a_unit_that_does_not_fit_is_none(header: str) -> None:
    assert column_named(*split_header(header)) is None


def test_the_names_themselves_are_told_from_everyday_ones() -> None:
    assert all(map(is_own_name, (*COLUMNS, "Gas Volume", "CABINET-TEMPERATURE")))
    assert not any(map(is_own_name, ("fridge temp", "temperature cabinet", "")))


@pytest.mark.parametrize("language", everyday.COLUMNS)
def test_no_everyday_name_means_two_columns(language: str) -> None:
    tables = (
        everyday.COLUMNS,
        everyday.WITH_UNIT,
        everyday.DOUBTFUL,
        everyday.SHORT,
        everyday.FILLERS,
        everyday.ARTICLE,
    )
    assert all(set(table) == set(everyday.COLUMNS) for table in tables)
    phrases = {phrase: column for column, known in everyday.COLUMNS[language].items() for phrase in known}
    assert set(phrases.values()) <= set(COLUMNS)
    for phrase, column in phrases.items():
        assert column_named(phrase) == column
        assert not is_own_name(phrase)
    for phrase, columns in (*everyday.WITH_UNIT[language].items(), *everyday.DOUBTFUL[language].items()):
        assert set(columns) <= set(COLUMNS)
        assert column_named(phrase) is None
        assert set(columns) <= set(columns_meant(phrase))


def test_no_word_but_those_known_means_different_things_in_two_languages() -> None:
    tables = (everyday.COLUMNS, everyday.WITH_UNIT, everyday.DOUBTFUL)
    clashing = {
        phrase
        for language in everyday.COLUMNS
        for table in tables
        for known in (table[language].values() if table is everyday.COLUMNS else (table[language],))
        for phrase in known
        if len({use for tag, names in vocabulary._NAMES.items() if (use := names.get(name_key(phrase, tag)))}) > 1
    }
    assert clashing == {"temps"}  # the time in French, temperatures in English


def test_a_name_that_two_languages_take_for_different_columns_is_asked_about(monkeypatch: pytest.MonkeyPatch) -> None:
    for other in ((vocabulary.SURE, ("note",)), (vocabulary.WITH_UNIT, ("ice",)), (vocabulary.ASKED, ("ice", "note"))):
        monkeypatch.setattr(
            vocabulary, "_NAMES", {"fr": {("borogove",): (vocabulary.SURE, ("ice",))}, "es": {("borogove",): other}}
        )
        vocabulary._use.cache_clear()
        column_named.cache_clear()
        assert column_named("borogove") is None
        assert columns_meant("borogove") == list(dict.fromkeys(("ice", *other[1])))
    vocabulary._use.cache_clear()
    column_named.cache_clear()


@given(st.text(max_size=60))
def test_any_header_is_looked_up(cell: str) -> None:
    name, unit = split_header(cell)
    assert column_named(name, unit) in {None, *COLUMNS}
    assert set(columns_meant(cell)) <= set(COLUMNS)


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
        ("Lit the burner", "burner lit"),
        ("we lit the burner", "burner lit"),
        ("burner was lit again", "burner lit"),
        ("Flame on", "burner lit"),
        ("gas off", "burner out"),
        ("The flame went out", "burner out"),
        ("put water in freezer", "water placed"),
        ("opened the door", "door opened"),
        ("gasholder refilled", "refill"),
        ("Brûleur ALLUMÉ", "burner lit"),
        ("on a allumé le brûleur", "burner lit"),
        ("la flamme s'est éteinte", "burner out"),
        ("la flamme s\u2019est éteinte", "burner out"),
        ("pas allumé", "other"),
        ("se apagó la llama", "burner out"),
        ("agua puesta en la nevera", "water placed"),
        ("puerta abierta", "door opened"),
        ("moto umewashwa", "burner lit"),
        ("maji yamewekwa", "water placed"),
        ("أُشعِل الموقد", "burner lit"),
        ("تم إطفاء الموقد", "burner out"),
        ("الباب", "door opened"),
        ("لم يشتعل الموقد", "other"),
        ("door closed", "other"),
        ("burner not lit", "other"),
        ("gas on", "other"),
        ("water", "other"),
        ("lit?", "other"),
        ("tea break", "other"),
        ("not lit", "other"),
        ("", "other"),
    ],
)
def test_an_event_is_known_by_several_names(text: str, kind: str) -> None:
    assert event_kind(text) == kind


def test_no_name_means_two_events_or_states() -> None:
    for table, read in ((everyday.EVENTS, event_kind), (everyday.ICE, plain_ice_word)):
        for words in table.values():
            for meaning, phrases in words.items():
                assert {read(phrase) for phrase in phrases} == {meaning}
    assert all(event_kind(kind) == kind for kind in EVENTS)


def test_a_relighting_and_a_flame_that_died_are_known_in_every_language() -> None:
    for kind, says in (
        ("burner lit", lights_again),
        ("burner out", went_out_by_itself),
    ):
        for language, words in everyday.EVENTS.items():
            said = [phrase for phrase in words[kind] if says(phrase)]
            assert said, (language, kind)
            assert len(said) < len(words[kind]), (language, kind)
        assert not says(kind)
    assert lights_again("Re-lit")
    assert went_out_by_itself("The flame went out")
    assert not lights_again("went out again")
    assert not went_out_by_itself("relit")
    assert all(tuple(words) == EVENTS for words in everyday.EVENTS.values())


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
        ("60 percent", 0.6),
        ("60% frozen", 0.6),
        ("half frozen", 0.5),
        ("three quarters frozen", 0.75),
        ("hielo sólido", 1.0),
        ("à moitié gelée", 0.5),
        ("60 % gelé", 0.6),
        ("60 % congelado", 0.6),
        ("٦٠٪", 0.6),
        ("٦٢٫٥ ٪", 0.625),
        ("نصف متجمّد", 0.5),
        ("robo tatu imeganda", 0.75),
    ],
)
def test_ice_is_a_word_or_a_percentage(text: str, share: float | None) -> None:
    assert frozen_share(text) == share


@pytest.mark.parametrize("text", ["soft", "101", "-1", "nan", "inf", "", "%", "half", "60 L", "5\u00b2", "60 eau"])
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
        ("Ice hard", "solid"),
        ("fully-frozen", "solid"),
        ("the ice is hard", "solid"),
        ("not yet solid", "partial"),
        ("skin of ice", "partial"),
        ("no ice", "liquid"),
        ("half frozen", "50 %"),
        ("Gelée", "solid"),
        ("PAS GELÉ", "liquid"),
        ("no congelado", "liquid"),
        ("casi congelada", "partial"),
        ("hayajaganda", "liquid"),
        ("yameganda", "solid"),
        ("غير متجمد", "liquid"),
        ("متجمد جزئياً", "partial"),
        ("solid", None),
        ("60", None),
    ],
)
def test_everyday_words_for_ice_are_read_as_words_of_ours(text: str, word: str | None) -> None:
    assert plain_ice_word(text) == word
    if word is not None:
        assert frozen_share(text) == frozen_share(word)


@pytest.mark.parametrize(
    ("header", "meant"),
    [
        ("Gas volum [L]", ["gas_volume"]),
        ("cabinet temprature", ["cabinet_temperature"]),
        ("fridge temprature", ["cabinet_temperature"]),
        ("Cabient Temperature (F)", ["cabinet_temperature"]),
        ("ambiant_temperature", ["ambient_temperature"]),
        ("metane [%]", ["methane"]),
        ("metane [kWh]", []),
        ("tme", ["time"]),
        ("Commments", ["note"]),
        ("pressure", ["gas_pressure", "atmospheric_pressure"]),
        ("temp_C", list(everyday.DOUBTFUL["en"]["temperature"])),
        ("volume [L]", ["gas_volume", "water_added"]),
        ("gas [L/min]", ["gas_flow"]),
        ("water_L", ["water_added"]),
        ("air temperature", ["ambient_temperature", "cabinet_temperature"]),
        ("time_s", ["elapsed"]),
        ("time, min", ["elapsed"]),
        ("meter reading [kWh]", []),
        ("température de l'armoir", ["cabinet_temperature"]),
        ("temprature frigo [°C]", ["cabinet_temperature"]),
        ("tempertura ambiente", ["ambient_temperature"]),
        ("joto la mazingara", ["ambient_temperature"]),
        ("درجة حرراة الغرفة", ["ambient_temperature"]),
        ("Temps", ["time", "elapsed", *everyday.DOUBTFUL["en"]["temperature"]]),
        ("presión [mbar]", ["gas_pressure", "atmospheric_pressure"]),
        ("température du bidon", []),
        ("kg", ["fresh_mass"]),
        ("[kg]", ["fresh_mass"]),
        ("L", ["gas_volume", "gas_produced", "water_added"]),
        ("gas made [L]", ["gas_produced"]),
        ("gas made [kg]", []),
        ("food", ["fresh_mass", "material"]),
        ("gaz obtenu", ["gas_produced"]),
        ("gas recogido", ["gas_produced"]),
        ("gesi iliyopatikana", ["gas_produced"]),
        ("كجم", ["fresh_mass"]),
        ("humedad", []),
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
