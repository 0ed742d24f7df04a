"""All that keeps a trial from being read is said at once, and nothing that mending the rest would settle."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.cli import run
from reportgen.errors import OutputError, ReportgenError
from reportgen.read.every_fault import every_fault, every_sheet_fault
from reportgen.read.faults import recover
from reportgen.read.folder import read_trial

FOLDER = Path(__file__).resolve().parent.parent / "broken_trials" / "faults-in-all-files"
SOUND = "time,ice\n2026-03-14 09:00,liquid\n2026-03-14 12:00,solid\n"
COMMAS = "time,cabinet_temperature [degC]\n2026-03-14 09:05,24,5\n2026-03-14 09:15,21,0\n"
OPEN_ORDER = "time,ice\n03/04/2026 09:00,liquid\n"
OPEN_MARK = 'time,gas_volume [L]\n2026-03-14 09:00,"1,234"\n2026-03-14 10:00,"1,210"\n'


def faults(folder: Path, sheet: str = 'title = "t"\n', **logs: str) -> list[ReportgenError]:
    (folder / "trial.toml").write_text(sheet, encoding="utf-8")
    for name, text in logs.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ReportgenError) as caught:
        read_trial(folder)
    return every_fault(folder, caught.value)


def seen(found: list[ReportgenError]) -> list[tuple[str, str | None, int | None]]:
    return [(error.code, error.file, error.row) for error in found]


def test_faults_of_the_sheet_and_of_all_logs_come_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(FOLDER)]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    lines = [line for line in printed.err.splitlines() if line.startswith("Error: ")]
    assert [line.split(": ")[1].split(",")[0] for line in lines] == [
        "trial.toml:1",
        "trial.toml:6",
        "trial.toml:2",
        "trial.toml:7",
        "trial.toml:10",
        "commas.csv",
        "names.csv",
        "units.csv",
        "units.csv",
    ]
    # The sheet speaks of dates.csv, and cannot be read yet.
    assert "dates.csv" not in printed.err
    assert run(["report", str(FOLDER), "--out", "/nowhere/at/all"]) == 1
    assert capsys.readouterr().err == printed.err


def test_exit_status_and_json_are_those_of_the_first_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(FOLDER), "--json"]) == 1
    (finding,) = json.loads(capsys.readouterr().out)["findings"]
    assert (finding["code"], finding["row"]) == ("sheet-not-toml", 1)
    assert run(["report", str(FOLDER), "--json"]) == 1
    (trial,) = json.loads(capsys.readouterr().out)["trials"]
    assert trial["status"] == "failed"
    assert trial["reason"].startswith("trial.toml:1: ")


def test_at_most_ten_are_printed_and_the_rest_is_counted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    keys = ("site", "region", "operator", "organisation", "contact", "series", "purpose", "steps", "weather", "advice")
    faults(tmp_path, 'title = "t"\n' + "".join(f"{key} = 1\n" for key in keys), a=COMMAS, b=COMMAS)
    assert run(["check", str(tmp_path)]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 11
    assert lines[-1] == "and 2 more"


def test_each_fault_of_the_sheet_is_one_of_its_own(tmp_path: Path) -> None:
    keys = ("site", "region", "operator", "organisation", "contact")
    found = faults(tmp_path, 'title = "t"\n' + "".join(f"{key} = 1\n" for key in keys))
    assert seen(found) == [("value-of-wrong-type", "trial.toml", row) for row in range(2, 7)]
    assert all("\n" not in error.text for error in found)


def test_every_log_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    found = faults(tmp_path, a=COMMAS, b=SOUND, c=OPEN_ORDER, d=COMMAS, e="time,ice\n14/03 09:00,liquid\n")
    assert seen(found)[:3] == [
        ("more-cells-than-columns", "a.csv", 2),
        ("more-cells-than-columns", "d.csv", 2),
        ("date-order-open", "c.csv", 2),
    ]


def test_every_wrong_unit_of_a_log_is_named(tmp_path: Path) -> None:
    log = "time,gas_volume [buckets],gas_temperature [kPa],methane [%]\n2026-03-14 09:00,240,27,61\n"
    assert [error.text.split('"')[1] for error in faults(tmp_path, a=log)] == ["buckets", "kPa"]


def test_files_that_are_named_and_missing_are_all_said(tmp_path: Path) -> None:
    sheet = 'title = "t"\n[files."x.csv"]\ndecimal = "comma"\n[files."y.csv"]\ndecimal = "comma"\n'
    found = faults(tmp_path, sheet, a=COMMAS)
    assert [error.code for error in found] == ["file-named-missing"] * 2 + ["more-cells-than-columns"]


def test_what_another_log_may_settle_is_not_said(tmp_path: Path) -> None:
    assert seen(faults(tmp_path, a=OPEN_MARK, b=OPEN_MARK)) == [
        ("decimal-open", "a.csv", 2),
        ("decimal-open", "b.csv", 2),
    ]
    assert [error.file for error in faults(tmp_path, a=OPEN_MARK, b=COMMAS)][:1] == ["b.csv"]


def test_what_a_date_may_settle_is_not_said_where_the_date_is_at_fault(tmp_path: Path) -> None:
    assert seen(faults(tmp_path, 'title = "t"\ndate = "soon"\n', a=OPEN_ORDER)) == [
        ("value-not-usable", "trial.toml", 2)
    ]
    found = faults(tmp_path, 'title = "t"\nsite = 1\n', a=OPEN_ORDER)
    assert seen(found) == [("value-of-wrong-type", "trial.toml", 2), ("date-order-open", "a.csv", 2)]


def test_logs_of_which_nothing_can_be_used_are_said_once(tmp_path: Path) -> None:
    assert [error.code for error in faults(tmp_path, a="nothing here\n")] == ["nothing-read"]
    assert [error.code for error in faults(tmp_path, a="nothing here\n", b=COMMAS)] == ["more-cells-than-columns"]


def test_a_folder_that_is_none_and_an_output_that_fails_are_said_alone(tmp_path: Path) -> None:
    with pytest.raises(ReportgenError) as caught:
        read_trial(tmp_path / "run-3")
    assert [error.code for error in every_fault(tmp_path / "run-3", caught.value)] == ["no-such-folder"]
    refused = OutputError("output-not-written", "no room")
    assert every_fault(FOLDER, refused) == [refused]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("title = t\nsite = s\n[gas]\nkind = holder\n", [1, 2, 4]),
        ('title = "t"\n[gas\nkind = "holder"\n[water]\nmass = 1.2 kg\n', [2, 5]),
        ('title = "t"\n[gas]\n[gas]\nkind = "bag"\n[water]\nmass = "1 kg"\n', [3]),
        ('title = "t"\ntitle = "u"\nlit = 9:05\n', [2, 3]),
        ('title = "t"\nphotos = ["a.jpg",\nsite = "s"\noperator = "o"\n', [3]),  # a bracket that is not closed
        ('title = "t"\nnotes = """one\ntwo\n', [3]),
        ('title = "t"\nwords and words\nsite = s\n', [2]),  # nobody knows what this line is of
    ],
)
def test_lines_that_are_no_toml_are_found_one_after_the_other(text: str, lines: list[int]) -> None:
    found = recover(text, "trial.toml")
    assert [fault.line for fault in found.faults] == lines


def test_a_key_whose_line_is_at_fault_is_not_missing() -> None:
    found = every_sheet_fault(b'title = Harbour\n[gas]\nkind = "bag"\n')
    assert [error.code for error in found.errors] == ["sheet-not-toml", "value-not-usable"]
    assert found.unsure == {"title", "gas"}
    assert found.sheet is not None
    assert found.sheet.gas.kind is None


@given(
    st.lists(
        st.sampled_from(['a = "1"', "a = b", "[gas]", "[gas", 'kind = "bag"', "x", '"""', "y = [1,", "]", ""]),
        max_size=8,
    )
)
def test_any_sheet_gives_faults_or_is_one(lines: list[str]) -> None:
    found = every_sheet_fault("\n".join(lines).encode())
    assert found.errors
    assert all(1 <= len(error.text.split("\n")) <= 3 for error in found.errors)
