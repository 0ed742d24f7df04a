"""The first sheet of a spreadsheet file as the text of a log."""

from __future__ import annotations

import datetime as dt
import io
import re
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.read import spreadsheet
from reportgen.read.spreadsheet import read_text
from reportgen.trial import Trial

from .written import trial_of

RUN = 'date = 2026-03-14\n[burner]\nlit = "09:05"\nout = "12:40"\n'
NAMESPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
)


def ods(*tables: str, before: str = "") -> bytes:
    """Return a file of sheets, each given by the XML of its rows."""
    sheets = "".join(f'<table:table table:name="Sheet {n}">{rows}</table:table>' for n, rows in enumerate(tables, 1))
    document = (
        f'<?xml version="1.0" encoding="UTF-8"?>{before}<office:document-content {NAMESPACES}><office:body>'
        f"<office:spreadsheet>{sheets}</office:spreadsheet></office:body></office:document-content>"
    )
    return zipped({"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": document})


def zipped(members: dict[str, str]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in members.items():
            archive.writestr(name, text)
    return file.getvalue()


def row(*cells: str, repeated: int = 1) -> str:
    return f'<table:table-row table:number-rows-repeated="{repeated}">{"".join(cells)}</table:table-row>'


def word(text: str) -> str:
    return f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'


def number(value: str, kind: str = "float") -> str:
    return (
        f'<table:table-cell office:value-type="{kind}" office:value="{value}"><text:p>shown</text:p></table:table-cell>'
    )


def moment(value: str, kind: str = "date") -> str:
    stored = f'office:value-type="{kind}" office:{kind}-value="{value}"'
    return f"<table:table-cell {stored}><text:p>x</text:p></table:table-cell>"


def blank(repeated: int = 1) -> str:
    return f'<table:table-cell table:number-columns-repeated="{repeated}"/>'


def xlsx(*rows: tuple[Any, ...], formats: dict[str, str] | None = None, sheets: tuple[str, ...] = ("Log",)) -> bytes:
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.title = sheets[0]
    for other in sheets[1:]:
        book.create_sheet(other)
    for cells in rows:
        book.active.append(cells)
    for place, number_format in (formats or {}).items():
        book.active[place].number_format = number_format
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def codes(findings: tuple[Any, ...]) -> list[tuple[str, str]]:
    return [(finding.level, finding.code) for finding in findings]


def clock(trial: Trial, name: str) -> list[tuple[str, float]]:
    readings = trial.readings[name]
    return [
        (f"{dt.datetime.fromtimestamp(float(at), trial.zone):%d %H:%M}", round(float(value), 6))
        for at, value in zip(readings.at, readings.values, strict=True)
    ]


# .ods


def test_the_first_sheet_of_an_ods_file_is_read_as_the_sheet_shows_it() -> None:
    data = ods(
        row(word("Canteen, run 3"), blank(3))
        + row(blank(16384), repeated=2)
        + row(word("time"), word("gas_volume [L]"), word("methane [%]"), word("note"), blank(16380))
        + row(moment("2026-03-14T09:05:00"), number("182.5"), number("0.61", "percentage"), word("say &quot;hi&quot;"))
        + row(moment("2026-03-14"), number("1e3"), blank(), word("a<text:s/>b<text:p>c</text:p>"))
        + row(moment("PT09H15M30.5S", "time"), number("1"), blank(16382))
        + row(moment("PT25H00M00S", "time"), number("2", "currency"))
        + row(blank(16384), repeated=1048000)
    )
    text, findings = read_text(data, "log.ods")
    assert text == (
        '"Canteen, run 3"\n\n\n'
        "time,gas_volume [L],methane [%],note\n"
        '2026-03-14 09:05:00,182.5,61%,"say ""hi"""\n'
        "2026-03-14,1000,,a b c\n"
        "09:15:30.500,1\n"
        "25:00:00,2\n"
    )
    assert findings == ()


def test_repeated_cells_and_rows_of_an_ods_file_are_written_out_and_comments_left_out() -> None:
    remark = "<office:annotation><text:p>a comment</text:p></office:annotation>"
    same = f'<table:table-cell table:number-columns-repeated="2">{remark}<text:p>x</text:p></table:table-cell>'
    text, _ = read_text(ods(row(blank(), same, blank(2), word("y")) + row(word("z"), repeated=3)), "log.ods")
    assert text == ",x,x,,,y\nz\nz\nz\n"


def test_a_picture_with_a_table_in_it_and_marked_letters_change_nothing() -> None:
    picture = '<table:table table:name="in a picture"><table:table-row/></table:table>'
    marked = word("09:<text:span>05</text:span>")
    text, findings = read_text(
        ods(row(marked, f"<table:table-cell>{picture}</table:table-cell>", word("x"))), "log.ods"
    )
    assert text == "09:05,,x\n"
    assert findings == ()


def test_what_is_no_number_is_blank_and_what_is_no_duration_is_read_as_shown() -> None:
    data = ods(row(word("a"), number("INF"), number("NaN"), word("b")) + row(moment("soon", "time"), number("1")))
    assert read_text(data, "log.ods")[0] == "a,,,b\nx,1\n"


def test_an_ods_file_with_a_cell_without_its_value_or_without_a_sheet_is_refused() -> None:
    for data, reason in (
        (ods(row(number("warm"))), "a cell lacks its value"),
        (ods(row('<table:table-cell office:value-type="date"/>')), "a cell lacks its value"),
        (ods(), "holds no sheet"),
    ):
        text, (finding,) = read_text(data, "log.ods")
        assert (text, finding.level) == (None, "error")
        assert reason in str(finding.message)


def test_sheets_that_are_not_read_are_named() -> None:
    text, findings = read_text(ods(row(word("a")), row(word("b")), row(word("c"))), "log.ods")
    assert text == "a\n"
    assert codes(findings) == [("note", "other-sheets")]
    assert str(findings[0].message) == 'only the first sheet, "Sheet 1", is read; not read: "Sheet 2", "Sheet 3"'


def test_rows_of_an_ods_file_count_as_the_sheet_shows_them() -> None:
    data = ods(
        row(word("Canteen"))
        + row(blank(5), repeated=3)
        + row(word("time"), word("cabinet_temperature [degC]"))
        + row(moment("2026-03-14T09:05:00"), number("24.5"))
        + row(moment("2026-03-14T09:15:00"), word("warm"))
    )
    trial = trial_of(RUN, {"log.ods": data})
    assert clock(trial, "cabinet_temperature") == [("14 09:05", 24.5)]
    assert [(f.code, f.file, f.row) for f in trial.findings] == [("number-not-read", "log.ods", 7)]
    assert [(part.file, part.rows) for part in trial.inputs][1:] == [("log.ods", 2)]


# .xlsx


def test_an_xlsx_file_is_read_as_the_sheet_shows_it() -> None:
    data = xlsx(
        ("Canteen, run 3",),
        (),
        ("time", "gas_volume [L]", "methane [%]", "note"),
        (dt.datetime(2026, 3, 14, 9, 5), 182.5, 0.61, "two\nlines"),
        (dt.datetime(2026, 3, 14, 9, 4, 59, 999_900), 0.1 + 0.2, None, True),
        (dt.date(2026, 3, 14), 1_773_464_700_000, None, "09:05"),
        (dt.time(9, 15), 1),
        (dt.timedelta(hours=25, minutes=10), 2),
        formats={"C4": "0%", "A6": "yyyy-mm-dd", "A8": "[h]:mm"},
        sheets=("Log", "Plan", "Costs"),
    )
    text, findings = read_text(data, "log.xlsx")
    assert text == (
        '"Canteen, run 3"\n\n'
        "time,gas_volume [L],methane [%],note\n"
        "2026-03-14 09:05:00,182.5,61%,two lines\n"
        "2026-03-14 09:05:00,0.3,,TRUE\n"
        "2026-03-14,1773464700000,,09:05\n"
        "09:15:00,1\n"
        "25:10:00,2\n"
    )
    assert codes(findings) == [("note", "other-sheets")]


def test_a_date_that_is_stored_as_a_word_is_a_date() -> None:
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook(iso_dates=True)
    book.active.append((dt.date(2026, 3, 14), dt.time(9, 5), dt.datetime(2026, 3, 14, 9, 5)))
    file = io.BytesIO()
    book.save(file)
    assert read_text(file.getvalue(), "log.xlsx")[0] == "2026-03-14,09:05:00,2026-03-14 09:05:00\n"


def test_an_xlsx_file_without_a_sheet_is_refused() -> None:
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.create_chartsheet("Chart")
    del book["Sheet"]
    charts = io.BytesIO()
    book.save(charts)
    members = zipfile.ZipFile(io.BytesIO(xlsx(("time",))))
    bare = {name: members.read(name).decode() for name in members.namelist()}
    bare["xl/workbook.xml"] = re.sub("<sheets>.*</sheets>", "<sheets/>", bare["xl/workbook.xml"])
    for data in (charts.getvalue(), zipped(bare)):
        text, (finding,) = read_text(data, "log.xlsx")
        assert text is None
        assert (finding.level, finding.code) == ("error", "spreadsheet-not-read")


def test_an_xlsx_file_gives_the_trial_that_its_csv_gives() -> None:
    rows = [
        ("2026-03-14 09:05", 24.5, "burner lit"),
        ("2026-03-14 09:15", -21.25, ""),
        ("2026-03-14 12:40", 3.0, "out"),
    ]
    header = ("time", "fridge temp, °C", "event")
    sheet = xlsx(header, *((dt.datetime.fromisoformat(at), value, event) for at, value, event in rows))
    text = '"time","fridge temp, °C","event"\n' + "".join(f"{at},{value},{event}\n" for at, value, event in rows)
    one, two = trial_of(RUN, {"log.xlsx": sheet}), trial_of(RUN, {"log.csv": text})
    assert clock(one, "cabinet_temperature") == clock(two, "cabinet_temperature")
    assert [event.kind for event in one.events] == [event.kind for event in two.events]
    assert [(f.level, f.code, f.row) for f in one.findings] == [(f.level, f.code, f.row) for f in two.findings]


def test_a_formula_without_its_value_is_said_to_be_blank() -> None:
    text, findings = read_text(xlsx(("time", "ice"), ("=A1", "=1+1")), "log.xlsx")
    assert text == "time,ice\n"
    assert codes(findings) == [("caution", "formula-without-value")]
    assert str(findings[0].message).startswith("2 formulas have no stored value")


def test_without_the_extra_it_is_said_how_to_do_without_and_which_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    for name, extra in (("log.xlsx", True), ("log.xls", False)):
        text, (finding,) = read_text(zipped({"a.xml": ""}), name)
        assert text is None
        assert (finding.level, finding.code) == ("caution", "spreadsheet")
        assert "choose Save as, then CSV UTF-8" in str(finding.message)
        assert ('pip install "trial-reportgen[spreadsheet]"' in str(finding.message)) is extra


def test_the_extra_is_named_as_the_package_offers_it() -> None:
    project = (Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8")
    assert 'name = "trial-reportgen"' in project
    assert "\nspreadsheet = [" in project


# What stands beside it


@pytest.mark.parametrize("log", ["run.csv", "RUN.txt", "run - Sheet1.csv", "run (2).csv"])
def test_a_spreadsheet_is_not_read_beside_the_csv_saved_from_it(log: str) -> None:
    feed = ods(row(word("date"), word("fresh_mass [kg]")) + row(moment("2026-03-01"), number("2")))
    trial = trial_of(RUN, {"run.ods": feed, log: "date,fresh_mass [kg]\n2026-03-01,2\n"})
    assert [feed.fresh_mass for feed in trial.feeds] == [2.0]
    assert ("spreadsheet-exported", "run.ods") in [(f.code, f.file) for f in trial.findings]


def test_a_spreadsheet_of_another_name_is_read_and_may_be_mapped() -> None:
    feed = ods(row(word("Tag"), word("Menge")) + row(moment("2026-03-01"), number("2")))
    sheet = RUN + '[columns]\n"run.ods" = { date = "Tag", fresh_mass = "Menge" }\n'
    trial = trial_of(sheet, {"run.ods": feed, "runs.csv": "time,ice\n09:10,liquid\n", "~$run.ods": b"lock"})
    assert [feed.fresh_mass for feed in trial.feeds] == [2.0]


# What nobody should be able to do


def billion_laughs() -> str:
    levels = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    return f'<!DOCTYPE x [<!ENTITY l0 "ha">{levels}]>'


@pytest.mark.parametrize("name", ["log.xlsx", "log.ods"])
@pytest.mark.parametrize(
    "data",
    [b"", b"x", b"PK\x03\x04", zipped({}), zipped({"content.xml": "<a", "xl/workbook.xml": "<a"})],
    ids=["empty", "text", "cut off", "nothing inside", "broken inside"],
)
def test_a_damaged_file_is_a_finding(name: str, data: bytes) -> None:
    if name == "log.xlsx":
        pytest.importorskip("openpyxl")
    text, (finding,) = read_text(data, name)
    assert text is None
    assert (finding.level, finding.code) == ("error", "spreadsheet-not-read")
    assert "save its sheet as CSV UTF-8" in str(finding.message)


@settings(max_examples=30)
@given(st.integers(0, 400), st.binary(min_size=1, max_size=3))
def test_no_damage_breaks_the_reading(at: int, put: bytes) -> None:
    data = bytearray(ods(row(word("time"), word("ice")) + row(moment("2026-03-14"), word("solid"))))
    data[at : at + len(put)] = put
    text, findings = read_text(bytes(data), "log.ods")
    assert text is not None or codes(findings) == [("error", "spreadsheet-not-read")]


def test_entities_are_refused() -> None:
    for before in (billion_laughs(), '<!DOCTYPE x SYSTEM "file:///etc/passwd">'):
        text, (finding,) = read_text(ods(row(word("time")), before=before), "log.ods")
        assert text is None
        assert "declares entities" in str(finding.message)
    sheet = xlsx(("time", "ice"))
    for encoding in ("utf-8", "utf-16"):
        file = io.BytesIO(sheet)
        with zipfile.ZipFile(file, "a") as archive:
            archive.writestr("docProps/more.xml", (billion_laughs() + "<x/>").encode(encoding))
        text, (finding,) = read_text(file.getvalue(), "log.xlsx")
        assert text is None
        assert "declares entities" in str(finding.message)


def test_what_unpacks_to_too_much_is_refused_before_it_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spreadsheet, "LARGEST_UNPACKED", 1_000_000)
    monkeypatch.setattr(zipfile.ZipFile, "read", None)
    for name in ("log.ods", "log.xlsx"):
        if name == "log.xlsx":
            pytest.importorskip("openpyxl")
        text, (finding,) = read_text(zipped({"content.xml": " " * 1_000_001}), name)
        assert text is None
        assert "unpacks to more than 1 MB" in str(finding.message)


@pytest.mark.parametrize(
    "rows",
    [
        row(word("x"), repeated=99_999_999),
        row(blank(), repeated=99_999_999) + row(word("x")),
        row(f'<table:table-cell table:number-columns-repeated="99999999" {word("x")[18:]}'),
        row(blank(99_999_999), word("x")),
        row(*(word("x") for _ in range(1000)), repeated=20_000),
    ],
)
def test_a_sheet_of_too_many_cells_is_refused(rows: str) -> None:
    text, (finding,) = read_text(ods(rows), "log.ods")
    assert text is None
    assert finding.code == "spreadsheet-not-read"


def test_an_xlsx_sheet_of_too_many_cells_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    wide = xlsx((*[None] * 1500, "x"))
    assert "1501 cells" in str(read_text(wide, "log.xlsx")[1][0].message)
    monkeypatch.setattr(spreadsheet, "MOST_ROWS", 3)
    assert read_text(xlsx(*(("x",) for _ in range(3))), "log.xlsx")[0] == "x\nx\nx\n"
    assert codes(read_text(xlsx(*(("x",) for _ in range(4))), "log.xlsx")[1]) == [("error", "spreadsheet-not-read")]


def test_rows_numbered_far_apart_are_refused_at_once() -> None:
    data = xlsx(("time", "ice"))
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(file, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                part = part.replace(
                    b"</sheetData>", b'<row r="900000000"><c r="A900000000"><v>1</v></c></row></sheetData>'
                )
                assert b"900000000" in part
            new.writestr(name, part)
    text, findings = read_text(file.getvalue(), "log.xlsx")
    assert text is None
    assert codes(findings) == [("error", "spreadsheet-not-read")]
