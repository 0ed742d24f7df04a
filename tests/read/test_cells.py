"""Numbers as loggers and people write them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.read.cells import COLD_COLUMNS, NO_READING, Column, parse_numbers
from reportgen.read.decimals import Mark


def numbers(*cells: str, column: str = "ambient_temperature", unit: str = "degC") -> Column:
    return parse_numbers(np.array(cells, dtype=object), np.arange(2, len(cells) + 2), "log.csv", column, unit)


def seen(read: Column) -> list[tuple[str, str, int | None]]:
    return [(finding.level, finding.code, finding.row) for finding in read.findings]


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("24.5", 24.5),
        ("24", 24.0),
        ("+24", 24.0),
        ("-6.1", -6.1),
        ("−6.1", -6.1),
        ("–6.1", -6.1),
        (".5", 0.5),
        ("5.", 5.0),
        ("1.2e3", 1200.0),
        ("24.5 °C", 24.5),
        ("24.5C", 24.5),
        ("24 degC", 24.0),
        ("0", 0.0),
        ("-0.0", 0.0),
    ],
)
def test_a_number_is_written_in_many_ways(cell: str, value: float) -> None:
    read = numbers("", cell)
    assert math.isnan(read.values[0])
    assert read.values[1] == value
    assert not read.findings


@pytest.mark.parametrize(
    ("cell", "unit"),
    [
        ("61 %", "%"),
        ("210 L", "L"),
        ("210 litres", "L"),
        ("9 mbar", "hPa"),
        ("9 hPa", "mbar"),
        ("80F", "degF"),
    ],
)
def test_a_cell_may_repeat_the_unit_of_its_column(cell: str, unit: str) -> None:
    read = numbers(cell, column="gas_volume", unit=unit)
    assert read.values[0] == float(cell.split()[0].rstrip("F"))
    assert not read.findings


@pytest.mark.parametrize(
    ("cell", "unit"),
    [
        ("24.5 buckets", "degC"),
        ("many", "L"),
        ("<5", "L"),
        ("1.2.3", "L"),
        ("0x10", "L"),
        ("1_000", "L"),
        ("1e400", "L"),
        ("1e300", "L"),
        ("True", "L"),
        ("infinity", "L"),
        ("5 kg", "min"),
    ],
)
def test_what_is_no_number_in_the_unit_is_a_finding(cell: str, unit: str) -> None:
    read = numbers("1", cell, "", cell, column="gas_volume", unit=unit)
    assert np.isnan(read.values).tolist() == [False, True, True, True]
    assert seen(read) == [("caution", "number-not-read", 3)]
    assert str(read.findings[0].message) == (
        f'gas_volume: 2 cells such as "{cell}" are no number in {unit} and are not used; write the numbers alone'
    )


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("many", 'ambient_temperature: the cell "many" is no number in degC and is not used; write the number alone'),
        ("27,5", "ambient_temperature: a decimal comma is read as a point"),
        (
            "---",
            (
                "ambient_temperature: --- is the failure mark of a sensor and is not used; look after the sensor and "
                "its cable"
            ),
        ),
    ],
)
def test_one_cell_is_spoken_of_as_one(cell: str, text: str) -> None:
    assert [str(finding.message) for finding in numbers("27.0", cell).findings] == [text]


def test_decimal_commas_are_read_and_said() -> None:
    read = numbers("27,7", "27,6 °C", "28.0", "-0,5")
    assert read.values.tolist() == [27.7, 27.6, 28.0, -0.5]
    assert seen(read) == [("note", "decimal-comma", 2)]
    assert str(read.findings[0].message) == "ambient_temperature: decimal commas are read as points in 3 rows"
    assert read.step == 0.1


@pytest.mark.parametrize(
    "cell", ["-127", "-127.00", "85", "85.0", "-999", "9999", "Err", "#N/A", "NaN", "---", "nan", "Inf"]
)
def test_a_failed_sensor_is_no_reading(cell: str) -> None:
    read = numbers("24.5", cell)
    assert read.values[0] == 24.5
    assert math.isnan(read.values[1])
    assert seen(read) == [("caution", "sensor-failure", 3)]


@pytest.mark.parametrize("word", sorted(NO_READING))
def test_every_failure_word_is_known_in_any_case(word: str) -> None:
    for cell in (word, word.upper(), word.title()):
        assert seen(numbers(cell)) == [("caution", "sensor-failure", 2)]


@pytest.mark.parametrize(
    ("cell", "unit"),
    [
        ("-196.6", "degF"),
        ("185", "degF"),
        ("185.0", "degF"),
        ("358.15", "K"),
        ("146.15", "K"),
        ("-328", "degF"),
    ],
)
def test_a_failure_code_is_known_after_conversion_by_the_logger(cell: str, unit: str) -> None:
    assert seen(numbers(cell, unit=unit)) == [("caution", "sensor-failure", 2)]


@pytest.mark.parametrize(
    ("cell", "unit"), [("85", "degF"), ("85.0", "degF"), ("85.1", "degC"), ("84.9", "degC"), ("300", "K")]
)
def test_an_ordinary_reading_in_another_unit_is_no_failure(cell: str, unit: str) -> None:
    read = numbers(cell, unit=unit)
    assert read.values.tolist() == [float(cell)]
    assert not read.findings


def test_a_boiler_may_be_at_85_degrees() -> None:
    for column in COLD_COLUMNS:
        assert math.isnan(numbers("85", column=column).values[0])
    assert numbers("85", column="boiler_temperature").values[0] == 85.0
    assert math.isnan(numbers("-127", column="boiler_temperature").values[0])


def test_codes_of_thermometers_are_readings_of_other_instruments() -> None:
    assert numbers("85", "999", column="gas_volume", unit="L").values.tolist() == [85.0, 999.0]


@pytest.mark.parametrize(
    ("cells", "step"),
    [
        (("24.5", "24.1", "23.9"), 0.1),
        (("24.5", "24.0", "23.5", "23.0", "22.5", "22.0"), 0.5),
        (("24", "22", "20", "18", "16", "14"), 2.0),
        (("10", "20", "30", "40", "50", "60"), 10.0),
        (("10", "20", "30"), 1.0),
        (("24,5", "24,0", "23,5", "23,0", "22,5", "22,0"), 0.5),
        (("1.25e1", "1.5e1"), 0.01),
        (("", "Err"), 0.0),
        ((f"0.{'0' * 400}1",), 1e-12),
    ],
)
def test_the_step_is_what_was_resolved(cells: tuple[str, ...], step: float) -> None:
    assert numbers(*cells).step == pytest.approx(step)


@given(st.lists(st.decimals(-1000, 1000, places=2, allow_nan=False), min_size=1, max_size=20))
def test_the_decimal_mark_does_not_change_values(values: list[object]) -> None:
    points = numbers(*map(str, values), unit="L")
    commas = numbers(*(str(value).replace(".", ",") for value in values), unit="L")
    assert points.values.tolist() == commas.values.tolist()
    assert points.step == commas.step


@given(
    st.lists(st.text(max_size=12).map(str.strip), min_size=1, max_size=6),
    st.sampled_from(["degC", "degF", "L", "%"]),
)
def test_no_text_breaks_a_column(cells: list[str], unit: str) -> None:
    read = numbers(*cells, unit=unit)
    assert len(read.values) == len(cells)
    assert not np.isinf(read.values).any()
    lost = [cell for cell, value in zip(cells, read.values, strict=True) if cell and np.isnan(value)]
    assert bool(lost) == bool({"number-not-read", "sensor-failure"} & {finding.code for finding in read.findings})


@pytest.mark.parametrize(
    ("cell", "unit", "value"),
    [
        ("80.6 F", "degC", 27.0),
        ("500 ml", "L", 0.5),
        ("0.6 m3", "L", 600.0),
        ("27 °C", "degF", 80.6),
        ("1.5 psi", "psi", 1.5),
    ],
)
def test_a_cell_with_a_unit_of_its_own_is_converted(cell: str, unit: str, value: float) -> None:
    read = numbers("1", cell, column="gas_volume", unit=unit)
    assert read.values[1] == pytest.approx(value)
    assert seen(read) == ([("note", "cell-unit", 3)] if cell.split()[1] != unit else [])


@pytest.mark.parametrize(
    ("mark", "cell", "value", "code"),
    [
        ("point", "1,234", 1234.0, "thousands-mark"),
        ("point", "1,234,567.5", 1234567.5, "thousands-mark"),
        ("point", "1 234.5", 1234.5, "thousands-mark"),
        ("point", "1\u202f234", 1234.0, "thousands-mark"),
        ("point", "1'234.5", 1234.5, "thousands-mark"),
        ("point", "21,5", 21.5, "decimal-comma"),
        ("point", "1,2345", 1.2345, "decimal-comma"),
        ("point", "1.234", 1.234, None),
        ("comma", "1.234", 1234.0, "thousands-mark"),
        ("comma", "1.234,5", 1234.5, "thousands-mark"),
        ("comma", "100,000", 100.0, "decimal-comma"),
        ("comma", "21.5", 21.5, None),
        ("comma", "\u22125,5", -5.5, "decimal-comma"),
        ("point", "\uff11\uff12.5", 12.5, None),
        ("point", "seven", 7.0, "number-word"),
        ("point", "Zero", 0.0, "number-word"),
    ],
)
def test_marks_and_words_of_numbers(mark: Mark, cell: str, value: float, code: str | None) -> None:
    cells = np.array([cell], dtype=object)
    read = parse_numbers(cells, np.array([2]), "log.csv", "gas_volume", "L", mark)
    assert read.values[0] == value
    assert [finding.code for finding in read.findings] == ([code] if code else [])


@pytest.mark.parametrize("cell", ["12,34,56", "1,2.3", "1.234.56", "1,,2", "1 23", "1234,567,890"])
def test_marks_that_fit_no_number_are_not_guessed(cell: str) -> None:
    for mark in ("point", "comma"):
        read = parse_numbers(np.array([cell], dtype=object), np.array([2]), "log.csv", "gas_volume", "L", mark)
        assert np.isnan(read.values[0])
        assert [finding.code for finding in read.findings] == ["number-not-read"]


def test_hot_water_that_cools_through_a_failure_code_has_not_failed() -> None:
    read = numbers("86.2", "85.4", "85", "84.6", "---", "85", "24.5", column="water_temperature")
    assert np.isfinite(read.values).tolist() == [True, True, True, True, False, True, True]
    read = numbers("24.5", "85", "24.4", "85", "85", column="water_temperature")
    assert np.isfinite(read.values).tolist() == [True, False, True, False, False]
