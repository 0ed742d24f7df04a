"""A new trial: valid as it stands, refused where something is, and a log sheet with the columns of its logs."""

from __future__ import annotations

import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from reportgen import new_trial as module
from reportgen import pdf, speech
from reportgen.cli import run
from reportgen.errors import OutputError
from reportgen.new_trial import LEFT_OUT, LOGS, csv_text, header_of, log_sheet, new_trial, trial_sheet
from reportgen.read.folder import read_trial
from reportgen.read.sheet import Section, Sheet, parse_sheet
from reportgen.resources import templates_folder
from reportgen.vocabulary import COLUMNS, column_named, split_header

BROWSER = next(filter(None, map(shutil.which, pdf.BROWSERS)), None)
FILES = ["conditions.csv", "feed.csv", "log-sheet.html", "run.csv", "trial.toml"]


@pytest.fixture
def no_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(pdf.VARIABLE, "no-such-browser")


@pytest.mark.usefixtures("no_browser")
def test_a_new_trial_can_be_checked_and_reported_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "Market day 3"
    assert run(["new", str(folder)]) == 0
    printed = capsys.readouterr()
    assert [Path(line).name for line in sorted(printed.out.splitlines())] == FILES
    assert "no-such-browser" in printed.err
    assert sorted(path.name for path in folder.iterdir()) == FILES
    assert run(["check", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "nothing-filled-in" in said
    assert "Not given:" in said
    assert run(["report", str(folder), "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out" / "report.html").is_file()
    trial = read_trial(folder)
    assert trial.sheet.title == "Market day 3"
    assert {finding.code for finding in trial.findings} == {"nothing-filled-in", "zone-not-stated"}


@pytest.mark.usefixtures("no_browser")
def test_a_folder_that_holds_something_is_refused_and_left_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "keep.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError, match="holds something already") as caught:
        new_trial(tmp_path)
    assert caught.value.code == "folder-not-empty"
    with pytest.raises(OutputError, match="it is no folder"):
        new_trial(tmp_path / "keep.txt")
    assert run(["new", str(tmp_path)]) == 1
    assert capsys.readouterr().err.count("\n") == 2
    assert [path.name for path in tmp_path.iterdir()] == ["keep.txt"]
    (tmp_path / "empty").mkdir()
    assert new_trial(tmp_path / "empty")[0]


def test_every_column_stands_in_a_log_or_is_left_out_for_another() -> None:
    in_logs = {name for _, columns, _ in LOGS.values() for name in columns}
    assert in_logs | set(LEFT_OUT) == set(COLUMNS)
    assert not in_logs & set(LEFT_OUT)
    assert set(LEFT_OUT.values()) <= in_logs


@pytest.mark.parametrize("name", LOGS)
def test_headers_explain_themselves_and_are_read_as_their_columns(name: str) -> None:
    *comments, header = csv_text(name).splitlines()
    assert all(line.startswith("# ") for line in comments)
    for cell, column in zip(header.split(","), LOGS[name][1], strict=True):
        assert column_named(*split_header(cell)) == column
        assert any(line.startswith(f"# {cell}: {COLUMNS[column].meaning}") for line in comments)


def test_a_filled_in_trial_is_read_without_doubts_of_its_columns(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text(trial_sheet("t"), encoding="utf-8")
    (tmp_path / "run.csv").write_text(
        csv_text("run.csv")
        + "2026-03-14 09:05,182,26.5,28,liquid,,burner lit,\n2026-03-14 12:40,20,-9.5,29,solid,,burner out,windy\n",
        encoding="utf-8",
    )
    trial = read_trial(tmp_path)
    assert {found.code for found in trial.findings} == {"zone-not-stated", "gap"}
    assert trial.lit_at is not None
    assert [look.is_solid for look in trial.looks] == [False, True]


def test_the_log_sheet_has_the_columns_of_the_logs_one_to_one() -> None:
    page = log_sheet()
    tables = page.split("<table>")[1:]
    assert len(tables) == len(LOGS)
    for table, (_, columns, rows) in zip(tables, LOGS.values(), strict=True):
        assert re.findall(r'data-column="([^"]+)"', table) == [header_of(COLUMNS[name]) for name in columns]
        assert table.count("<tr>") == rows + 1
        for name in columns:
            assert str(COLUMNS[name].label) in table
    for words in ("24 h clock", "isolated from the digester", "liquid, partial, solid", "Signature", "Local codes"):
        assert words in page.replace("\N{NO-BREAK SPACE}", " ")
    assert page.index("Safety check before lighting") < page.index("Signature")
    assert page.count("<li>") == len(module.SAFETY_CHECK)


@pytest.mark.skipif(BROWSER is None, reason="no browser of the Chromium family is installed")
def test_the_log_sheet_prints_on_the_two_sides_of_one_a4_sheet(tmp_path: Path) -> None:
    paths, remark = new_trial(tmp_path / "t")
    assert remark == ""
    data = next(path for path in paths if path.suffix == ".pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b(?!s)", data)) == 2
    if shutil.which("pdftotext"):
        done = subprocess.run(["pdftotext", "-layout", str(tmp_path / "t" / "log-sheet.pdf"), "-"], capture_output=True)
        first, second = done.stdout.decode().split("\f")[:2]
        assert "Safety check before lighting" in first
        assert "Signature" in second


def uncommented() -> str:
    """Return the trial sheet with every key in use."""
    lines = trial_sheet("t").splitlines()
    return "\n".join(re.sub(r"^#(?=\S)", "", line) for line in lines)


def test_every_key_of_a_trial_sheet_stands_in_it_and_its_example_can_be_used() -> None:
    text = uncommented()
    parse_sheet(text.encode())
    content = tomllib.loads(text)
    for name, field in Sheet.model_fields.items():
        assert name in content, name
        kind = field.annotation
        if isinstance(kind, type) and issubclass(kind, Section):
            assert set(content[name]) == set(kind.model_fields), name


def test_the_sheet_as_written_has_only_a_title() -> None:
    content = tomllib.loads(trial_sheet('Say "ice" \\ é'))
    assert content.pop("title") == 'Say "ice" \\ é'
    assert not any(content.values())
    assert (templates_folder() / "new" / "trial.toml").is_file()


@pytest.mark.skipif(BROWSER is None, reason="no browser that prints is installed")
@pytest.mark.parametrize("tag", ["fr", "sw"])
def test_the_log_sheet_is_one_sheet_in_languages_of_many_letters(tag: str) -> None:
    with speech.speaking(speech.load(speech.Manner(tag))):
        data = pdf.print_pdf(log_sheet())
    assert len(re.findall(rb"/Type\s*/Page\b", data)) == 2
