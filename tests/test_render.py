"""Words from a log never become markup, script or links; templates are found where they are."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re
import shutil
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import markdown
import pytest
from conftest import SAMPLES, computed_sample
from hypothesis import given
from hypothesis import strategies as st

from reportgen import resources
from reportgen.cli import run
from reportgen.errors import OutputError
from reportgen.figures import compute
from reportgen.issue import Issue
from reportgen.read.folder import read_trial
from reportgen.render import (
    LONGEST_NOTES,
    escape_markdown,
    notes_to_html,
    quote_markdown,
    render_html,
    render_markdown,
    render_text,
)
from reportgen.resources import templates_folder
from reportgen.results_file import results_document, to_json
from reportgen.speech import END_ISOLATE, ISOLATE, LEFT_TO_RIGHT, NO_BREAK, Manner, load, speaking
from reportgen.view import EDITIONS, FigureView, build_view, edition_values

HOSTILE = "<script>alert(1)</script> [x](javascript:alert(2)) | # `a` <img src=x onerror=alert(3)>"


def words_of(html: str) -> str:
    """Return what a page shows, without its pictures."""
    return " ".join(unescape(re.sub(r"<(style|title)>.*?</\1>|<[^>]*>", " ", html, flags=re.DOTALL)).split())


def texts_in(value: object) -> Iterator[str]:
    """Return all texts of a view that a reader sees."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from texts_in(item)
    elif dataclasses.is_dataclass(value):
        if isinstance(value, FigureView) and value.value:
            yield from (f"{value.value} {value.unit}".strip(), value.basis_word)
        for field in dataclasses.fields(value):
            # Pictures and their addresses; the notes have a form of their own, a figure not given no unit and basis.
            if field.name not in (
                "data_address",
                "svg",
                "file_name",
                "unit",
                "basis",
                "basis_word",
                "notes",
                "grade",
                "summary",
            ):
                yield from texts_in(getattr(value, field.name))


@pytest.mark.parametrize("name", ["canteen-hand-readings", "canteen-aborted"])
def test_both_forms_show_all_of_the_view_under_the_same_headings(name: str) -> None:
    trial = read_trial(SAMPLES / name)
    view = build_view(trial, compute(trial), Issue("t", dt.date(2031, 1, 2)))
    page = render_html("report.html", view=view)
    text = markdown.markdown(render_markdown("report.md", view=view), extensions=["tables"])
    shown = {"html": words_of(page), "md": words_of(text)}
    expected = {" ".join(part.split()) for part in texts_in(view)}
    assert len(expected) > 200
    for form, words in shown.items():
        assert [part for part in sorted(expected) if part not in words] == [], form
    headings = [
        [words_of(found) for found in re.findall(r"<h[123]\b.*?</h[123]>", form, flags=re.DOTALL)]
        for form in (page, text)
    ]
    assert headings[0] == headings[1]
    columns = [sorted(set(re.findall(r"<th(?: [^>]*)?>([^<]+)</th>", form))) for form in (page, text)]
    # HTML heads its rows as well, and shows the key figures as tiles without column headings.
    assert set(columns[1]) - {"Range"} <= set(columns[0])


@pytest.mark.parametrize("tag", ["en", "fr", "ar"])
def test_amounts_hold_together_in_every_edition_and_stay_plain_in_data_and_messages(tag: str) -> None:
    trial, results = computed_sample("canteen-hand-readings")
    breaks = re.compile(rf"\d[{ISOLATE}{LEFT_TO_RIGHT}{END_ISOLATE}]* (?:°C|kg|L|h|%|MJ)\b(?!/)")
    with speaking(load(Manner(tag))):
        view = build_view(trial, results, Issue("t"), draw=lambda *_: ())
        for edition, template in EDITIONS.items():
            shown = edition_values(edition, view, trial, results)
            page = re.sub(r"<(style|code)\b.*?</\1>|<[^>]*>", "", render_html(f"{template}.html", **shown), flags=re.S)
            text = re.sub(r"`[^`\n]*`", "", render_markdown(f"{template}.md", **shown))
            for form in (unescape(page), text):
                assert breaks.findall(form) == []
                assert form.count(NO_BREAK) > 40
        brief = render_text("report.txt", **edition_values("funder", view, trial, results))
        assert NO_BREAK not in brief
        assert "0.79 kg" in brief or tag != "en"
    assert NO_BREAK not in to_json(results_document(trial, results))


def test_templates_are_beside_the_package_in_a_checkout() -> None:
    assert {"report.html", "report.md", "index.html", "base.html", "style.css"} <= {
        p.name for p in templates_folder().iterdir()
    }


def test_missing_templates_are_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(resources, "files", lambda _: tmp_path)
    monkeypatch.setattr(resources, "__file__", str(tmp_path / "reportgen" / "resources.py"))
    with pytest.raises(OutputError, match="missing from this installation") as caught:
        templates_folder()
    assert caught.value.code == "templates-missing"


@pytest.mark.parametrize(
    "notes",
    [
        "<script>alert(1)</script>",
        "[x](javascript:alert(1))",
        "![x](http://example.org/x.png)",
        "<b onclick=x>b</b>",
        "[a]: javascript:alert(1)\n\n[x][a]",
        "<style>body{display:none}</style>",
        "<http://example.org/><script>",
    ],
)
def test_hostile_notes_are_shown_and_do_nothing(notes: str) -> None:
    html = str(notes_to_html(notes)).lower()
    for danger in ("<script", 'javascript:"', 'href="javascript', "onclick=x>", "<style", "<img"):
        assert danger not in html


def test_ordinary_notes_keep_their_form() -> None:
    html = str(notes_to_html("# Wind\n\nThe *flame* flickered at <5 kPa:\n\n- once\n- twice"))
    assert "<h4>Wind</h4>" in html
    assert "<em>flame</em>" in html
    assert "&lt;5 kPa" in html
    assert html.count("<li>") == 2


def test_very_long_notes_are_cut() -> None:
    assert len(notes_to_html("[" * 100_000)) <= 2 * LONGEST_NOTES


@given(st.text(max_size=80))
def test_escaped_markdown_has_no_live_signs(text: str) -> None:
    escaped = escape_markdown(text)
    assert "\n" not in escaped
    assert not set("<|~") & set(escaped)
    live = re.sub(r"\\[\\`*_\[\]>#]|&#\d+;", "", escaped)
    assert not set("`*_[]>#\\") & set(live)


@given(st.text(alphabet="ab &<>;#*_`|[]!-1.+=)~\\", max_size=30))
def test_escaped_markdown_shows_what_was_written(text: str) -> None:
    for before in ("x ", ""):
        assert words_of(markdown.markdown(before + escape_markdown(text))) == " ".join((before + text).split())


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("28.5 L", "28.5 L"),
        ("1. first", "1\\. first"),
        ("2) second", "2\\) second"),
        ("-4 K", "-4 K"),
        ("- four", "\\- four"),
        ("+ more", "\\+ more"),
        ("===", "&#61;=="),
        ("= 4 L", "= 4 L"),
        ("3.", "3\\."),
        ("a & b &lt; c", "a & b &amp;lt; c"),
    ],
)
def test_only_what_would_make_a_list_or_a_heading_is_escaped_at_the_start(text: str, written: str) -> None:
    assert escape_markdown(text) == written


def test_quoted_notes_stay_in_their_quotation() -> None:
    assert quote_markdown("a\n# b\n\n- c") == "> a\n> \\# b\n>\n> \\- c"


def test_hostile_words_in_every_field_stay_words(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    shutil.copytree(SAMPLES / "canteen-single-log", folder)
    sheet = (folder / "trial.toml").read_text(encoding="utf-8")
    lines = []
    for line in sheet.splitlines():
        key = line.split("=")[0].strip()
        if key in (
            "title",
            "id",
            "site",
            "region",
            "operator",
            "description",
            "appliance",
            "probe_position",
            "end_point",
        ):
            line = f"{key} = '{HOSTILE}'"
        lines.append(line)
    (folder / "trial.toml").write_text("\n".join(lines), encoding="utf-8")
    log = (folder / "log.csv").read_text(encoding="utf-8").rstrip("\n")
    width = log.splitlines()[0].count(",")
    (folder / "log.csv").write_text(log + "\n" + f'"{HOSTILE}"' + "," * width + "\n", encoding="utf-8")
    assert run(["report", str(folder), "--out", str(tmp_path / "out")]) == 0
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "onerror=alert" not in page.replace("onerror=alert(3)&gt;", "")
    assert "javascript:alert(2)" in page
    shown = markdown.markdown((tmp_path / "out" / "report.md").read_text(encoding="utf-8"), extensions=["tables"])
    assert "<script" not in shown
    assert "<a " not in shown
    assert set(re.findall(r"<img[^>]*src=\"([^\"]*)", shown)) <= {
        f"charts/{name}.svg" for name in ("cabinet", "gas", "feed", "chain")
    }


#: Keys of free text, by table, that a report prints.
FREE_TEXTS = {
    "": (
        *("organisation", "contact", "signed_by", "amendments", "incidents", "licence", "citation", "paid_by"),
        *("equipment_from", "conflicts", "purpose", "steps", "deviations", "weather", "baseline", "advice", "reason"),
    ),
    "burner": ("flame",),
    "gas": ("seal_water", "methane_method"),
    "cabinet": ("probe_check",),
    "water": ("container",),
    "digester": ("description", "preparation"),
    "replication": ("parts", "skills", "permissions"),
}


@pytest.mark.parametrize("edition", EDITIONS)
def test_words_of_the_sheet_stay_words_in_every_edition(edition: str, tmp_path: Path) -> None:
    lines = ["title = 'Hostile'", "outcome = 'aborted'", "date = 2026-03-14"]
    for table, keys in FREE_TEXTS.items():
        lines += [f"[{table}]"] * bool(table) + [f"{key} = '{HOSTILE} {table}.{key}'" for key in keys]
    lines += ["[costs]", f"currency = '{HOSTILE}'", f'"{HOSTILE.replace(chr(34), "")}" = 3']
    lines += ["[costs.per_trial]", f'"{HOSTILE}" = 4', "[audience]", f'"{HOSTILE}" = 5']
    (tmp_path / "trial.toml").write_text("\n".join(lines), encoding="utf-8")
    (tmp_path / "log.csv").write_text(f'time,note,ice\n2026-03-14T09:00,"{HOSTILE}",solid\n', encoding="utf-8")
    trial = read_trial(tmp_path)
    results = compute(trial)
    shown = edition_values(edition, build_view(trial, results), trial, results)
    page = render_html(f"{EDITIONS[edition]}.html", **shown)
    text = render_markdown(f"{EDITIONS[edition]}.md", **shown)
    html = markdown.markdown(text, extensions=["tables"])
    for form in (page, html):
        assert "<script" not in form
        assert not re.search(r"<img[^>]*onerror", form)
        assert not re.search(r'href="(?!#)', form)
    if edition == "full":
        for table, keys in FREE_TEXTS.items():
            for key in keys:
                assert f"{table}.{key}" in words_of(page), key
                assert f"{table}.{key}" in words_of(html), key
