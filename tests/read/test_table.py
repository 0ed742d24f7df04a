"""From bytes to cells: encodings, delimiters, headers, broken lines."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import LogFileError
from reportgen.read.cells import parse_numbers
from reportgen.read.decimals import Mark
from reportgen.read.encoding import decode
from reportgen.read.table import Table, find_tables

LINES = ("time,cabinet_temperature [degC],note", "09:05,24.5,", "09:15,21.0,blau 24 °C")


def table(text: str, mapping: dict[str, str] | None = None) -> Table:
    (found,) = find_tables(text, "log.csv", mapping or {})
    return found


def column(found: Table, name: str) -> list[str]:
    index = next(heading.index for heading in found.headings if heading.column == name)
    cells = found.cells[index]
    return [str(cell) for cell in (found.written[index] if cells.dtype == np.float64 else cells)]


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


def test_zero_bytes_that_stand_as_in_utf_16_and_are_none_are_no_text() -> None:
    # The second half of a pair of surrogates without its first.
    data = "time,note\n09:05,cold\n".encode("utf-16-le") + b"\x00\xdc"
    with pytest.raises(LogFileError, match="zero bytes"):
        decode(data, "log.csv")


def test_more_headers_than_a_log_has_are_another_file() -> None:
    first, page = "time,cabinet_temperature [degC]\n09:05,24.5\n", "time,ambient_temperature [degC]\n09:05,30\n"
    assert len(find_tables(first + page * 100, "log.csv", {})) == 101
    with pytest.raises(LogFileError, match="101 headers of other columns") as caught:
        find_tables(first + page * 101, "log.csv", {})
    assert caught.value.code == "not-a-table"


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
    assert find_tables(f"{header}\n09:05,24.5\n", "log.csv", {}) == ()
    assert find_tables("", "log.csv", {}) == ()


def test_the_header_stands_within_two_hundred_lines() -> None:
    assert len(find_tables("x\n" * 199 + "time,ice\n09:05,solid\n", "log.csv", {})) == 1
    assert find_tables("x\n" * 200 + "time,ice\n09:05,solid\n", "log.csv", {}) == ()


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
        "2 rows (3, 5) hold more cells than the header has columns and are not used; put a text that holds the "
        "separator in quotation marks"
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
    stripped = [[text.strip() for text in row] for row in rows]
    # Words where a time should be, and nothing else, are a page line.
    kept = [row for row in stripped if any(row) and not (row[0][:1].isalpha() and not any(row[1:]))]
    assert [list(row) for row in np.array([column(found, n) for n in ("time", "ice", "note")]).T] == kept


@given(st.binary(max_size=60))
def test_no_bytes_break_the_table(data: bytes) -> None:
    for file in (data, b"time,ice,note\n" + data, b"\xff\xfe" + data):
        try:
            text, _ = decode(file, "log.csv")
            tables = find_tables(text, "log.csv", {})
        except LogFileError as error:
            assert str(error).startswith("log.csv")
            assert len(str(error).split("\n")) <= 3
        else:
            assert all(len(cells) == len(found.rows) for found in tables for cells in found.cells.values())


def tables(text: str, mapping: dict[str, str] | None = None, decimal: Mark | None = None) -> tuple[Table, ...]:
    return find_tables(text, "log.csv", mapping or {}, decimal)


def numbers(found: Table, name: str) -> list[float]:
    heading = next(heading for heading in found.headings if heading.column == name)
    cells = found.cells[heading.index]
    return [float(v) for v in parse_numbers(cells, found.rows, "log.csv", name, "L", found.decimal).values]


def test_a_column_of_plain_numbers_comes_as_numbers_with_what_was_written() -> None:
    found = table("time,gas_volume [L],ambient_temperature\n09:05,182.50,\n09:15,,28\n09:25,170.00,x\n")
    assert found.cells[1].dtype == np.float64
    assert found.cells[2].dtype == object
    assert found.written[1] == ("182.50", "", "170.00")


def test_a_repeated_header_and_page_lines_are_passed_over() -> None:
    found = table("time,ice\n09:05,liquid\nTime , ICE\nPage 2 of 3,\n09:15,solid\n-- end --\n")
    assert column(found, "time") == ["09:05", "09:15", "-- end --"]  # a line that begins with no letter is said later
    assert seen(found) == [("note", "repeated-header", 3), ("note", "page-line", 4)]
    assert '"Page 2 of 3"' in str(found.findings[1].message)


def test_a_second_header_with_other_columns_begins_a_table_of_its_own() -> None:
    first, second, third = tables(
        "Logger 7\ntime;gas_volume [L]\n09:05;182\n09:15;170\n"
        "gas_volume [m3];time\n0.160;09:25\ntime;ice\n09:35;solid\n"
    )
    assert (first.rows.tolist(), second.rows.tolist(), third.rows.tolist()) == ([3, 4], [6], [8])
    assert column(second, "time") == ["09:25"]
    assert [h.unit for h in second.headings] == ["m3", None]
    assert (first.header_row, second.header_row, third.header_row) == (2, 5, 7)
    assert seen(second) == [("note", "second-header", 5)]


def test_columns_may_be_named_by_their_places_where_there_is_no_header() -> None:
    found = table(
        "# pendant 7\n1;2026.03.14 09:05;4;26,5;17;\n2;2026.03.14 09:20;4;21,25;17;\n",
        {"time": "column 2", "cabinet_temperature": "Column 4 [degC]"},
    )
    assert column(found, "time") == ["2026.03.14 09:05", "2026.03.14 09:20"]
    assert column(found, "cabinet_temperature") == ["26,5", "21,25"]
    assert (found.header_row, found.rows.tolist(), found.decimal) == (2, [2, 3], "comma")


def test_places_skip_a_header_and_take_the_unit_from_it() -> None:
    found = table(
        "Run A\nt [s]\tT [F]\tT [F]\n0\t80.5\t81.0\n10\t80.1\t80.9\n",
        {"elapsed": "column 1", "cabinet_temperature": "column 3"},
    )
    assert [heading.unit for heading in found.headings] == ["s", "F"]
    assert found.cells[2].tolist() == [81.0, 80.9]


@pytest.mark.parametrize("text", ["0  86.2\n1.08  86\n", "  0 86.2\n  1.08 86\n", "0\t86.2\r\n1.08\t86\r\n"])
def test_cells_may_be_parted_by_blanks(text: str) -> None:
    read, _ = decode(text.encode(), "log.csv")
    found = table(read, {"elapsed": "column 1 [s]", "cabinet_temperature": "column 2"})
    assert found.cells[0].tolist() == [0.0, 1.08]
    assert found.cells[1].tolist() == [86.2, 86.0]
    named = table("  time   gas_volume [L]\n  09:05  182\n")
    assert (column(named, "time"), named.cells[1].tolist()) == (["09:05"], [182.0])


@pytest.mark.parametrize(
    ("mapping", "found"),
    [
        ({"time": "column 1", "gas_volume": "column 9"}, "no line holds"),
        ({"time": "column 1", "gas_volume": "Volumen"}, "by place and"),
    ],
)
def test_places_that_do_not_fit_are_an_error(mapping: dict[str, str], found: str) -> None:
    with pytest.raises(LogFileError, match=found):
        tables("09:05,182\n", mapping)


def test_a_mapped_header_may_be_given_a_unit() -> None:
    found = table("n,time,temp\n1,0,98.2\n2,1,94.4\n", {"elapsed": "time [min]", "water_temperature": "temp [degC]"})
    assert [(h.column, h.unit) for h in found.headings] == [("elapsed", "min"), ("water_temperature", "degC")]


def test_the_name_itself_wins_over_an_everyday_name_for_the_same_column() -> None:
    found = table("time,ambient,ambient_temperature\n09:05,1,28\n")
    assert [(h.column, h.header) for h in found.headings][1] == ("ambient_temperature", "ambient_temperature")
    assert found.unknown == ("ambient",)


@pytest.mark.parametrize(
    ("cells", "mark", "read"),
    [
        (("21,5", "100,000"), "comma", [21.5, 100.0]),
        (("1.234,5", "999"), "comma", [1234.5, 999.0]),
        (("12.5", "1,234"), "point", [12.5, 1234.0]),
        (("1,234,567", "1,234"), "point", [1234567.0, 1234.0]),
        (("1.234", "21,5"), "comma", [1234.0, 21.5]),
        (("1.234", "21"), "point", [1.234, 21.0]),
        (("21,5", "12.5"), "point", [21.5, 12.5]),
    ],
)
def test_numbers_tell_of_the_decimal_mark_of_their_file(cells: tuple[str, ...], mark: str, read: list[float]) -> None:
    found = table("time;gas_volume\n" + "".join(f"09:0{i};{cell}\n" for i, cell in enumerate(cells)))
    assert found.decimal == mark
    assert numbers(found, "gas_volume") == read


def test_another_column_may_tell_of_the_decimal_mark() -> None:
    found = table("time;gas_volume;ambient_temperature\n09:05;1.234;21,5\n")
    assert numbers(found, "gas_volume") == [1234.0]


def test_an_open_decimal_mark_is_asked_for() -> None:
    text = "time;gas_volume\n09:05;1,234\n09:15;1,200\n"
    with pytest.raises(LogFileError) as caught:
        tables(text)
    assert caught.value.code == "decimal-open"
    assert str(caught.value) == (
        'log.csv, row 2: gas_volume "1,234" may be 1.234 or 1234.\n'
        'Add to trial.toml:  [files."log.csv"]  and below it  decimal = "comma"  (or "point").'
    )
    (comma,), (point,) = tables(text, decimal="comma"), tables(text, decimal="point")
    assert (numbers(comma, "gas_volume")[0], numbers(point, "gas_volume")[0]) == (1.234, 1234.0)


def test_a_mark_that_only_one_reading_makes_possible_is_taken() -> None:
    found = table("time;cabinet_temperature\n09:05;18,771\n09:15;18,200\n")
    assert found.decimal == "comma"


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "cp932", "cp1252"])
def test_an_encoding_without_a_mark_is_told_by_its_bytes(encoding: str) -> None:
    note = "温度センサー" if encoding == "cp932" else "kühl, é"
    text = f"time,cabinet_temperature [degC],note\n09:05,24.5,{note}\n" * 3
    read, findings = decode(text.encode(encoding), "log.csv")
    assert read == text
    assert [finding.code for finding in findings] == ["encoding"]


def test_a_stated_encoding_is_obeyed_or_refused() -> None:
    assert decode("Kühl".encode("cp850"), "log.csv", "cp850") == ("Kühl", ())
    with pytest.raises(LogFileError, match="byte 2 is not utf-8 text"):
        decode("Kühl".encode("cp1252"), "log.csv", "utf-8")


def test_a_line_longer_than_any_of_a_log_is_refused() -> None:
    with pytest.raises(LogFileError) as caught:
        tables("time,ice\n09:05,liquid\n09:15," + "x" * 1_000_001 + "\n")
    assert (caught.value.code, caught.value.row) == ("line-too-long", 3)


def test_commas_that_part_cells_and_decimals_are_put_right_where_the_sheet_says_so() -> None:
    text = 'time,gas_volume,ambient_temperature,note\n09:05,182,5,28,0,"lit, ""blue"""\n09:15,170,25,28,1,\n'
    with pytest.raises(LogFileError) as caught:
        tables(text)
    assert caught.value.code == "more-cells-than-columns"
    assert 'decimal = "comma"' in str(caught.value)
    (found,) = tables(text, decimal="comma")
    assert numbers(found, "gas_volume") == [182.5, 170.25]
    assert column(found, "note") == ['lit, "blue"', ""]
    assert seen(found) == [("note", "commas-rejoined", 2)]


def test_commas_are_not_put_right_where_a_number_lacks_decimals() -> None:
    (found,) = tables("time,gas_volume,ice\n09:05,182,5,x\n09:15,170,solid\n09:25,160,solid\n", decimal="comma")
    assert seen(found)[0] == ("note", "commas-rejoined", 2)
    (found,) = tables(
        "time,gas_volume,ambient_temperature\n09:05,182,28,5\n09:15,170,28\n09:25,160,28\n", decimal="comma"
    )
    assert seen(found) == [("caution", "extra-cells", 2)]
