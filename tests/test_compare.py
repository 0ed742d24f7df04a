"""`reportgen compare`: results files of anybody in, a comparison out, the same as a batch makes of its own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from comparison.documents import document, season, write_results

from reportgen.cli import run


def test_a_comparison_of_folders_and_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_results(tmp_path / "ours", *season(3, 4))
    other = tmp_path / "other.json"
    other.write_text(json.dumps(document(90, site="Far away", ambient=39)), encoding="utf-8")
    assert run(["compare", str(tmp_path / "ours"), str(other), "--out", str(tmp_path / "out"), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert {trial["status"] for trial in printed["trials"]} == {"written"}
    assert len(printed["trials"]) == 13
    for name in ("comparison.html", "comparison.md", "results.csv", "datapackage.json"):
        assert str(tmp_path / "out" / name) in printed["paths"]
    text = (tmp_path / "out" / "comparison.md").read_text(encoding="utf-8")
    assert "13 trials at 4 sites." in text
    assert "**Sites beside each other**" in text
    assert "## Like no other" in text


def test_a_bad_file_is_named_and_the_others_are_compared(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    newer, foreign = document(3) | {"version": 2}, document(4)
    foreign["results"]["run_time"]["unit"] = "min"
    write_results(tmp_path / "in", document(1), "{", newer, foreign, document(1))
    assert run(["compare", str(tmp_path / "in"), "--out", str(tmp_path / "out")]) == 1
    printed = capsys.readouterr()
    assert "Traceback" not in printed.err
    assert 'run_time: "min", not "h"' in printed.err
    assert "is of version 2" in printed.err
    assert "is no JSON" in printed.err
    assert "the same trial is given twice" in printed.err
    assert printed.out.splitlines()[0].endswith("comparison.html")
    text = (tmp_path / "out" / "comparison.md").read_text(encoding="utf-8")
    assert "could not be read" in text
    assert (tmp_path / "out" / "results.csv").read_text(encoding="utf-8").count(",run_time,") == 1


def test_nothing_to_compare_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", str(tmp_path)]) == 1
    assert "no results.json" in capsys.readouterr().err
    assert run(["compare"]) == 2
