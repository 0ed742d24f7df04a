"""From a folder to a finished report, as a user runs it."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import shutil
from pathlib import Path

import pytest
from conftest import ROOT, SAMPLES, sample_folders

from reportgen.catalogue import KINDS
from reportgen.cli import run
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.vocabulary import column_named, split_header

TRUTH = {
    name: values
    for name, values in json.loads((ROOT / "tests" / "sample_truth.json").read_text(encoding="utf-8")).items()
    if not name.startswith("_")
}
#: No figure of a sample may be farther from the truth behind it than this many standard uncertainties.
FARTHEST = 3.9


def test_every_sample_has_its_truth() -> None:
    assert set(TRUTH) == {path.parent.relative_to(SAMPLES).as_posix() for path in SAMPLES.rglob("trial.toml")}
    assert len(TRUTH) >= 6


@pytest.mark.parametrize("name", sorted(TRUTH))
def test_figures_of_a_sample_hold_the_truth_behind_it(name: str) -> None:
    results = compute(read_trial(SAMPLES / name))
    outside = []
    checked = 0
    for key, truth in TRUTH[name].items():
        if key not in KINDS:
            continue
        figure = results[key]
        assert figure.is_given, f"{key}: {figure.reason}"
        assert figure.interval is not None
        checked += 1
        low, high = figure.interval
        if not low <= truth <= high:
            outside.append(key)
        if figure.standard_uncertainty > 0:
            assert abs(figure.value - truth) <= FARTHEST * figure.standard_uncertainty, key
    # Of some thirty figures with 95 % intervals, many of them sharing errors, a few may miss.
    assert checked > 20
    assert len(outside) <= 0.15 * checked, outside
    for key in TRUTH[name]["never"]:
        assert not results[key].is_given, key
    if "solid_between_h" in TRUTH[name]:
        assert results["ice_making_time"].interval == pytest.approx(tuple(TRUTH[name]["solid_between_h"]), abs=0.01)


@pytest.mark.parametrize("name", [folder.name for folder in sample_folders()])
def test_the_report_of_a_sample(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = _fingerprint(SAMPLES / name)
    assert run(["report", str(SAMPLES / name), "--out", str(tmp_path)]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    assert [Path(line).name for line in printed.out.splitlines()][-3:] == ["report.md", "report.html", "results.json"]
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    text = (tmp_path / "report.md").read_text(encoding="utf-8")
    for source in read_trial(SAMPLES / name).inputs:
        assert source.sha256 in page
        assert source.sha256 in text
    assert "http:" not in re.sub(r"http://www\.w3\.org", "", page)
    assert 'src="data:image/svg+xml;base64,' in page
    for picture in re.findall(r"\]\((charts/[a-z]+\.svg)\)", text):
        assert (tmp_path / picture).is_file()
    for stub in ("None", "nan", "Undefined"):
        assert not re.search(rf"\b{stub}\b", text), stub
    assert not set("{}") & set(text), "a gap of a sentence was not filled"
    assert "{{" not in page
    assert _fingerprint(SAMPLES / name) == before


def test_equal_inputs_give_equal_bytes(tmp_path: Path) -> None:
    for place in ("a", "b"):
        assert run(["report", str(SAMPLES / "canteen-single-log"), "--out", str(tmp_path / place)]) == 0
    assert _fingerprint(tmp_path / "a") == _fingerprint(tmp_path / "b")


def test_an_issue_date_is_printed_only_when_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = str(SAMPLES / "canteen-single-log")
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    run(["report", folder, "--out", str(tmp_path / "plain")])
    run(["report", folder, "--out", str(tmp_path / "dated"), "--issued", "2031-01-02"])
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1925078400")
    run(["report", folder, "--out", str(tmp_path / "epoch")])
    for name in ("report.html", "report.md"):
        assert "Issued" not in (tmp_path / "plain" / name).read_text(encoding="utf-8")
        assert "2031-01-02" in (tmp_path / "dated" / name).read_text(encoding="utf-8")
        assert "2031-01-02" in (tmp_path / "epoch" / name).read_text(encoding="utf-8")


def test_one_format_alone(tmp_path: Path) -> None:
    run(["report", str(SAMPLES / "canteen-single-log"), "--out", str(tmp_path), "--format", "html"])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["report.html", "results.json"]


WITHOUT = {
    "gas": (("gas_volume", "gas_produced"), "gas_used", "no gas readings are logged"),
    "temperature": (
        ("cabinet_temperature", "ambient_temperature"),
        "temperature_start",
        "no cabinet temperature is logged",
    ),
    "ice": (("ice",), "ice_making_time", "nobody looked at the ice"),
}


@pytest.mark.parametrize("missing", sorted(WITHOUT))
def test_a_trial_without_one_kind_of_reading_says_so(missing: str, tmp_path: Path) -> None:
    columns, key, reason = WITHOUT[missing]
    folder = tmp_path / "trial"
    folder.mkdir()
    for path in (SAMPLES / "canteen-single-log").iterdir():
        text = path.read_text(encoding="utf-8")
        if path.suffix == ".csv":
            rows = list(csv.reader(text.splitlines()))
            kept = [i for i, cell in enumerate(rows[0]) if column_named(split_header(cell)[0]) not in columns]
            text = "\n".join(",".join(f'"{row[i]}"' for i in kept) for row in rows)
        (folder / path.name).write_text(text, encoding="utf-8")
    assert run(["report", str(folder), "--out", str(tmp_path / "out")]) == 0
    results = json.loads((tmp_path / "out" / "results.json").read_text(encoding="utf-8"))["results"]
    assert results[key]["value"] is None
    assert reason in results[key]["reason"]
    assert reason in (tmp_path / "out" / "report.md").read_text(encoding="utf-8").replace("\\", "")
    assert results["run_time"]["value"] is not None


@pytest.mark.parametrize("with_logs", [True, False])
def test_a_title_alone_is_enough(with_logs: bool, tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "trial.toml").write_text('title = "Only a title"\n', encoding="utf-8")
    if with_logs:
        for path in (SAMPLES / "canteen-single-log").glob("*.csv"):
            shutil.copy(path, folder)
    assert run(["report", str(folder), "--out", str(tmp_path / "out")]) == 0
    text = (tmp_path / "out" / "report.md").read_text(encoding="utf-8")
    assert "Only a title" in text
    assert "Not given" in text


def test_a_folder_without_a_trial_sheet_is_a_short_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["report", str(tmp_path), "--out", str(tmp_path / "out")]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert 1 <= len(printed.err.splitlines()) <= 3
    assert "trial.toml" in printed.err
    assert not (tmp_path / "out").exists()


def _fingerprint(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
