"""Words from a log never become markup, script or links; templates are found where they are."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import markdown
import pytest
from conftest import SAMPLES
from hypothesis import given
from hypothesis import strategies as st

from reportgen.cli import run
from reportgen.render import LONGEST_NOTES, escape_markdown, notes_to_html, quote_markdown, templates_folder

HOSTILE = "<script>alert(1)</script> [x](javascript:alert(2)) | # `a` <img src=x onerror=alert(3)>"


def test_templates_are_beside_the_package_in_a_checkout() -> None:
    assert {"report.html", "report.md", "index.html", "base.html", "style.css"} <= {
        p.name for p in templates_folder().iterdir()
    }


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
    for i, sign in enumerate(escaped):
        if sign in "`*_[]<>|#~":
            assert escaped[i - 1] == "\\"


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
