"""Issue and re-issue: an id that follows from what a report is made of, and a history that is never lost."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from conftest import SAMPLES
from hypothesis import given
from hypothesis import strategies as st

from reportgen.anonymous import anonymised
from reportgen.catalogue import KINDS
from reportgen.cli import run
from reportgen.errors import OutputError
from reportgen.figures import compute
from reportgen.issue import (
    Amendment,
    Issue,
    Moved,
    Replaced,
    State,
    Wish,
    issue_of,
    moved,
    read_amendment,
    report_document,
    report_id,
)
from reportgen.read.folder import read_trial
from reportgen.results_file import results_document, results_schema, to_json
from reportgen.write import write_files

AS_IT_IS = Wish()
SAMPLE = SAMPLES / "canteen-hand-readings"


@pytest.fixture
def trial(tmp_path: Path) -> Path:
    folder = tmp_path / "trial"
    shutil.copytree(SAMPLE, folder)
    return folder


def correct(trial: Path, before: str, after: str) -> None:
    path = trial / "trial.toml"
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after), encoding="utf-8")


def report(trial: Path, out: Path, *more: str) -> dict[str, Any]:
    """Write a whole report and return its results file."""
    assert run(["report", str(trial), "--out", str(out), "--format", "md", *more]) == 0
    return results_of(out)


def results_of(out: Path) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((out / "results.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    return document


def issued(folder: Path, out: Path, wish: Wish = AS_IT_IS) -> str:
    """Write the results file of a report and nothing else, which takes no time, and return the id of the report."""
    trial = anonymised(read_trial(folder)) if wish.anonymous else read_trial(folder)
    document = results_document(trial, compute(trial))
    issue = issue_of(trial, wish, document["results"], out / "results.json")
    document["report"] = report_document(issue)
    write_files(out, {"results.json": to_json(document)})
    return issue.id


def test_the_id_follows_from_inputs_options_and_nothing_else(trial: Path, tmp_path: Path) -> None:
    read = read_trial(trial)
    first = report_id(read, AS_IT_IS)
    assert re.fullmatch(r"HMC-01-[0-9a-f]{8}", first)
    elsewhere = tmp_path / "elsewhere" / "trial"
    shutil.copytree(trial, elsewhere)
    assert report_id(read_trial(elsewhere), AS_IT_IS) == first
    others = {
        report_id(read, Wish(issued=dt.date(2026, 3, 20))),
        report_id(read, Wish(edition="class")),
        report_id(read, Wish(amends=(first, "slip"))),
        report_id(read, Wish(amends=(first, "another slip"))),
        report_id(anonymised(read), Wish(anonymous=True)),
    }
    correct(trial, "59 +/- 3 %", "60 +/- 3 %")
    others.add(report_id(read_trial(trial), AS_IT_IS))
    assert len(others | {first}) == 7


def test_an_amendment_says_what_it_replaces_why_and_what_moved(trial: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = report(trial, out)
    old = first["report"]["id"]
    text = (out / "report.md").read_text(encoding="utf-8")
    assert f"- Report: {old}\n" in text
    assert text.endswith(f"End of report {old}\n")
    correct(trial, "0.80 +/- 0.01 kg", "0.85 +/- 0.01 kg")
    correct(trial, "0.79 +/- 0.01 kg", "0.84 +/- 0.01 kg")
    reason = "the water was weighed with its tray | twice"
    second = report(trial, out, "--amends", old, reason, "--format", "html")
    amends = second["report"]["amends"]
    assert (amends["id"], amends["reason"]) == (old, reason)
    by_key = {change["key"]: change for change in amends["moved"]}
    assert by_key["ice_mass"]["before"]["value"] == first["results"]["ice_mass"]["value"]
    assert by_key["ice_mass"]["now"]["value"] == second["results"]["ice_mass"]["value"]
    assert by_key["ice_mass"]["unit"] == "kg"
    unmoved = set(KINDS) - set(by_key)
    assert {"gas_used", "ice_making_time", "temperature_lowest"} <= unmoved
    assert all(first["results"][key]["value"] == second["results"][key]["value"] for key in unmoved)
    text = (out / "report.md").read_text(encoding="utf-8")
    assert f"This report replaces report {old}." in text
    text = text.replace("\N{NO-BREAK SPACE}", " ")
    assert re.search(r"\| Ice[^|]* \| 0\.79 kg \(0\.77 to 0\.81\) \| 0\.84 kg \(0\.82 to 0\.86\) \|", text)
    assert "with its tray &#124; twice" in text
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "<h2>What this report replaces</h2>" in page
    assert f"<dt>Report</dt><dd><bdi>{second['report']['id']}</bdi></dd>" in page
    assert f"End of report {second['report']['id']}</p>" in page


def test_the_history_of_amendments_is_kept(trial: Path, tmp_path: Path) -> None:
    first = issued(trial, tmp_path)
    correct(trial, "59 +/- 3 %", "60 +/- 3 %")
    second = issued(trial, tmp_path, Wish(amends=(first, "first reason")))
    correct(trial, "60 +/- 3 %", "61 +/- 3 %")
    third = issued(trial, tmp_path, Wish(amends=(second, "second reason")))
    correct(trial, "61 +/- 3 %", "62 +/- 3 %")
    document = report(trial, tmp_path, "--amends", third, "third reason")
    assert document["report"]["amends"]["earlier"] == [
        {"id": second, "reason": "second reason"},
        {"id": first, "reason": "first reason"},
    ]
    text = (tmp_path / "report.md").read_text(encoding="utf-8")
    assert text.index(f"Before that, {second} was replaced") < text.index(f"Before that, {first} was replaced")


def test_the_same_amendment_again_gives_the_same_bytes(trial: Path, tmp_path: Path) -> None:
    first = issued(trial, tmp_path)
    correct(trial, "59 +/- 3 %", "60 +/- 3 %")
    found = []
    for _ in range(2):
        issued(trial, tmp_path, Wish(amends=(first, "a slip")))
        found.append((tmp_path / "results.json").read_bytes())
    assert found[0] == found[1]
    assert b'"moved": [' in found[1]


def test_without_the_earlier_figures_the_report_says_so(trial: Path, tmp_path: Path) -> None:
    document = report(trial, tmp_path / "out", "--amends", "HMC-01-00000000", "a slip")
    assert document["report"]["amends"]["moved"] is None
    assert "were not at hand" in (tmp_path / "out" / "report.md").read_text(encoding="utf-8")


def test_a_results_file_of_before_reports_had_an_id_tells_nothing(trial: Path, tmp_path: Path) -> None:
    issued(trial, tmp_path)
    document = results_of(tmp_path)
    del document["report"]
    (tmp_path / "results.json").write_text(json.dumps(document), encoding="utf-8")
    issued(trial, tmp_path, Wish(amends=("HMC-01-00000000", "a slip")))
    assert results_of(tmp_path)["report"]["amends"]["moved"] is None


def test_an_amendment_that_moves_nothing_says_so(trial: Path, tmp_path: Path) -> None:
    first = issued(trial, tmp_path / "out")
    correct(trial, 'operator = "N. Example"', 'operator = "M. Example"')
    report(
        trial, tmp_path / "new", "--amends", first, "a name", "--amends-from", str(tmp_path / "out" / "results.json")
    )
    assert "No figure moved." in (tmp_path / "new" / "report.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("content", "code", "said"),
    [
        (None, "amends-not-read", "cannot be opened"),
        ("no json", "amends-not-read", "is no JSON of a results file"),
        ("[1]", "amends-not-read", "is no results file"),
        ('{"format": "trial-results"}', "amends-another-report", "a report without an id"),
        ('{"format": "trial-results", "report": {"id": "X-1"}}', "amends-another-report", 'report "X-1", not of "HMC'),
        (
            '{"format": "trial-results", "report": {"id": "HMC-01-00000000", "anonymous": true}}',
            "amends-another-report",
            "only one of the two reports is an anonymous edition",
        ),
    ],
)
def test_another_report_than_the_one_named_is_an_error(
    tmp_path: Path, content: str | None, code: str, said: str
) -> None:
    file = tmp_path / "earlier.json"
    if content is not None:
        file.write_text(content, encoding="utf-8")
    wish = Wish(amends=("HMC-01-00000000", "slip"), amends_from=file)
    with pytest.raises(OutputError, match=said) as caught:
        issue_of(read_trial(SAMPLE), wish, {}, tmp_path / "results.json")
    assert caught.value.code == code
    assert 1 <= len(str(caught.value).splitlines()) <= 3


def test_the_report_that_stands_there_is_not_replaced_under_another_id(
    trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = issued(trial, tmp_path / "out")
    before = (tmp_path / "out" / "results.json").read_bytes()
    assert run(["report", str(trial), "--out", str(tmp_path / "out"), "--amends", "HMC-01-00000000", "slip"]) == 1
    assert f'this is the results file of report "{first}"' in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["results.json"]
    assert (tmp_path / "out" / "results.json").read_bytes() == before


def test_an_anonymous_edition_replaces_only_an_anonymous_one(trial: Path, tmp_path: Path) -> None:
    first = issued(trial, tmp_path, Wish(anonymous=True))
    correct(trial, "59 +/- 3 %", "60 +/- 3 %")
    with pytest.raises(OutputError, match="no id of an anonymous edition"):
        issued(trial, tmp_path, Wish(anonymous=True, amends=("HMC-01-00000000", "a slip")))
    second = issued(trial, tmp_path, Wish(anonymous=True, amends=(first, "a slip")))
    assert results_of(tmp_path)["report"]["amends"]["id"] == first != second
    assert first[:14] == second[:14]


def test_an_amendment_needs_an_id_and_a_reason(trial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["report", str(trial), "--amends", "HMC-01-00000000", " "]) == 2
    assert run(["report", str(trial), "--amends-from", "x.json"]) == 2
    assert "--amends ID REASON" in capsys.readouterr().err


REPORT_SCHEMA = jsonschema.Draft202012Validator(results_schema()["properties"]["report"])
NUMBER = st.floats(min_value=-1e6, max_value=1e6)
STATES = st.one_of(
    st.builds(State, NUMBER, st.tuples(NUMBER, NUMBER)),
    st.builds(State, st.none(), at_least=NUMBER),
    st.just(State(None)),
)


@given(st.dictionaries(st.sampled_from(sorted(KINDS)), st.tuples(st.none() | STATES, STATES), max_size=4))
def test_an_amendment_written_is_read_as_it_was(changes: dict[str, tuple[State | None, State]]) -> None:
    amendment = Amendment(
        Replaced("A-1", "why"),
        tuple(Moved(key, before, now) for key, (before, now) in changes.items()),
        (Replaced("A-0", "ß"),),
    )
    document = json.loads(json.dumps(report_document(Issue("A-2", amendment=amendment))))
    assert read_amendment(document) == amendment
    REPORT_SCHEMA.validate(document)


def test_what_moved_is_told_by_value_interval_and_bounds() -> None:
    given_figure = {"value": 1.0, "interval_95": [0.9, 1.1]}
    before = {
        "gas_used": given_figure,
        "energy_used": given_figure,
        "ice_mass": given_figure,
        "ice_making_time": {"value": None, "at_least": 3.0},
        "run_time": {"value": None},
    }
    now = {
        "gas_used": {"value": 1.0 + 1e-9, "interval_95": [0.9, 1.1]},
        "energy_used": {"value": 1.0, "interval_95": [0.8, 1.2]},
        "ice_mass": {"value": None},
        "ice_making_time": {"value": None, "at_least": 3.5},
        "run_time": {"value": None},
        "cop_ice": given_figure,
    }
    found = {change.key: change for change in moved(before, now)}
    assert list(found) == [key for key in KINDS if key in {"energy_used", "ice_mass", "ice_making_time", "cop_ice"}]
    assert found["cop_ice"].before is None
    assert found["ice_mass"].now == State(None)
