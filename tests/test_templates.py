"""Every word of a template can be said in another language, in the HTML as in the Markdown, from right to left too."""

from __future__ import annotations

import functools
import re
import string
from collections.abc import Iterator
from typing import Any

import jinja2
import pytest
from conftest import computed_sample
from jinja2 import nodes

from reportgen import new_trial, speech
from reportgen.plan import Asked, make_plan
from reportgen.plan.words import plan_page
from reportgen.render import render_html, render_markdown
from reportgen.resources import templates_folder
from reportgen.speech import Speech
from reportgen.view import EDITIONS, build_view, edition_values

FOLDER = templates_folder()
NAMES = sorted(
    path.relative_to(FOLDER).as_posix() for ending in ("html", "md", "txt") for path in FOLDER.rglob(f"*.{ending}")
)
TWINS = ("report", "funder", "class", "plan/page", "parts", "comparison")
#: Blocks that only HTML needs: the head of the document, and the list of links.
ONLY_HTML = {"title", "kind", "scripts", "body", "contents"}
#: Sentences that only one of two twins has: of HTML what is read out or heads a row on a narrow screen, and a cell over
#: several columns; of Markdown the heading of a column where HTML shows tiles, the cell of its own, and what HTML
#: shows by its layout.
ALONE = {
    "parts": {
        *("Anonymous edition", "Numbers in this picture", "Because", "About this translation", "{label}: {value}"),
    },
    "report": {"Range", "Uncertain by", "Would help", "not given: {reason}", "{text} ({note})"},
    "funder": {"{title}: summary for those who fund it"},
    "class": {
        *("{title}: for a class", "Answer", "Answer to question {n}", "Answer: the altered reading"),
        *("Readings of this trial, one of them altered", "{label}: {value}", "{value} ({range}), {basis}"),
    },
    "plan/page": {"not given: {reason}", "not given"},
    "comparison": {"All figures", "{label}: {value}"},
}
SPOKEN_ATTRIBUTE = re.compile(r'\b(?:aria-label|data-label|alt|title|placeholder)="([^"]*)"')
#: Tags, character references, and names of files, which are the same in every language.
NO_WORDS = re.compile(r"<[^>]*>|&#?\w+;|\b[\w-]+\.(?:csv|json|toml)\b")
#: What has a direction of its own, whichever way the page runs.
SIDED = re.compile(
    r"(?:margin|padding|border)-(?:left|right)|text-align:\s*(?:left|right)|float:|(?<![\w-])(?:left|right)\s*:"
)
SHORTHAND = re.compile(r"(?:margin|padding):([^;}\"]+)")
#: What a block puts into an attribute of the page around it.
UNSEEN = re.compile(r"\{% block (kind|scripts) %\}.*?\{% endblock %\}", re.DOTALL)
GAP = "\N{WHITE SQUARE}"


@functools.cache
def source(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


@functools.cache
def tree(name: str) -> nodes.Template:
    return jinja2.Environment(autoescape=True).parse(source(name))


def written(name: str) -> str:
    """Return what a template writes by itself, with a gap where an expression stands."""
    tokens = jinja2.Environment(autoescape=True).lex(UNSEEN.sub("", source(name)))
    told = "".join({"data": text, "variable_begin": GAP}.get(kind, "") for _, kind, text in tokens)
    return re.sub(r"<!--.*?-->", "", told, flags=re.DOTALL)


def is_said(node: nodes.Node) -> bool:
    return (
        isinstance(node, nodes.Call) and isinstance(node.node, nodes.Name) and node.node.name in ("say", "say_counted")
    )


def calls(name: str, without: str = "") -> Iterator[nodes.Call]:
    """Return the sentences of a template, but not those of a block."""

    def below(node: nodes.Node) -> Iterator[nodes.Call]:
        if isinstance(node, nodes.Block) and node.name == without:
            return
        if is_said(node):
            assert isinstance(node, nodes.Call)
            yield node
        for child in node.iter_child_nodes():
            yield from below(child)

    return below(tree(name))


def sentences(call: nodes.Call) -> tuple[str, ...]:
    """Return the sentence that is said, or both of those that count."""
    assert isinstance(call.node, nodes.Name)
    texts = call.args[1:] if call.node.name == "say_counted" else call.args
    assert len(texts) == (2 if call.node.name == "say_counted" else 1)
    # Anything else would not be found for the catalogues.
    assert all(isinstance(text, nodes.Const) and isinstance(text.value, str) for text in texts), f"line {call.lineno}"
    return tuple(text.value for text in texts if isinstance(text, nodes.Const))


def catalogue() -> dict[str, tuple[str, ...]]:
    """Return a translation of all templates: each sentence between two signs of its own."""
    found = {}
    for name in NAMES:
        for call in calls(name):
            said = sentences(call)
            found[said[0]] = tuple(f"«{text}»" for text in said)
    return found


def bare(node: nodes.Node) -> Iterator[str]:
    """Return the words in an expression that are shown without being said."""
    if is_said(node):
        assert isinstance(node, nodes.Call)
        for value in node.kwargs:
            yield from bare(value.value)
    elif isinstance(node, nodes.Compare | nodes.Getitem):
        return
    elif isinstance(node, nodes.Filter):
        if node.node is not None:
            yield from bare(node.node)
        if node.name in ("join", "default"):
            for argument in node.args:
                yield from bare(argument)
    elif isinstance(node, nodes.Const):
        if isinstance(node.value, str) and re.search(r"[^\W\d_]{2}", NO_WORDS.sub("", node.value)):
            yield node.value
    else:
        for child in node.iter_child_nodes():
            if not isinstance(child, nodes.TemplateData):
                yield from bare(child)


@pytest.mark.parametrize("name", NAMES)
def test_no_template_has_words_that_are_not_said(name: str) -> None:
    text = written(name)
    for value in SPOKEN_ATTRIBUTE.findall(text):
        assert not value.replace(GAP, ""), value
    text = re.sub(r"<(style|script)\b.*?</\1>", "", text, flags=re.DOTALL)
    text = NO_WORDS.sub("", text)
    assert re.findall(r"\S*[^\W\d_]{2}\S*", text) == []
    shown = [word for node in tree(name).find_all((nodes.Output, nodes.Assign)) for word in bare(node)]
    assert shown == []


#: A sign of punctuation that a template itself puts beside what it shows; languages have their own.
LOOSE = re.compile(rf"{GAP}[*]*[:;,] |[:;,] {GAP}|{GAP} \(")
#: What is laid out and no sentence: a method or remark in brackets of its own, and pictures of Markdown.
LAID_OUT = {"report.html": 2, "class.html": 1}


@pytest.mark.parametrize("name", [name for name in NAMES if not name.startswith(("comparison", "index"))])
def test_no_template_puts_punctuation_between_what_it_shows(name: str) -> None:
    text = re.sub(r"<(style|script)\b.*?</\1>", "", written(name), flags=re.DOTALL)
    text = re.sub(r"<[^>]*>", "", text)
    assert len(LOOSE.findall(text)) == LAID_OUT.get(name, 0), LOOSE.findall(text)
    joins = [node for node in tree(name).find_all(nodes.Filter) if node.name == "join" and node.args]
    written_out = [node.args[0].value for node in joins if isinstance(node.args[0], nodes.Const)]
    assert set(written_out) <= {" ", " | "}


@pytest.mark.parametrize("name", NAMES)
def test_every_gap_of_a_sentence_is_filled(name: str) -> None:
    for call in calls(name):
        given = {value.key for value in call.kwargs} | ({"n"} if len(sentences(call)) == 2 else set())
        named = [{gap for _, gap, _, _ in string.Formatter().parse(text) if gap} for text in sentences(call)]
        assert named[-1] == given, sentences(call)
        assert given >= named[0] >= given - {"n"}


@pytest.mark.parametrize("twin", TWINS)
def test_twins_have_the_same_sentences_and_sections(twin: str) -> None:
    html, text = (
        {one for call in calls(f"{twin}.{ending}", without="contents") for one in sentences(call)}
        for ending in ("html", "md")
    )
    assert html ^ text == ALONE[twin]
    names = [{block.name for block in tree(f"{twin}.{ending}").find_all(nodes.Block)} for ending in ("html", "md")]
    assert names[0] - ONLY_HTML == names[1]


@pytest.mark.parametrize("name", [f"{twin}.{ending}" for twin in TWINS[:4] for ending in ("html", "md")])
def test_every_section_stands_in_a_block_of_its_own(name: str) -> None:
    def outside(node: nodes.Node) -> Iterator[str]:
        for child in node.iter_child_nodes():
            if isinstance(child, nodes.TemplateData):
                yield child.data
            elif not isinstance(child, nodes.Block) or child.name == "body":
                yield from outside(child)

    assert not re.search(r"<h[1-6]\b|^#+ |^\|", "\n".join(outside(tree(name))), flags=re.MULTILINE)


@pytest.mark.parametrize("name", ["style.css", *(name for name in NAMES if name.endswith(".html"))])
def test_styles_follow_the_direction_and_hold_no_words(name: str) -> None:
    styles = source(name) if name == "style.css" else "\n".join(re.findall(r"<style>.*?</style>", written(name), re.S))
    styles += "\n".join(re.findall(r'style="[^"]*"', source(name)))
    assert SIDED.findall(styles) == []
    sides = [found.split() for found in SHORTHAND.findall(styles)]
    assert [found for found in sides if len(found) == 4 and found[1] != found[3]] == []
    for text in re.findall(r'content:[^;}]*?"([^"]*)"', styles):
        assert not re.search(r"[^\W\d_]{2}", text), text


@pytest.mark.parametrize("name", [name for name in NAMES if name.endswith(".html") and name != "parts.html"])
def test_every_page_names_its_language_and_direction(name: str) -> None:
    head = '<html lang="{{ speech().tag }}" dir="{{ speech().direction }}">'
    assert (head in source(name)) != ('{% extends "base.html" %}' in source(name))


def pages() -> dict[str, dict[str, Any]]:
    """Return what pages show, by template without its ending."""
    trial, results = computed_sample("canteen-hand-readings")
    view = build_view(trial, results)
    shown: dict[str, dict[str, Any]] = {
        layout: edition_values(edition, view, trial, results) for edition, layout in EDITIONS.items()
    }
    shown["plan/page"] = {"page": plan_page(make_plan(Asked())), "picture_address": "data:,"}
    return shown


def rendered(name: str, values: dict[str, Any], spoken: Speech) -> list[tuple[str, set[str]]]:
    """Return a page in HTML and in Markdown, each with the sentences that had no translation."""
    found = []
    for render, ending in ((render_html, "html"), (render_markdown, "md")):
        with speech.speaking(spoken) as speaks:
            found.append((render(f"{name}.{ending}", **values), speaks.lacking))
    return found


def test_pages_run_from_right_to_left_and_say_what_they_lack() -> None:
    one = next(iter(sentences(call)[0] for call in calls("parts.md") if len(sentences(call)) == 2))
    spoken = Speech(tag="qaa", is_right_to_left=True)
    for name, values in pages().items():
        for page, lacking in rendered(name, values, spoken):
            assert '<html lang="qaa" dir="rtl">' in page or "<html" not in page
            assert "checked by a native speaker" in page
            counted = re.search(r"(\d+)\S? sentences have no translation yet", page)
            assert counted is not None
            assert int(counted[1]) == len(lacking - {one}) > 5
            rest = page[counted.end() :]
            assert re.sub(r"<[^>]*>", "", rest).strip() == "and stand in English."


def test_the_log_sheet_runs_from_right_to_left() -> None:
    with speech.speaking(Speech(tag="qaa", is_right_to_left=True)):
        page = new_trial.log_sheet()
    assert '<html lang="qaa" dir="rtl">' in page
    assert "checked by a native speaker" in page


def test_a_page_that_lacks_nothing_and_was_read_says_nothing_of_it() -> None:
    spoken = Speech(tag="qaa", messages=catalogue(), reviewer="Somebody who grew up with it")
    for name, values in pages().items():
        for page, lacking in rendered(name, values, spoken):
            assert lacking == set()
            assert "no translation" not in page
            assert "native speaker" not in page
            assert page.count("«") > 5
        for page, _ in rendered(name, values, speech.ENGLISH):
            assert "no translation" not in page
            assert "native speaker" not in page
            assert "«" not in page


def test_a_sentence_and_what_fills_it_are_escaped_but_markup_is_not() -> None:
    said = "Every figure with its uncertainty, method and source is in the full report and in {file}."
    spoken = Speech(tag="qaa", messages={said: ("<b>{file}</b>",), "Signed: {name}": ("{name}: signed",)})
    trial, results = computed_sample("canteen-hand-readings")
    values = edition_values("class", build_view(trial, results), trial, results)
    page, text = (page for page, _ in rendered("class", values, spoken))
    assert "&lt;b&gt;<code>results.json</code>&lt;/b&gt;" in page
    assert "<b>`results.json`</b>" in text
