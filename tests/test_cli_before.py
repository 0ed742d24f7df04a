"""The commands for before a trial: usage, JSON, pages, own runs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import SAMPLES

from reportgen.cli import run

PLAN = ["plan", "--gas", "200 L", "--rate", "1 L/min", "--water", "0.5 kg"]


@pytest.mark.parametrize("command", ["plan", "advise", "new"])
def test_help_stands_everywhere(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    assert capsys.readouterr().out.startswith(f"Usage: reportgen {command}")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan", "--gas", "200"], "--gas: found"),
        (["plan", "--gas", "200 kg"], 'such as "210 L"'),
        (["plan", "--water-temperature", "300 degC"], "--water-temperature: found"),
        (["plan", "--methane", "61,5 %"], "decimal mark as a point"),
        (["plan", "--rate", "1 L/min", "--power", "300 W"], "give one of them"),
        (["plan", "--shape", "slab"], "go together"),
        (["plan", "--thickness", "4 cm"], "go together"),
        (["plan", "stray.json"], "results files follow --from"),
        (["plan", "--out", "plan.pdf"], "ends in .html or .md"),
        (["advise", "--stove-rate", "fast"], "--stove-rate: found"),
        (["advise", "--daily-gas", "1 kg/d"], "--daily-gas: found"),
    ],
)
def test_wrong_usage_is_exit_2_in_one_line(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert words in printed.err
    assert printed.err.startswith("Error: ")
    assert printed.err.count("\n") == 1


def test_plan_prints_plain_lines_and_the_same_again(capsys: pytest.CaptureFixture[str]) -> None:
    said = []
    for _ in range(2):
        assert run(PLAN) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]
    assert said[0].startswith("The gas ")
    assert max(map(len, said[0].splitlines())) <= 80


def test_json_goes_to_standard_output_alone(capsys: pytest.CaptureFixture[str]) -> None:
    for command in (PLAN, ["advise", "--daily-gas", "1 m3/d"]):
        assert run([*command, "--json"]) == 0
        printed = capsys.readouterr()
        assert {"inputs", "results", "assumptions"} <= set(json.loads(printed.out))
        assert printed.err == ""


@pytest.mark.parametrize("name", ["plan.html", "plan.md", "deep/er/plan.HTM"])
def test_out_writes_a_page_and_prints_its_path(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (PLAN, ["advise", "--daily-gas", "1 m3/d"]):
        data = []
        for _ in range(2):
            assert run([*command, "--out", str(tmp_path / name)]) == 0
            assert capsys.readouterr().out == f"{tmp_path / name}\n"
            data.append((tmp_path / name).read_bytes())
        assert data[0] == data[1]
        text = data[0].decode()
        assert text.startswith("# " if name.endswith(".md") else "<!doctype html>")
        assert "Before you light" in text
        assert ("data:image/svg+xml" in text) == (command[0] == "advise" and not name.endswith(".md"))


def test_results_of_own_runs_are_taken_as_a_shell_lists_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = []
    for name in ("canteen-hand-readings", "canteen-single-log"):
        out = tmp_path / name
        assert run(["report", str(SAMPLES / name), "--out", str(out), "--format", "md"]) == 0
        files.append(str(out / "results.json"))
    capsys.readouterr()
    assert run(["plan", "--from", *files, "--water", "0.9 kg", "--gas", "400 L", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert len(document["inputs"]["from"]) == 2
    assert any(taken["basis"] == "own runs" for taken in document["assumptions"])
    # Both runs took some 300 L as read for as much ice.
    assert document["results"]["gas_needed"]["value"] == pytest.approx(330, rel=0.15)
    assert run(["advise", "--from", *files]) == 0
    assert "Own runs" in capsys.readouterr().out
    assert run(["plan", "--from", str(tmp_path / "none.json")]) == 1
    assert "results.json that a report wrote" in capsys.readouterr().err
