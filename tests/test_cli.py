"""The command line: exit statuses, messages, JSON."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import ROOT, SAMPLES

from reportgen import __version__
from reportgen.cli import run


@pytest.mark.parametrize(
    ("arguments", "printed"),
    [
        (["--help"], "Usage: reportgen [OPTIONS] COMMAND"),
        (["report", "--help"], "Usage: reportgen report [OPTIONS] TRIAL"),
        (["batch", "-h"], "Usage: reportgen batch [OPTIONS] FOLDER"),
        (["check", "--help"], "Usage: reportgen check [OPTIONS] TRIAL"),
        (["--version"], f"reportgen, version {__version__}\n"),
    ],
)
def test_help_and_version(arguments: list[str], printed: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(arguments) == 0
    out, err = capsys.readouterr()
    assert out.startswith(printed)
    assert err == ""


@pytest.mark.parametrize(
    "arguments",
    [
        ["nonsense"],
        ["report"],
        ["report", "x", "--format", "doc"],
        ["report", "x", "--issued", "soon"],
        ["batch", "x", "--jobs", "0"],
        ["check"],
        ["check", "x", "y"],
        ["check", "x", "--out", "z"],
    ],
)
def test_wrong_usage_is_exit_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "Error" in printed.err


def test_json_of_a_report_and_of_a_failure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = SAMPLES / "canteen-hand-readings"
    assert run(["report", str(folder), "--out", str(tmp_path / "out"), "--json"]) == 0
    trial = json.loads(capsys.readouterr().out)["trials"][0]
    assert trial["status"] == "written"
    assert all(Path(path).is_file() for path in trial["paths"])
    assert run(["report", str(tmp_path), "--json"]) == 1
    printed = capsys.readouterr()
    assert json.loads(printed.out)["trials"][0]["status"] == "failed"
    assert "Error" in printed.err


def _trial(folder: Path, log: str) -> Path:
    folder.mkdir(parents=True)
    (folder / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\ntime_zone = "UTC"\n', encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    return folder


def test_cautions_are_printed_a_line_each(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = _trial(tmp_path / "t", "time,ambient_temperature [degC],ice\n09:00,27,soft\n10:00,warm,liquid\n")
    for option in ([], ["--json"]):
        assert run(["report", str(folder), "--out", str(tmp_path / "out"), *option]) == 0
        printed = capsys.readouterr()
        assert printed.err.splitlines() == [
            (
                'caution log.csv, row 3: ambient_temperature: the cell "warm" is no number in degC and is not used; '
                "write the number alone"
            ),
            'caution log.csv, row 2: ice: "soft" is not used; write liquid, partial, solid, or the percent frozen',
        ]
    assert json.loads(printed.out)["trials"][0]["status"] == "written"


def test_errors_come_first_and_ten_lines_are_enough(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soft = "".join(f"09:{minute},soft\n" for minute in range(10, 22))
    folder = _trial(tmp_path / "t", f"time,ice\n09:00,liquid\n{soft}")
    (folder / "other.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    assert run(["report", str(folder), "--out", str(tmp_path / "out")]) == 0
    lines = capsys.readouterr().err.splitlines()
    assert lines[0].startswith("error other.csv, row 1: no row names a time column")
    assert len(lines) == 11
    assert lines[-1] == "and 3 more; see the report"


def test_a_batch_counts_cautions_and_indents_what_is_longer_than_a_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _trial(tmp_path / "season" / "a", "time,ice\n09:00,soft\n10:00,soft\n11:00,solid\n")
    _trial(tmp_path / "season" / "b", "time,ice\n09:00,soft\n11:00,solid\n")
    _trial(tmp_path / "season" / "c", "time,ice\n11:00,solid\n")
    _trial(tmp_path / "season" / "d", "")
    assert run(["batch", str(tmp_path / "season"), "--out", str(tmp_path / "out"), "--jobs", "1"]) == 1
    lines = [line.replace(str(tmp_path / "season"), "") for line in capsys.readouterr().err.splitlines()]
    assert lines == [
        "1 written /a (2 cautions)",
        "2 written /b (1 caution)",
        "3 written /c",
        "4 failed /d: log.csv: no reading, event, look at the ice or feed could be used.",
        "    log.csv: the file is empty; export it once more",
        "1 of 4 trials could not be reported; the index says why.",
    ]


def test_the_trial_sheet_stands_for_its_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _trial(tmp_path / "run-3", "time,ice\n11:00,solid\n")
    monkeypatch.chdir(tmp_path)
    assert run(["report", str(folder / "trial.toml"), "--format", "md"]) == 0
    assert (tmp_path / "reports" / "run-3" / "report.md").is_file()
    assert run(["batch", "run-3/trial.toml", "--out", "all", "--format", "md"]) == 0
    assert (tmp_path / "all" / "run-3" / "report.md").is_file()
    capsys.readouterr()
    assert run(["report", str(folder / "log.csv")]) == 1
    assert "this is a file; name the folder that holds trial.toml" in capsys.readouterr().err


def test_what_cannot_be_written_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    assert run(["report", str(SAMPLES / "canteen-hand-readings"), "--out", str(tmp_path / "file" / "out")]) == 1
    assert "cannot be written" in capsys.readouterr().err


def test_check_prints_findings_in_the_width_of_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _trial(tmp_path / "t", "time,ice\n09:00,liquid\n09:30,soft\n10:00,solid\n")
    lines = {}
    for columns in ("40", "120"):
        monkeypatch.setenv("COLUMNS", columns)
        assert run(["check", str(folder / "trial.toml")]) == 0
        printed = capsys.readouterr()
        assert printed.err == ""
        lines[columns] = printed.out.splitlines()
        assert lines[columns][2 if columns == "120" else 3] == "1 caution:"
    assert (
        '   ice: "soft" is not used; write liquid, partial, solid, or the percent frozen. [ice-not-read]'
        in lines["120"]
    )
    assert len(lines["40"]) > len(lines["120"])
    assert sorted(path.name for path in folder.iterdir()) == ["log.csv", "trial.toml"]


def test_check_as_json_prints_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(SAMPLES / "canteen-running-meter"), "--json"]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    document = json.loads(printed.out)
    assert set(document) == {"findings", "supports", "inputs", "would_add"}
    assert {"gas_per_hour", "waste_to_ice"} <= set(document["supports"])
    assert "trial.toml" in {source["file"] for source in document["inputs"]}


def test_check_of_a_trial_that_cannot_be_read_is_an_error(capsys: pytest.CaptureFixture[str]) -> None:
    folder = ROOT / "tests" / "broken_trials" / "unknown-key"
    text = 'trial.toml:3: the key gas.knid is not known; the nearest known key is "kind"'
    assert run(["check", str(folder)]) == 1
    assert capsys.readouterr() == ("", f"Error: {text}\n")
    assert run(["check", str(folder), "--json"]) == 1
    printed = capsys.readouterr()
    assert printed.err == f"Error: {text}\n"
    finding = {"level": "error", "code": "key-unknown", "message": text, "file": "trial.toml", "row": 3, "effect": None}
    assert json.loads(printed.out) == {"findings": [finding], "supports": [], "inputs": [], "would_add": []}


def test_check_prints_where_signs_are_lacking(monkeypatch: pytest.MonkeyPatch) -> None:
    printed = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(printed, encoding="cp437"))
    assert run(["check", str(SAMPLES / "canteen-running-meter")]) == 0
    sys.stdout.flush()
    said = printed.getvalue().decode("cp437")
    assert "Time to 0 °C" in said
    assert "Time to -6 °C" in " ".join(said.split())
    assert "\x1b" not in said


def test_runs_as_a_module(tmp_path: Path) -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-W",
            "error",
            "-m",
            "reportgen",
            "report",
            str(SAMPLES / "canteen-hand-readings"),
            "--out",
            str(tmp_path),
        ],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert (done.returncode, done.stderr) == (0, "")
