"""The three editions: one view, three layouts; HTML and Markdown alike; results the same whatever the edition."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import markdown
import pytest
from conftest import SAMPLES, computed_sample
from figures.trials import THREE_HOURS, column, write

from reportgen.cli import run
from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.render import render_html, render_markdown
from reportgen.trial import Trial
from reportgen.view import EDITIONS, build_view, edition_values
from reportgen.view.glossary import TERMS, glossary
from reportgen.view.lesson import build_lesson

#: A page of this many bytes is still mailed and opened on a slow line.
LARGEST_PAGE = 300_000


def words_of(html: str) -> str:
    return " ".join(unescape(re.sub(r"<(style|title)>.*?</\1>|<[^>]*>", " ", html, flags=re.DOTALL)).split())


def rendered(trial: Trial, results: Results, edition: str) -> tuple[str, str]:
    shown = edition_values(edition, build_view(trial, results), trial, results)
    name = EDITIONS[edition]
    return render_html(f"{name}.html", **shown), render_markdown(f"{name}.md", **shown)


@pytest.mark.parametrize("edition", EDITIONS)
def test_both_forms_of_an_edition_have_the_same_headings(edition: str) -> None:
    for name in ("canteen-hand-readings", "canteen-aborted"):
        page, text = rendered(*computed_sample(name), edition)
        html = markdown.markdown(text, extensions=["tables"])
        headings = [
            [words_of(found) for found in re.findall(r"<h[123].*?</h[123]>", form, flags=re.DOTALL)]
            for form in (page, html)
        ]
        assert headings[0] == headings[1]
        assert not re.search(r"<(?!!)[a-z/]", re.sub(r"`[^`]*`|&lt;", "", text))
        assert len(page.encode()) <= LARGEST_PAGE
        assert "What does not" not in text
        for sentence in ("Signed: ", "What it does not show", "authority in charge decide"):
            assert sentence in words_of(page)
            assert sentence in text


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_trial_of_which_hardly_anything_is_known_has_every_edition(edition: str, tmp_path: Path) -> None:
    write(tmp_path, column("note", {0: "lit"}), burner=THREE_HOURS)
    trial = read_trial(tmp_path)
    page, text = rendered(trial, compute(trial), edition)
    for form in (words_of(page), text):
        assert not re.search(r"\b(None|nan|Message)\b|\{", form)
        assert "not recorded" in form


def test_results_are_the_same_whatever_the_edition(tmp_path: Path) -> None:
    found = {}
    for edition in EDITIONS:
        out = tmp_path / edition
        assert run(["report", str(SAMPLES / "canteen-single-log"), "--out", str(out), "--edition", edition]) == 0
        assert {"report.html", "report.md", "results.json", "charts"} == {path.name for path in out.iterdir()}
        found[edition] = json.loads((out / "results.json").read_text(encoding="utf-8"))
    # Each edition is a report of its own, with its own id; all else is one and the same.
    named = {edition: document.pop("report") for edition, document in found.items()}
    assert len({report["id"] for report in named.values()}) == len(EDITIONS)
    assert found["full"] == found["funder"] == found["class"]
    assert found["full"]["format"] == "trial-results"


def test_pictures_beside_markdown_are_those_that_it_shows(tmp_path: Path) -> None:
    sample = str(SAMPLES / "canteen-single-log")
    for edition, least in (("funder", 1), ("full", 4)):
        out = tmp_path / edition
        assert run(["report", sample, "--out", str(out), "--edition", edition, "--format", "md"]) == 0
        shown = re.findall(r"\]\((charts/\w+\.svg)\)", (out / "report.md").read_text(encoding="utf-8"))
        assert {path.relative_to(out).as_posix() for path in out.glob("charts/*")} == set(shown)
        assert len(shown) >= least


def test_a_batch_has_an_edition_too(tmp_path: Path) -> None:
    folder = tmp_path / "trials" / "one"
    write(folder, column("note", {0: "lit"}), burner=THREE_HOURS)
    arguments = ["batch", str(tmp_path / "trials"), "--out", str(tmp_path / "out"), "--format", "md"]
    assert run([*arguments, "--edition", "class"]) == 0
    assert "for a class" in (tmp_path / "out" / "one" / "report.md").read_text(encoding="utf-8")
    assert run([*arguments, "--edition", "poster"]) == 2


def test_a_board_ends_with_the_result_of_its_figure() -> None:
    lesson = build_lesson(*computed_sample("canteen-hand-readings"))
    boards = {board.figure.label: board for link in lesson.links for board in link.boards}
    assert boards["Gas per hour, as read"].lines == ("gas used as read / burning time", "292.0 L / 5.200 h", "56.2 L/h")
    assert boards["Mean cooling rate"].lines[0] == "fall of the temperature / time it took"
    assert all(len(board.lines) >= 2 for board in boards.values())


def test_a_link_without_figures_says_why_once() -> None:
    lesson = build_lesson(*computed_sample("canteen-aborted"))
    whole = lesson.links[-1]
    assert whole.boards == ()
    (lacking,) = whole.lacking
    assert lacking.startswith("Energy per kg of ice; Thermal COP on the ice; Waste per kg of ice: ")


def test_answers_stand_apart_from_questions() -> None:
    page, text = rendered(*computed_sample("canteen-hand-readings"), "class")
    lesson = build_lesson(*computed_sample("canteen-hand-readings"))
    assert lesson.altered is not None
    answers = [item.answer for item in lesson.questions] + [lesson.altered.answer]
    before = text[: text.index("## Answers")]
    assert not [answer for answer in answers if answer in before]
    assert page.count('<details class="answer">') == len(answers)
    assert page.index('class="printed"') > page.index('id="words"')
    assert "altered on purpose" in words_of(page)


def test_the_glossary_tells_terms_that_the_trial_needs(tmp_path: Path) -> None:
    write(tmp_path, column("note", {0: "lit"}), burner=THREE_HOURS)
    few = dict(glossary(compute(read_trial(tmp_path))))
    many = dict(glossary(computed_sample("canteen-hand-readings")[1]))
    assert "Hold-over" not in few
    assert set(few) < set(many)
    names = [str(term) for term, _, _ in TERMS]
    assert names == sorted(names, key=str.casefold)


def test_a_cost_of_ice_is_printed_where_it_is_known() -> None:
    pages = {
        name: words_of(rendered(*computed_sample(name), "funder")[0])
        for name in ("canteen-hand-readings", "canteen-running-meter", "canteen-aborted")
    }
    known = pages["canteen-hand-readings"]
    assert re.search(r"Cost of this trial per kg of ice: 8\d(\.\d)? XTS per kg \(", known)
    assert "the set-up is not in it" in known
    assert "which costs are of this trial alone is not recorded" in pages["canteen-running-meter"]
    assert "no costs of this trial are recorded" in pages["canteen-aborted"]
