"""The command line: exit statuses, messages, JSON."""

from __future__ import annotations

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


def test_what_cannot_be_written_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    assert run(["report", str(SAMPLES / "canteen-hand-readings"), "--out", str(tmp_path / "file" / "out")]) == 1
    assert "cannot be written" in capsys.readouterr().err


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
