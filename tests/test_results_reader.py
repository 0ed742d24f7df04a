"""Results files of strangers: each fault is named, and holds nobody back."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from comparison.documents import document, write_results
from hypothesis import given
from hypothesis import strategies as st

from reportgen.comparison.row import row_of
from reportgen.errors import ReportgenError
from reportgen.results_file import VERSION
from reportgen.results_reader import LARGEST_FILE, parsed, read_results, results_files, validated


def changed(change: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    made = document()
    change(made)
    return made


def test_a_whole_file_has_no_findings() -> None:
    made = document()
    assert validated(made, "f") == (made, [])


@pytest.mark.parametrize(
    ("change", "code", "words"),
    [
        (lambda d: d.update(version=VERSION + 1), "results-newer", "newer reportgen"),
        (lambda d: d.update(format="other"), "not-results", "no results file"),
        (lambda d: d.update(version="1"), "results-damaged", "version"),
        (lambda d: d.pop("trial"), "results-damaged", "no trial"),
        (lambda d: d.pop("results"), "results-damaged", "no results"),
        (lambda d: d.update(results=[]), "results-damaged", "results"),
        (lambda d: d["trial"].pop("id"), "results-damaged", "id is missing"),
        (lambda d: d["trial"].update(title=7), "results-damaged", "has to be string"),
    ],
)
def test_a_file_that_cannot_be_used_is_an_error(
    change: Callable[[dict[str, Any]], object], code: str, words: str
) -> None:
    with pytest.raises(ReportgenError, match=words) as caught:
        validated(changed(change), "f")
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("change", "code", "key"),
    [
        (lambda f: f["run_time"].update(unit="min"), "results-foreign-unit", "run_time"),
        (lambda f: f["run_time"].update(value="4.6"), "results-wrong-figure", "run_time"),
        (lambda f: f["run_time"].pop("interval_95"), "results-wrong-figure", "run_time"),
        (lambda f: f["run_time"].update(interval_95=[8, 9]), "results-wrong-figure", "run_time"),
        (lambda f: f.update(run_time=None), "results-wrong-figure", "run_time"),
        (lambda f: f.update(run_time=[[]]), "results-wrong-figure", "run_time"),
        (lambda f: f.pop("run_time"), "results-missing-figure", "run_time"),
    ],
)
def test_a_wrong_figure_is_left_out_and_said(change: Callable[[dict[str, Any]], object], code: str, key: str) -> None:
    found, findings = validated(changed(lambda d: change(d["results"])), "f")
    assert [finding.code for finding in findings] == [code]
    assert key not in found["results"]
    assert row_of(found).id == "T-1"


def test_a_wrong_part_that_is_not_compared_is_left_out() -> None:
    found, findings = validated(changed(lambda d: d.update(series=5, set_up={"end_point": 3})), "f")
    assert [finding.code for finding in findings] == ["results-wrong-part"] * 2
    assert row_of(found).end_point == ""
    found, findings = validated(changed(lambda d: d.pop("findings")), "f")
    assert [str(finding.message) for finding in findings] == ["the file: findings is missing"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "no json",
        '{"value": NaN}',
        '{"value": 1e999}',
        '{"value": ' + "9" * 5000 + "}",
        '{"value": Infinity}',
        "[" * 100_000 + "]" * 100_000,
        "[" * 200 + "]" * 200,
        b"\xff\xfe\x00",
    ],
)
def test_what_is_no_json_of_numbers_is_an_error_of_a_line(tmp_path: Path, text: str | bytes) -> None:
    path = tmp_path / "results.json"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ReportgenError) as caught:
        parsed(path)
    assert caught.value.code == "results-not-readable"
    assert len(str(caught.value)) < 400


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "results.json"
    path.write_bytes(b" " * (LARGEST_FILE + 1))
    with pytest.raises(ReportgenError) as caught:
        parsed(path)
    assert caught.value.code == "results-too-large"


def test_a_bad_file_holds_no_other_back(tmp_path: Path) -> None:
    write_results(tmp_path, document(1), "{", document(2))
    found = list(read_results(results_files([tmp_path])))
    assert [read.document is not None for read in found] == [True, False, True]


def test_files_are_named_or_found_below_folders_once(tmp_path: Path) -> None:
    write_results(tmp_path, document(1), document(2))
    one = tmp_path / "trial-000" / "results.json"
    assert results_files([one, tmp_path]) == [one, tmp_path / "trial-001" / "results.json"]
    for path in (tmp_path / "nowhere", tmp_path / "trial-000" / "empty"):
        with pytest.raises(ReportgenError) as caught:
            results_files([path])
        assert caught.value.code == "no-results"


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**12), 10**12)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(st.data())
def test_whatever_stands_in_a_place_of_the_file_it_is_an_error_or_compared(data: st.DataObject) -> None:
    made = document()
    part: Any = made
    while True:
        key = data.draw(st.sampled_from(sorted(part) if isinstance(part, dict) else list(range(len(part)))))
        if not isinstance(part[key], dict | list) or not part[key] or data.draw(st.integers(0, 3)) == 0:
            break
        part = part[key]
    part[key] = data.draw(JSON)
    try:
        found, _ = validated(json.loads(json.dumps(made)), "f")
    except ReportgenError as error:
        assert len(str(error)) < 400
    else:
        row_of(found)
