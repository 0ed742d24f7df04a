"""Texts in the last column that hold the sign which parts the cells: put together again, or left out, never guessed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import LogFileError
from reportgen.read.decimals import Mark
from reportgen.read.table import Table, find_tables

HEAD = "time,cabinet_temperature [degC],event\n09:00,24.5,\n09:20,20.5,burner lit\n09:25,19.5,\n"


def table(text: str, decimal: Mark | None = None) -> Table:
    (found,) = find_tables(text, "log.csv", {}, decimal)
    return found


def words(found: Table, name: str) -> list[str]:
    index = next(heading.index for heading in found.headings if heading.column == name)
    return [str(cell) for cell in found.cells[index]]


def numbers(found: Table, name: str) -> list[str]:
    index = next(heading.index for heading in found.headings if heading.column == name)
    return [str(cell) for cell in found.cells[index]]


def seen(found: Table) -> list[tuple[str, str, int | None]]:
    return [(finding.level, finding.code, finding.row) for finding in found.findings]


def test_a_comma_in_the_last_text_loses_no_row() -> None:
    found = table(HEAD + "09:40,5.2,door opened, put water in\n09:50,5.0,door opened, shut, all well\n")
    assert words(found, "event") == ["", "burner lit", "", "door opened, put water in", "door opened, shut, all well"]
    assert numbers(found, "cabinet_temperature") == ["24.5", "20.5", "19.5", "5.2", "5.0"]
    assert seen(found) == [("note", "text-rejoined", 5)]
    assert str(found.findings[0].message) == (
        "the sign that parts the cells stands in the texts of the last column, event, in 2 rows (5, 6); each is read "
        "as one text; put such texts in quotation marks"
    )


@pytest.mark.parametrize(("sign", "shown"), [(";", ";"), ("|", "|"), ("\t", " ")])
def test_the_sign_is_kept_as_it_was_written(sign: str, shown: str) -> None:
    text = HEAD.replace(",", sign) + sign.join(("09:40", "5.2", "door opened", 'put "blue" tray in')) + "\n"
    found = table(text)
    assert words(found, "event")[-1] == f'door opened{shown}put "blue" tray in'


def test_a_text_parted_by_blanks_is_one_text() -> None:
    found = table("time  cabinet_temperature  note\n09:00  24.5  lit\n09:20  20.5  door  shut again\n")
    assert words(found, "note") == ["lit", "door shut again"]


def test_most_rows_may_hold_commas() -> None:
    found = table("date,fresh_mass [kg],material\n2026-03-01,4.0,rice, peels\n2026-03-02,3.9,rice, bones, peels\n")
    assert words(found, "material") == ["rice, peels", "rice, bones, peels"]


def test_a_sensor_that_failed_beside_a_text_keeps_its_row() -> None:
    found = table(HEAD + "09:40,Err,door opened, put water in\n09:45,,still open, warm\n")
    assert words(found, "event")[-2:] == ["door opened, put water in", "still open, warm"]


@pytest.mark.parametrize(
    "row",
    [
        "09:40,5,2,door opened",  # 5,2 is a number with a decimal comma
        "09:40,5,2,door opened, put water in",
        "09:40,5.2,28.1,door opened",  # a column that the header does not name
        "09:40,5.2,fan on,28.1",
        "09:40,door opened,5.2,fan on",  # cells out of place
        "09:40,5,2,,fan on",
        "in all,5.2,door opened, put water in",  # no row of readings
    ],
)
def test_a_surplus_that_may_be_of_another_kind_is_left_out_and_said(row: str) -> None:
    found = table(HEAD + row + "\n")
    assert len(found.rows) == 3
    assert seen(found) == [("caution", "extra-cells", 5)]


def test_a_row_that_two_readings_fit_is_left_out() -> None:
    head = "time,cabinet_temperature [degC],ambient_temperature [degC],ice,note\n09:00,24.5,28.1,liquid,\n"
    found = table(head + "09:10,24.0,28.0,liquid,\n09:20,5,2,28,liquid,fan on\n")
    assert seen(found) == [("caution", "extra-cells", 4)]
    found = table(head + "09:10,24.0,28.0,liquid,\n09:20,5,28,liquid,fan on, door shut\n")
    assert words(found, "note")[-1] == "fan on, door shut"


def test_all_rows_are_named_where_the_last_column_holds_numbers() -> None:
    rows = "".join(f"10:{minute:02},20.5,1,2\n" for minute in range(8))
    whole = "".join(f"09:{minute:02},20.5\n" for minute in range(20))
    found = table("time,cabinet_temperature [degC]\n" + whole + rows)
    assert len(found.rows) == 20
    assert str(found.findings[0].message).startswith("8 rows (22, 23, 24, 25, 26, 27, …) hold more cells")


def test_files_with_decimal_commas_are_read_as_before() -> None:
    text = "time,cabinet_temperature [degC],note\n09:00,24,5,\n09:20,20,5,lit\n09:40,5,2,door opened, shut\n"
    with pytest.raises(LogFileError) as caught:
        table(text)
    assert caught.value.code == "more-cells-than-columns"
    found = table(text, "comma")
    assert seen(found) == [("note", "commas-rejoined", 2), ("caution", "extra-cells", 4)]
    assert words(found, "note") == ["", "lit"]


def test_lines_of_a_cell_that_spans_several_are_not_touched() -> None:
    text = HEAD + '09:40,5.2,"door opened\n09:45,7.0,shut, and more\nup to here"\n09:50,5.0,\n'
    found = table(text)
    assert words(found, "event")[3] == "door opened\n09:45,7.0,shut, and more\nup to here"
    assert seen(found) == [("caution", "quoted-lines", 5)]


def test_a_second_header_with_more_columns_is_no_text() -> None:
    found = table("time,event\n09:00,burner lit\n09:10,x\n09:15,y\ntime,ice,event\n09:20,20,door opened\n")
    assert words(found, "event") == ["burner lit", "x", "y"]
    assert seen(found) == [("caution", "extra-cells", 5)]


WORD = st.text(st.sampled_from("abc xyz"), min_size=1, max_size=8).filter(str.strip)


@given(st.lists(WORD, min_size=1, max_size=5))
def test_a_text_of_words_comes_back_as_it_was_written(parts: list[str]) -> None:
    text = ",".join(parts)
    found = table(HEAD + f"09:40,5.2,{text}\n")
    assert words(found, "event")[-1] == text.strip()
