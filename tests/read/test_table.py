"""From bytes to cells: encodings, delimiters, headers, broken lines."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import LogFileError
from reportgen.read.table import Table, decode, find_table

LINES = ("time,cabinet_temperature [degC],note", "09:05,24.5,", "09:15,21.0,blau 24 °C")


def table(text: str, mapping: dict[str, str] | None = None) -> Table:
    found = find_table(text, "log.csv", mapping or {})
    assert found is not None
    return found


def column(found: Table, name: str) -> list[str]:
    index = next(heading.index for heading in found.headings if heading.column == name)
    return [str(cell) for cell in found.cells[index]]


def seen(found: Table) -> list[tuple[str, str, int | None]]:
    return [(finding.level, finding.code, finding.row) for finding in found.findings]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "utf-16-le-with-mark", "utf-16-be-with-mark"]
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_usual_encoding_gives_the_same_cells(encoding: str, end: str) -> None:
    text = end.join(LINES) + end
    mark = "\ufeff" if encoding.endswith("mark") else ""
    data = (mark + text).encode(encoding.removesuffix("-with-mark"))
    read, findings = decode(data, "log.csv")
    found = table(read)
    assert column(found, "time") == ["09:05", "09:15"]
    assert column(found, "note") == ["", "blau 24 °C"]
    assert found.rows.tolist() == [2, 3]
    assert [(f.code, f.row) for f in findings] == (
        [("encoding", 3)] if encoding == "cp1252" and end != "\r" else [("encoding", 1)] if encoding == "cp1252" else []
    )


@pytest.mark.parametrize("data", [b"PK\x03\x04\x00\x00", b"\xff\xfet\x00i", b"\xef\xbb\xbf\xff\xff"])
def test_bytes_that_are_no_text_are_refused(data: bytes) -> None:
    with pytest.raises(LogFileError, match="Save"):
        decode(data, "log.csv")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_found_from_the_header(delimiter: str) -> None:
    found = table("\n".join(line.replace(",", delimiter) for line in LINES) + "\n")
    assert column(found, "cabinet_temperature") == ["24.5", "21.0"]


def test_rows_count_as_a_spreadsheet_does_below_a_preamble_and_comments() -> None:
    found = table("Logger 7;unit 03\nInterval;120 s\n\n# copied\ntime;ice\n# by hand\n09:05;liquid\n\n09:15;solid\n")
    assert found.header_row == 5
    assert found.rows.tolist() == [7, 9]
    assert column(found, "ice") == ["liquid", "solid"]


def test_a_spreadsheet_error_is_no_comment() -> None:
    found = table("cabinet_temperature,time\n#N/A,09:05\n#DIV/0!,09:10\n#NB 3,09:12\n21.0,09:15\n")
    assert column(found, "time") == ["09:05", "09:10", "09:15"]


@pytest.mark.parametrize(
    "header", ["", "cabinet_temperature [degC]", "time", "time,date", "zeit,temperatur", "note,ice"]
)
def test_without_a_time_and_a_column_of_ours_there_is_no_table(header: str) -> None:
    assert find_table(f"{header}\n09:05,24.5\n", "log.csv", {}) is None
    assert find_table("", "log.csv", {}) is None


def test_the_header_stands_within_two_hundred_lines() -> None:
    assert find_table("x\n" * 199 + "time,ice\n09:05,solid\n", "log.csv", {}) is not None
    assert find_table("x\n" * 200 + "time,ice\n09:05,solid\n", "log.csv", {}) is None


def test_units_and_unknown_columns_are_told_apart() -> None:
    found = table('Time;"Gas Volume (m3)";ambient-temperature;battery [V];\n09:05;1;2;3;\n')
    assert [(h.column, h.unit, h.header) for h in found.headings] == [
        ("time", None, "Time"),
        ("gas_volume", "m3", "Gas Volume (m3)"),
        ("ambient_temperature", None, "ambient-temperature"),
    ]
    assert found.unknown == ("battery [V]",)


def test_a_mapped_column_has_the_unit_of_its_header() -> None:
    mapping = {"time": "Zeit", "cabinet_temperature": "Kanal (1) [F]"}
    found = table("Zeit;Kanal (1) [F];time;Cabinet temperature\n09:05;76;x;y\n", mapping)
    assert [(h.column, h.unit) for h in found.headings] == [("time", None), ("cabinet_temperature", "F")]
    assert column(found, "cabinet_temperature") == ["76"]
    assert found.unknown == ("time", "Cabinet temperature")


def test_short_rows_are_filled_and_quotes_taken_off() -> None:
    found = table('time,ice,note\n09:05\n09:15,"partial","blue, then ""yellow"""\n')
    assert column(found, "ice") == ["", "partial"]
    assert column(found, "note") == ["", 'blue, then "yellow"']
    assert not found.findings


@pytest.mark.parametrize("last", ["09:25,18.", "09:2", '09:25,18.0,"blue fla'])
def test_a_line_that_breaks_off_is_not_used(last: str) -> None:
    found = table("\n".join((*LINES, last)))
    assert column(found, "time") == ["09:05", "09:15"]
    assert seen(found) == [("caution", "half-written-line", 4)]


@pytest.mark.parametrize("last", ["09:25,18.0,", "09:25,18.0,\n", "09:25,18.\n", "\n", "   "])
def test_a_whole_last_line_is_used_with_and_without_its_end(last: str) -> None:
    found = table("\n".join((*LINES, last)))
    assert not found.findings
    assert len(found.rows) == (3 if last.strip() else 2)


def test_a_row_with_too_many_cells_is_left_out() -> None:
    found = table("time,ice\n09:05,liquid\n09:15,partial,,x\n09:25,60\n09:35,solid,y\n09:45,solid,\n")
    assert column(found, "time") == ["09:05", "09:25", "09:45"]
    assert seen(found) == [("caution", "extra-cells", 3)]
    assert str(found.findings[0].message) == (
        "2 rows hold more cells than the header has columns and are not used; put a text that holds the separator in "
        "quotation marks"
    )


def test_lines_swallowed_by_a_quotation_mark_are_said() -> None:
    found = table('time,ice,note\n09:05,liquid,"blue\n09:15,partial,\n09:25,60,flame"\n09:35,solid,\n')
    assert column(found, "ice") == ["liquid", "solid"]
    assert found.rows.tolist() == [2, 3]
    assert seen(found) == [("caution", "quoted-lines", 2)]


def test_a_quoted_cell_over_lines_may_widen_a_row() -> None:
    found = table('note,time,ice\n"a\nb",09:05,liquid\n,09:15,solid\n')
    assert column(found, "time") == ["09:05", "09:15"]
    with pytest.raises(LogFileError, match="more cells"):
        table('note,time\n"a\nb",09:05,1,2,3,4,5\n'.replace("time\n", "time,ice\n"))


def test_an_inch_mark_inside_a_cell_is_a_letter() -> None:
    assert column(table('time,ice,note\n09:05,liquid,a 4" pipe\n09:15,solid,\n'), "note") == ['a 4" pipe', ""]


def test_only_line_ends_of_a_spreadsheet_end_a_row() -> None:
    found = table("time,ice,note\n09:05,liquid,a\x0cb\u2028c\x85d\n09:15,solid,\n")
    assert found.rows.tolist() == [2, 3]


cell = st.text(alphabet='ab1 .,;"\n\t', max_size=6)


@given(st.lists(st.lists(cell, min_size=3, max_size=3), max_size=6), st.sampled_from([",", ";", "\t"]))
def test_cells_that_were_quoted_properly_come_back(rows: list[list[str]], delimiter: str) -> None:
    quoted = [delimiter.join('"' + text.replace('"', '""') + '"' for text in row) for row in rows]
    found = table("\n".join((delimiter.join(("time", "ice", "note")), *quoted)) + "\n")
    kept = [[text.strip() for text in row] for row in rows if any(row)]
    assert [list(row) for row in np.array([column(found, n) for n in ("time", "ice", "note")]).T] == kept


@given(st.binary(max_size=60))
def test_no_bytes_break_the_table(data: bytes) -> None:
    for file in (data, b"time,ice,note\n" + data, b"\xff\xfe" + data):
        try:
            text, _ = decode(file, "log.csv")
            found = find_table(text, "log.csv", {})
        except LogFileError as error:
            assert str(error).startswith("log.csv")
            assert len(str(error).split("\n")) <= 3
        else:
            assert found is None or all(len(cells) == len(found.rows) for cells in found.cells.values())
