"""What `check` says of a trial: worst first, in lines that fit, and with what a person can do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import SAMPLES

from reportgen import speech
from reportgen.codes import CODES
from reportgen.message import say
from reportgen.results_file import results_document
from reportgen.trial import Finding
from reportgen.trial_check import Check, check_document, check_text, check_trial

#: The code of a finding, at the end of what is said of it.
CODE = re.compile(r"\[[a-z]+(?:-[a-z]+)+\]$", re.MULTILINE)
LOG = """time,gas_volume,cabinet_temperature [degC],ice,colour
09:05,182,26.5,liquid,red
10:00,140,warm,soft,
11:00,120,-2,soft,
12:40,80,-9.5,solid,
"""


@pytest.fixture(scope="module")
def messy(tmp_path_factory: pytest.TempPathFactory) -> Check:
    folder = tmp_path_factory.mktemp("messy")
    (folder / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\n[burner]\nlit = "09:05"\n', encoding="utf-8")
    (folder / "log.csv").write_text(LOG, encoding="utf-8")
    (folder / "other.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    return check_trial(folder)


def paragraphs(text: str) -> list[str]:
    """Return the parts of a check, each on one line."""
    return [" ".join(part.split()) for part in text.split("\n\n")]


def numbered(text: str) -> list[str]:
    """Return the findings of a check, each on one line."""
    return [part.strip() for part in re.split(r"(?:^| )\d+\. (?=error|caution|note)", paragraphs(text)[1])[1:]]


def test_findings_are_numbered_with_the_worst_first(messy: Check) -> None:
    found = numbered(check_text(messy, 80))
    assert len(found) == len(messy.findings)
    levels = [line.split()[0] for line in found]
    assert levels == sorted(levels, key=["error", "caution", "note"].index)
    assert found[0].startswith("error other.csv, row 1 No row names a time column")
    assert all(line.endswith(f"[{finding.code}]") for line, finding in zip(found, messy.findings, strict=True))


def test_what_to_do_is_said_once_and_only_where_the_message_does_not(messy: Check) -> None:
    found = numbered(check_text(messy, 80))
    looks = [line for line in found if "[ice-not-read]" in line]
    assert looks == [
        f'caution log.csv, row {row} ice: "soft" is not used; write liquid, partial, solid, or the percent frozen. '
        "[ice-not-read]"
        for row in (3, 4)
    ]
    (zone,) = (line for line in found if "[zone-not-stated]" in line)
    assert CODES["zone-not-stated"].action in zone


def test_an_action_of_several_findings_is_said_at_the_first(messy: Check) -> None:
    swings = Finding("note", "ambient-swings", say("ambient ran far"), effect=say("it shows"))
    text = check_text(Check(messy.trial, messy.results, (swings, swings), ()), 80)
    assert numbered(text) == [
        "note Ambient ran far. It shows. Keep the appliance in the shade. [ambient-swings]",
        "note Ambient ran far. It shows. [ambient-swings]",
    ]


@pytest.mark.parametrize("width", [20, 40, 80, 140])
def test_lines_fit_the_terminal(messy: Check, width: int) -> None:
    lines = check_text(messy, width).splitlines()
    fitting = max(width, 30)
    assert all(len(line) <= fitting or len(line.split()) <= 2 for line in lines)
    assert max(map(len, lines)) > 0.8 * fitting


def test_what_the_log_supports_and_what_it_lacks_are_grouped(messy: Check) -> None:
    read, _, supports, missing, added = paragraphs(check_text(messy, 80))
    assert re.fullmatch(
        r"Read trial\.toml, log\.csv \(4 rows\), other\.csv \((0 rows|1 row)\)\. A report can be written\.", read
    )
    assert supports.startswith("This log supports: - run: Run time; Burning time")
    assert "- cold: Cabinet at the start" in supports
    assert "- no feed is logged (column fresh_mass) Waste fed; " in missing
    assert '- [gas] kind = "holder" Gas used, as read; Gas used, standard dry; ' in added


def test_a_trial_without_a_fault_says_so() -> None:
    parts = paragraphs(check_text(check_trial(SAMPLES / "canteen-hand-readings"), 80))
    assert parts[1] == "Nothing was found that a reader should know of."


@pytest.mark.parametrize("tag", ["fr", "es", "sw", "ar"])
def test_a_check_is_said_in_the_language_of_its_reader(messy: Check, tag: str) -> None:
    english = check_text(messy, 80)
    with speech.speaking(speech.load(speech.Manner(tag))) as speaks:
        text = check_text(messy, 80)
        assert speaks.lacking == set()
    for said in ("A report can be written", "This log supports", "Not given", "row ", "caution", "One more column"):
        assert said in english
        assert said not in text
    assert CODE.findall(text) == CODE.findall(english)


def test_the_document_speaks_as_the_results_file(messy: Check) -> None:
    document, results = check_document(messy), results_document(messy.trial, messy.results)
    assert list(document) == ["findings", "supports", "inputs", "would_add"]
    assert sorted(map(str, document["findings"])) == sorted(map(str, results["findings"]))
    assert document["inputs"] == results["inputs"]
    assert document["supports"] == [key for key, figure in results["results"].items() if figure["value"] is not None]
    assert {"add", "gives"} == set(document["would_add"][0])


def test_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "trial.toml").write_text('title = "t"\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    check_text(check_trial(tmp_path), 80)
    assert [path.name for path in tmp_path.iterdir()] == ["trial.toml"]
