"""Results files of earlier runs: read whole, or refused in two lines."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reportgen.errors import TrialFileError
from reportgen.plan import read_past
from reportgen.plan.past import seen


def results(path: Path, name: str = "HMC-1", **values: object) -> Path:
    figures = {key: {"value": value, "unit": "x", "basis": "measured"} for key, value in values.items()}
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps({"format": "trial-results", "version": 1, "trial": {"id": name}, "results": figures}))
    return path


def test_a_folder_stands_for_the_results_file_in_it_and_a_file_counts_once(tmp_path: Path) -> None:
    path = results(
        tmp_path / "run" / "results.json", gas_used=200.0, cop_ice=1e300, ice_mass=None, odd="text", flag=True
    )
    (run,) = read_past([path, tmp_path / "run", path])
    assert run.name == "HMC-1"
    assert run.figures == {"gas_used": 200.0}
    assert seen([run], "gas_used") == [200.0]
    assert seen([run], "ice_mass") == []


def test_a_run_without_an_id_has_the_name_of_its_file(tmp_path: Path) -> None:
    (run,) = read_past([results(tmp_path / "mine.json", name=" ")])
    assert run.name == "mine.json"


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (None, "cannot be opened"),
        (b"{", "is no JSON"),
        (b"\xff\xfe", "is no JSON"),
        (b"[" * 100_000, "is no JSON"),
        (b"[]", "is no results file of a trial"),
        (b'{"format": "other", "results": {}}', "is no results file of a trial"),
        (b'{"format": "trial-results"}', "is no results file of a trial"),
    ],
)
def test_what_is_no_results_file_is_refused(tmp_path: Path, data: bytes | None, why: str) -> None:
    path = tmp_path / "results.json"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(TrialFileError, match=why) as caught:
        read_past([path])
    assert caught.value.code == "results-not-read"
    assert str(caught.value).count("\n") == 1
