"""`trial.toml`: every key that outside files use, and how its values are written."""

from __future__ import annotations

import datetime as dt
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import TrialFileError
from reportgen.read.sheet import Sheet, parse_sheet
from reportgen.units import Stated

#: Every key, as outside files write them.
EVERYTHING = """\
title = "Harbour canteen, run 3"          # required
id = "HC-2026-03"
series = "rainy season"
outcome = "completed"
site = "Harbour canteen"
region = "south coast"
operator = "…"
organisation = "a cooperative"
contact = "post office box 7"
signed_by = "…"
amendments = "…"
date = 2026-03-14
time_zone = "Indian/Mauritius"
altitude = "40 m"
photos = ["photos/ice.jpg"]
photo_consent = true
incidents = ""
licence = "CC-BY-4.0"
citation = "…"
paid_by = "…"
equipment_from = "…"
conflicts = "none"
purpose = "…"
steps = "one\\ntwo\\n"
deviations = "none"
weather = "shade"
baseline = "bought ice"
advice = "…"
notes = "free Markdown"

[burner]
lit = "09:05"
out = "12:40"
description = "…"
flame = "blue"

[gas]
kind = "holder"
isolated = true
level_area = "2400 cm^2"
level_table = [[0, 0], [10, 24], [20, 47]]
accuracy = "2 % (limits)"
resolution = "2 L"
capacity = "210 L"
reserve = "20 L"
temperature = "27 +/- 1 degC"
pressure = "9 +/- 0.5 mbar"
atmospheric = "1009 hPa"
dry = false
methane = "61 +/- 3 %"
methane_method = "analyser"
seal_water = "tap water"

[cabinet]
appliance = "…"
inside_volume = "60 L"
probe_position = "air, centre shelf"
resolution = "0.1 K"
accuracy = "0.5 K (limits)"
thermostat = "coldest"
heat_leak = "1.1 +/- 0.2 W/K"
indoors = false
probe_check = "0 °C in ice and water"
level_checked = true
food_inside = false

[boiler]
temperature = "180 +/- 10 degC"

[water]
mass = "1.20 +/- 0.01 kg"
placed = "09:10"
temperature = "24 +/- 0.5 degC"
ice_temperature = "-6 +/- 1 degC"
ice_mass = "1.15 +/- 0.01 kg"
end_point = "tilted, no liquid moves"
containers = 4
potable = false
shape = "slab"
thickness = "40 mm"
container = "steel tray"

[digester]
description = "tank with a drum"
preparation = "minced"
working_volume = "900 L"
solids_source = "measured"
specific_yield = "110 +/- 20 L/kg"
yield_basis = "standard"

[reference]
heat_source = "electricity"
source = "log book, run of 2 March"
power = "120 +/- 5 W"
cooling_rate_mean = "12 +/- 1 K/h"
time_to_0 = "1.5 +/- 0.1 h"
time_to_minus_6 = "130 min"
time_to_minus_12 = "3.4 +/- 0.1 h"
time_to_minus_18 = "6 +/- 0.2 h"
ice_making_time = "4.0 +/- 0.2 h"
freezing_time = "3.5 +/- 0.2 h"
temperature_lowest = "-21 +/- 0.5 degC"
ice_making_capacity = "6.2 +/- 0.4 kg/d"
cooling_power = "26 +/- 2 W"

[replication]
parts = "a drum"
skills = "reading a scale"
permissions = "market office"

[audience]
visitors = 35
[costs]
currency = "MUR"
burner = 2400
[costs.per_trial]
labour = 60
lye = 4.5

[columns]
"logger7.csv" = { time = "Zeit", cabinet_temperature = "Kanal 1 [F]" }
"""


def sheet(text: str) -> Sheet:
    return parse_sheet(f'title = "A trial"\n{text}'.encode())


def fault(text: str) -> str:
    with pytest.raises(TrialFileError) as caught:
        sheet(text)
    message = str(caught.value)
    assert 1 <= len(message.split("\n")) <= 3
    assert message.startswith("trial.toml")
    assert str(pickle.loads(pickle.dumps(caught.value))) == message
    return message


def values(part: object) -> dict[str, object]:
    assert hasattr(part, "model_dump")
    return {
        key: (round(value.value, 9), round(value.standard_uncertainty, 9)) if isinstance(value, Stated) else value
        for key in type(part).model_fields  # type: ignore[attr-defined]
        if (value := getattr(part, key)) is not None
    }


def test_a_sheet_with_every_key_is_read() -> None:
    read = parse_sheet(EVERYTHING.encode())
    third = 1 / 3**0.5
    assert (read.title, read.id, read.operator, [photo.file for photo in read.photos]) == (
        "Harbour canteen, run 3",
        "HC-2026-03",
        "…",
        ["photos/ice.jpg"],
    )
    assert (read.date, read.time_zone, read.photo_consent) == (dt.date(2026, 3, 14), "Indian/Mauritius", True)
    assert read.altitude is not None and read.altitude.value == 40.0
    assert values(read.burner) == {"lit": "09:05", "out": "12:40", "description": "…", "flame": "blue"}
    assert values(read.gas) == {
        "kind": "holder",
        "isolated": True,
        "level_area": (2400.0, round(third / 2, 9)),
        "level_table": [[0, 0], [10, 24], [20, 47]],
        "accuracy": (round(2 * third, 9), 0.0),
        "resolution": (2.0, round(0.04 * third, 9)),  # 2 %, which is less than half a litre
        "capacity": (210.0, round(third / 2, 9)),
        "reserve": (20.0, round(0.4 * third, 9)),
        "temperature": (27.0, 1.0),
        "pressure": (0.9, 0.05),
        "atmospheric": (100.9, round(third / 20, 9)),
        "dry": False,
        "methane": (61.0, 3.0),
        "methane_method": "analyser",
        "seal_water": "tap water",
    }
    assert values(read.cabinet)["accuracy"] == (round(0.5 * third, 9), 0.0)
    assert values(read.cabinet)["heat_leak"] == (1.1, 0.2)
    assert values(read.boiler) == {"temperature": (180.0, 10.0)}
    assert values(read.water) == {
        "mass": (1.2, 0.01),
        "placed": "09:10",
        "temperature": (24.0, 0.5),
        "ice_temperature": (-6.0, 1.0),
        "ice_mass": (1.15, 0.01),
        "end_point": "tilted, no liquid moves",
        "containers": 4,
        "potable": False,
        "shape": "slab",
        "thickness": (40.0, round(third / 2, 9)),
        "container": "steel tray",
    }
    assert read.cabinet.level_checked and read.cabinet.food_inside is False
    assert (read.digester.description, read.digester.preparation) == ("tank with a drum", "minced")
    assert values(read.replication) == {"parts": "a drum", "skills": "reading a scale", "permissions": "market office"}
    assert (read.organisation, read.steps) == ("a cooperative", "one\ntwo\n")
    assert values(read.digester)["specific_yield"] == (110.0, 20.0)
    assert read.reference is not None
    assert values(read.reference) == {
        "heat_source": "electricity",
        "source": "log book, run of 2 March",
        "power": (120.0, 5.0),
        "cooling_rate_mean": (12.0, 1.0),
        "time_to_0": (1.5, 0.1),
        "time_to_minus_6": (round(130 / 60, 9), round(third / 120, 9)),
        "time_to_minus_12": (3.4, 0.1),
        "time_to_minus_18": (6.0, 0.2),
        "ice_making_time": (4.0, 0.2),
        "freezing_time": (3.5, 0.2),
        "temperature_lowest": (-21.0, 0.5),
        "ice_making_capacity": (6.2, 0.4),
        "cooling_power": (26.0, 2.0),
    }
    assert read.audience == {"visitors": 35}
    assert read.costs == {"currency": "MUR", "burner": 2400, "per_trial": {"labour": 60, "lye": 4.5}}
    assert read.columns == {"logger7.csv": {"time": "Zeit", "cabinet_temperature": "Kanal 1 [F]"}}


@pytest.mark.parametrize(
    ("costs", "said"),
    [
        ("[costs]\nmeter = true", "costs.meter: found true, expected a number or a text in quotation marks"),
        ("[costs]\nmeter = [1]", "costs.meter: found a list, expected a number"),
        ('[costs.per_trial]\nbus = "5"', 'found "5" for bus, expected a number that is not negative'),
        ("[costs.per_trial]\nbus = -5", "found -5 for bus, expected a number that is not negative"),
        ("[costs]\nper_trial = 3", "found 3 for per_trial, expected a table of amounts"),
        ("[costs.bus]\nfuel = 3", "found a table for bus, expected a number; a table is only [costs.per_trial]"),
    ],
)
def test_costs_are_amounts_and_only_those_of_the_trial_a_table(costs: str, said: str) -> None:
    assert said in fault(costs)


#: Lines with a key that the program knows; below [audience], [costs] and [columns] the names are free.
KEY_LINES = [n for n, line in enumerate(EVERYTHING.partition("[audience]")[0].splitlines()) if " = " in line]


@pytest.mark.parametrize("number", KEY_LINES)
def test_a_key_spelt_wrongly_is_named_with_its_line(number: int) -> None:
    lines = EVERYTHING.splitlines()
    key = lines[number].partition(" =")[0]
    lines[number] = lines[number].replace(key, f"{key}x", 1)
    with pytest.raises(TrialFileError) as caught:
        parse_sheet("\n".join(lines).encode())
    assert any(
        line.startswith(f"trial.toml:{number + 1}: ") and f"{key}x is not known" in line and f'"{key}"' in line
        for line in str(caught.value).split("\n")
    )


def test_a_title_is_enough() -> None:
    read = parse_sheet(b'title = "Ice"')
    assert (read.title, read.date, read.time_zone, read.gas.kind, read.water.mass) == (
        "Ice",
        None,
        None,
        None,
        None,
    )


def test_a_reference_run_is_named_and_needs_nothing_else() -> None:
    assert sheet("").reference is None
    read = sheet("[reference]\nheat_source = 'LPG'").reference
    assert read is not None
    assert (read.heat_source, read.source, read.power) == ("LPG", "", None)


def test_a_byte_order_mark_and_windows_line_ends_do_not_matter() -> None:
    data = b"\xef\xbb\xbf" + EVERYTHING.replace("\n", "\r\n").encode()
    assert parse_sheet(data) == parse_sheet(EVERYTHING.encode())


@pytest.mark.parametrize("text", ["date = 2026-03-14", 'date = "2026-03-14"'])
def test_a_date_is_a_toml_date_or_a_text(text: str) -> None:
    assert sheet(text).date == dt.date(2026, 3, 14)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ('"09:05"', "09:05"),
        ("09:05:00", dt.time(9, 5)),
        ("2026-03-14T09:05:00", dt.datetime(2026, 3, 14, 9, 5)),
        ("2026-03-14 09:05:00", dt.datetime(2026, 3, 14, 9, 5)),
        ("2026-03-14T05:05:00Z", dt.datetime(2026, 3, 14, 5, 5, tzinfo=dt.UTC)),
        ('"2026-03-14 09:05"', "2026-03-14 09:05"),
    ],
)
def test_a_moment_is_a_text_or_a_time_of_toml(text: str, value: object) -> None:
    read = sheet(f"[burner]\nlit = {text}\n[water]\nplaced = {text}")
    assert read.burner.lit == read.water.placed == value


@pytest.mark.parametrize(
    "text", ["905", "true", "2026-03-14", '"nine"', '"2026-03-14"', '""', "0001-01-01T09:05:00", "[9, 5]"]
)
def test_what_is_no_moment_is_refused(text: str) -> None:
    expected = 'expected a clock time such as "09:05" or a date and time such as "2026-03-14 09:05"'
    message = fault(f"[burner]\nout = {text}")
    assert message.startswith("trial.toml:3: burner.out: found ")
    assert message.endswith(expected)


def test_a_photo_may_say_more_than_its_path() -> None:
    (photo,) = sheet('photos = [{ file = "ice.jpg", caption = "The tray", people = true }]').photos
    assert (photo.file, photo.caption, photo.people) == ("ice.jpg", "The tray", True)
    assert "photos" in fault('photos = [{ caption = "The tray" }]')
    assert "expected a relative path inside the trial folder" in fault('photos = [{ file = "../ice.jpg" }]')


@pytest.mark.parametrize(
    ("text", "inside"), [("photos/ice.jpg", "photos/ice.jpg"), ("photos\\\\ice.jpg", "photos/ice.jpg")]
)
def test_a_photo_lies_inside_the_folder(text: str, inside: str) -> None:
    assert [photo.file for photo in sheet(f'photos = ["{text}"]').photos] == [inside]


@pytest.mark.parametrize(
    "text",
    [
        "../ice.jpg",
        "a/../../ice.jpg",
        "/ice.jpg",
        "C:/ice.jpg",
        "\\\\\\\\host\\\\ice.jpg",
        "a\\\\..\\\\..\\\\b",
        "",
        "a\\u0000",
    ],
)
def test_a_photo_outside_the_folder_is_refused(text: str) -> None:
    assert "expected a relative path inside the trial folder" in fault(f'photos = ["{text}"]')


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("burner = 3", "trial.toml:2: burner: found 3, expected a table: a line [burner] and its keys below it"),
        ("site = 3", "trial.toml:2: site: found 3, expected a text in quotation marks"),
        ("photo_consent = 1", "trial.toml:2: photo_consent: found 1, expected true or false"),
        ("[water]\ncontainers = 1.5", "trial.toml:3: water.containers: found 1.5, expected a whole number"),
        (
            "[gas]\nlevel_table = [[0, 0]]",
            ("trial.toml:3: gas.level_table: found a list, expected two or more pairs of level and volume"),
        ),
        ("[gas]\nlevel_table = [[0, nan], [1, 1]]", "trial.toml:3: gas.level_table: found nan, expected a number"),
        ("gas.kind = 'tank'", 'trial.toml:2: gas.kind: found "tank", expected "holder", "meter" or "flow"'),
        ("gas = { knid = 'meter' }", 'trial.toml:2: the key gas.knid is not known; the nearest known key is "kind"'),
        (
            "[costs]\nburner = true",
            "trial.toml:3: costs.burner: found true, expected a number or a text in quotation marks",
        ),
        (
            "[audience]\nvisitors = 0x" + "f" * 5000,
            (
                "trial.toml:3: audience.visitors: found a number of many digits, "
                "expected a number or a text in quotation marks"
            ),
        ),
        (
            '[files."a.csv"]\ndate_ordr = "day first"',
            ('trial.toml:3: the key files."a.csv".date_ordr is not known; the nearest known key is "date_order"'),
        ),
        (
            '[columns]\n"a.csv" = { tme = "t" }',
            ('trial.toml:3: columns."a.csv": found tme, which is no column of a log; the nearest known is "time"'),
        ),
        (
            'time_zone = """Indian\nOcean"""',
            (
                'trial.toml:2: time_zone: found "Indian Ocean", expected an IANA zone such '
                'as "Indian/Mauritius" or "UTC"'
            ),
        ),
        (
            "[reference]\npower = '120 W'",
            'trial.toml:2: the key reference.heat_source is missing; add for example heat_source = "…"',
        ),
        (
            "[reference]\nheat_source = 'LPG'\ntime_to_0 = '-1 h'",
            'trial.toml:4: reference.time_to_0: found "-1 h", expected more than zero',
        ),
        (
            "[reference]\nheat_source = 'LPG'\npower = '20 A'",
            (
                'trial.toml:4: reference.power: found "20 A", expected a power such as "120 +/- 5 W": '
                '"A" cannot be read as W'
            ),
        ),
        ("[gas]\nmethane = '161 %'", 'trial.toml:3: gas.methane: found "161 %", expected 0 to 100 %'),
    ],
)
def test_a_fault_says_line_key_found_and_expected(text: str, expected: str) -> None:
    assert fault(text) == expected


@pytest.mark.parametrize(
    ("text", "line", "hint"),
    [
        (
            "title = Harbour canteen\n",
            1,
            'Texts, quantities and times need quotation marks:  title = "Harbour canteen"',
        ),
        (
            'title = "t"\n[water]\nmass = 1.2 kg # by scale\n',
            3,
            'Texts, quantities and times need quotation marks:  mass = "1.2 kg"',
        ),
        ("title = “Harbour”\n", 1, 'Use straight quotation marks: "…"'),
        ("title = 't'\n[burner]\nlit = ‘09:05’ # early\n", 3, 'Use straight quotation marks: "…"'),
        ('title = "the cook’s\n', 1, "Close what the line opens: a quotation mark or a bracket."),
        ('title = "t"\nphotos = ["a.jpg"\n', 2, "Close what the line opens: a quotation mark or a bracket."),
        ('title = "t"\nphotos = ["a.jpg"\nsite = "s"\n', 3, "Close the bracket that a line above opens."),
        ('title = "t"\nsite = s"\n', 2, 'Texts, quantities and times need quotation marks:  site = "s"'),
        ('title = "t"\ndate = 14/03/2026\n', 2, "Write a date as year, month and day:  date = 2026-03-14"),
        ('title = "t"\ntitle = "t"\n', 2, "A key or a section stands twice; keep one of the two."),
        ('title = "Run" 3\n', 1, "Keep the whole text inside the quotation marks; only a comment after # may follow."),
        ('title = "t"\naltitude =\n', 2, 'Write a value:  altitude = "…"  or leave the line out.'),
        ('title "t"\n', 1, 'A line is  key = "value", or  [section], or a comment after #.'),
    ],
)
def test_a_slip_in_toml_says_its_line_and_what_to_do_about_it(text: str, line: int, hint: str) -> None:
    with pytest.raises(TrialFileError) as caught:
        parse_sheet(text.encode())
    first, second = str(caught.value).split("\n")
    assert first.startswith(f"trial.toml:{line}: this is not TOML: ")
    assert second == hint


def test_three_faults_are_named_and_more_are_counted() -> None:
    three = "site = 1\nregion = 2\noperator = 3"
    assert len(fault(three).split("\n")) == 3
    assert fault(f"{three}\nincidents = 4").split("\n")[2] == "... and 2 more faults"


def test_a_fault_is_never_longer_than_a_line() -> None:
    assert len(fault(f'time_zone = "{"x" * 5000}"')) < 400
    assert len(fault(f'"{"x" * 5000}" = 1')) < 400


def test_a_very_large_or_deep_file_is_no_sheet() -> None:
    for data in (b" " * 1_000_001, b"a = " + b"[" * 5000, b"a = " + b"1" * 5000):
        with pytest.raises(TrialFileError):
            parse_sheet(data)


toml_values = st.one_of(
    st.text(max_size=12).map(lambda text: '"' + text.replace("\\", "").replace('"', "") + '"'),
    st.sampled_from(["1", "-1.5", "nan", "inf", "true", "[]", "[[1, 2]]", "{}", "{ a = 1 }", "09:05:00", "2026-03-14"]),
    st.text(alphabet="0123456789.-+eE/ %LkgdCm()=±", max_size=14).map(lambda text: f"'{text}'"),
)


@given(
    st.sampled_from([line.partition(" =")[0] for line in EVERYTHING.splitlines() if " = " in line]),
    toml_values,
)
def test_no_value_breaks_the_sheet(key: str, value: str) -> None:
    lines = EVERYTHING.splitlines()
    number = next(i for i, line in enumerate(lines) if line.startswith(f"{key} ="))
    lines[number] = f"{key} = {value}"
    try:
        parse_sheet("\n".join(lines).encode("utf-8", "surrogatepass"))
    except TrialFileError as error:
        assert 1 <= len(str(error).split("\n")) <= 3


def test_an_encoding_that_nobody_knows_and_a_key_without_end_are_said_with_their_line() -> None:
    with pytest.raises(TrialFileError, match=r'trial.toml:3: .*found "utf-9", expected an encoding such as "utf-8"'):
        parse_sheet(b'title = "A trial"\n[files."log.csv"]\nencoding = "utf-9"\n')
    with pytest.raises(TrialFileError, match=r"trial.toml:2: more than 32 words joined by points") as caught:
        parse_sheet(b'title = "A trial"\n' + b".".join([b"a"] * 40) + b" = 1\n")
    assert (caught.value.code, caught.value.row) == ("sheet-not-toml", 2)


@given(st.text(max_size=60) | st.binary(max_size=60))
def test_no_file_breaks_the_sheet(content: str | bytes) -> None:
    data = content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass")
    for before in (b"", b'title = "A trial"\n'):
        try:
            parse_sheet(before + data)
        except TrialFileError as error:
            assert 1 <= len(str(error).split("\n")) <= 3
