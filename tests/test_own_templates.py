"""Templates of a reader's own: what they may write anew, and what they may not do."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from reportgen.batch.order import Order
from reportgen.batch.report import make_report
from reportgen.batch.season import report_batch
from reportgen.cli import run
from reportgen.errors import ReportgenError
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.render import check_own_templates, render_html
from reportgen.speech import Manner, load, speaking
from reportgen.view import build_view, edition_values

SAMPLE = Path(__file__).resolve().parent.parent / "sample_trials" / "canteen-hand-readings"


def folder_with(folder: Path, **texts: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return folder


def overriding(block: str, text: str) -> str:
    return f'{{% extends "standard/funder.html" %}}{{% block {block} %}}{text}{{% endblock %}}'


@cache
def values(edition: str) -> dict[str, object]:
    trial = read_trial(SAMPLE)
    results = compute(trial)
    return edition_values(edition, build_view(trial, results), trial, results)


def page(own: Path, edition: str = "funder") -> str:
    with speaking(load(Manner(folder=own))):
        return render_html(f"{edition}.html", **values(edition))


def test_a_block_is_written_anew_and_all_else_stays(tmp_path: Path) -> None:
    own = folder_with(tmp_path, funder__html=overriding("money", "<h2>What it cost us</h2>"))
    check_own_templates(own)
    found = page(own)
    assert "What it cost us" in found
    assert "<h2>Money</h2>" not in found
    assert "Safety, and where figures come from" in found
    assert page(own, "class") == page(tmp_path / "none", "class")


def test_a_style_of_ones_own_is_taken(tmp_path: Path) -> None:
    own = folder_with(tmp_path, style__css="body { color: #123456; }")
    check_own_templates(own)
    assert "#123456" in page(own)


def test_values_stay_escaped(tmp_path: Path) -> None:
    own = folder_with(tmp_path / "own", funder__html=overriding("money", "<p>{{ view.title }}</p>"))
    trial = tmp_path / "trial"
    trial.mkdir()
    for path in SAMPLE.iterdir():
        text = path.read_text(encoding="utf-8")
        (trial / path.name).write_text(text.replace("Harbour market canteen, run 1", "<script>1</script>"), "utf-8")
    order = Order(trial, Path("nowhere"), ("html",), edition="funder", manner=Manner(folder=own))
    found = make_report(order)[1]["report.html"].decode()
    assert "<p>&lt;script&gt;1" in found
    assert "<script>1" not in found


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("fundr__html", "x", r"no template has this name; did you mean funder\.html\?"),
        ("funder__html", overriding("mony", "x"), r'line 1: there is no block "mony"; did you mean money\?'),
        ("funder__html", overriding("money", "{{ vew.title }}"), r'there is no value "vew"; did you mean view\?'),
        ("funder__html", "{% block money %}", r"funder\.html, line 1: Unexpected end of template"),
        ("funder__html", overriding("money", "{{ 1 | nosuch }}"), r"No filter named 'nosuch'"),
    ],
)
def test_a_slip_is_named_with_what_there_is(tmp_path: Path, name: str, text: str, told: str) -> None:
    own = folder_with(tmp_path, **{name: text})
    with pytest.raises(ReportgenError, match=told) as caught:
        check_own_templates(own)
    assert caught.value.code in ("template-unknown", "template-broken")
    assert "Traceback" not in str(caught.value)


def test_a_missing_part_of_a_value_is_named_with_those_there_are(tmp_path: Path) -> None:
    own = folder_with(tmp_path, funder__html=overriding("money", "{{ view.titel }}"))
    with pytest.raises(ReportgenError, match=r'there is no "titel" here; did you mean title\?') as caught:
        page(own)
    assert caught.value.code == "template-broken"


@pytest.mark.parametrize(
    "text",
    [
        "{{ view.__class__.__mro__ }}",
        "{{ ''.__class__.__base__.__subclasses__() }}",
        "{{ say.__globals__ }}",
        "{{ speech().lacking.add('x') }}",
        "{% include '../../../etc/hostname' %}",
        "{% include '/etc/hostname' %}",
        "{% for i in range(10000000) %}x{% endfor %}",
    ],
)
def test_a_template_cannot_reach_out(tmp_path: Path, text: str) -> None:
    own = folder_with(tmp_path, funder__html=overriding("money", text))
    with pytest.raises(ReportgenError) as caught:
        page(own)
    assert caught.value.code == "template-broken"


def test_the_command_line_names_a_slip_in_one_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = folder_with(tmp_path / "own", funder__html=overriding("mony", "x"))
    assert run(["report", str(SAMPLE), "--templates", str(own), "--out", str(tmp_path / "out")]) == 2
    assert 'there is no block "mony"' in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_batch_makes_reports_again_when_a_template_changes(tmp_path: Path) -> None:
    own = folder_with(tmp_path / "own", funder__html=overriding("money", "one"))
    season = tmp_path / "season" / "a"
    season.mkdir(parents=True)
    for path in SAMPLE.iterdir():
        (season / path.name).write_bytes(path.read_bytes())

    def status() -> list[str]:
        done = report_batch(
            season.parent, tmp_path / "out", formats=("html",), edition="funder", manner=Manner(folder=own), jobs=1
        )
        return [outcome.status for outcome in done.outcomes]

    assert [status(), status()] == [["written"], ["unchanged"]]
    folder_with(own, funder__html=overriding("money", "two"))
    assert status() == ["written"]
