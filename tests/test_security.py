"""What is sent by strangers, and what is handed on: nothing is run, fetched, or read that was not meant to be.

The threats stand in DEVELOPERS.md, each with the tests that show what is done about it. What a trial folder holds is in
`test_hostile.py`.
"""

from __future__ import annotations

import ast
import base64
import html.parser
import importlib
import json
import os
import pkgutil
import re
import socket
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import unquote_to_bytes

import pytest
from conftest import ROOT, SAMPLES
from jinja2.bccache import FileSystemBytecodeCache

import reportgen
from reportgen import render, speech
from reportgen.batch.order import Order
from reportgen.batch.report import make_report
from reportgen.cli import run
from reportgen.cli.console import json_text
from reportgen.errors import ReportgenError
from reportgen.message import say
from reportgen.new_trial import log_sheet
from reportgen.own_templates import POLICY
from reportgen.read.folder import read_trial
from reportgen.render import check_own_templates
from reportgen.speech import Manner, load, speaking

SAMPLE = SAMPLES / "canteen-hand-readings"
HEAD = 'msgid ""\nmsgstr ""\n"Language: pl\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n'
PLURAL = '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n'


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with every kind of page there is, made of a trial whose words would be code elsewhere."""
    folder = tmp_path_factory.mktemp("written")
    trial = folder / "season" / "<img src=x onerror=alert(1)>"
    trial.mkdir(parents=True)
    for path in SAMPLE.iterdir():
        text = path.read_text(encoding="utf-8").replace(
            "Harbour market canteen, run 1", "</title><script src=//example.org/x></script>"
        )
        (trial / path.name).write_text(text, encoding="utf-8")
    reports = str(folder / "reports")
    assert run(["batch", str(folder / "season"), "--out", reports, "--jobs", "1"]) == 0
    for edition in ("funder", "class"):
        assert (
            run(["report", str(trial), "--edition", edition, "--out", str(folder / edition), "--format", "html"]) == 0
        )
    assert run(["compare", reports, "--out", str(folder / "comparison")]) == 0
    assert run(["plan", "--gas", "120 L", "--water", "1 kg", "--out", str(folder / "plan.html")]) == 0
    assert run(["advise", "--daily-gas", "300 L", "--out", str(folder / "advice.html")]) == 0
    assert run(["new", str(folder / "new")]) == 0
    return folder


class Reader(html.parser.HTMLParser):
    """What a page loads, where its links lead, and what stands before its policy."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.loaded: list[str] = []
        self.links: list[str] = []
        self.handlers: list[str] = []
        self.tags: list[str] = []
        self.policy: str | None = None
        self.before: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.tags.append(tag)
        if tag == "meta" and "http-equiv" in found:
            assert found["http-equiv"] == "Content-Security-Policy"
            assert self.policy is None
            self.policy = found["content"]
        if self.policy is None:
            self.before.append(tag)
        self.handlers += [name for name in found if name.startswith("on")]
        self.loaded += [
            found[name] for name in ("src", "srcset", "poster", "data", "background", "action") if name in found
        ]
        self.links += [found[name] for name in ("href", "xlink:href", "ping") if name in found]


def pages(folder: Path) -> Iterator[tuple[str, str]]:
    for path in sorted(folder.rglob("*.html")):
        yield path.relative_to(folder).as_posix(), path.read_text(encoding="utf-8")


def pictures(folder: Path) -> Iterator[str]:
    for path in sorted(folder.rglob("*.svg")):
        yield path.read_text(encoding="utf-8")
    for _, page in pages(folder):
        for form, data in re.findall(r'src="data:image/svg\+xml(;base64|[^,"]*),([^"]*)"', page):
            yield (base64.b64decode(data) if form == ";base64" else unquote_to_bytes(data)).decode()


def test_no_page_loads_anything_and_each_says_so_before_all_else(written: Path) -> None:
    names = [name for name, _ in pages(written)]
    assert {Path(name).name for name in names} >= {
        "index.html",
        "comparison.html",
        "report.html",
        "plan.html",
        "advice.html",
    }
    assert len(names) >= 8, "the log sheet as well"
    for name, page in pages(written):
        found = Reader(page)
        assert found.policy is not None, name
        policy, _, script = found.policy.partition("; script-src ")
        assert policy == POLICY, name
        assert bool(re.fullmatch(r"'sha256-[\w+/=]+'", script)) == (Path(name).name == "index.html"), name
        assert set(found.before) <= {"html", "head", "meta"}, name
        assert all(place.startswith(("data:image/svg+xml", "data:image/jpeg;base64,")) for place in found.loaded), name
        assert not found.handlers, name
        assert not set(found.tags) & {"link", "base", "iframe", "object", "embed", "form"}, name
        assert all(re.match(r"#|https?://|mailto:|[^:]*$", link) for link in found.links), name
        assert not re.search(r"@import|url\((?!['\"]?(data:|#))", page), name


def test_no_picture_loads_or_runs_anything(written: Path) -> None:
    drawn = list(pictures(written))
    assert len(drawn) > 6
    for svg in drawn:
        assert not re.search(
            r"<script|<foreignObject|<!DOCTYPE|<!ENTITY|<\?xml-stylesheet|<image|<style[^>]*>[^<]*@import|\son\w+=", svg
        )
        assert not re.search(r'href="(?!#)|url\((?!#)', svg)


def test_pages_and_texts_share_no_compiled_template() -> None:
    kept = []
    for is_page in (True, False):
        environment = render._environment(is_page, None)
        cache = environment.bytecode_cache
        assert isinstance(cache, FileSystemBytecodeCache)
        kept.append(cache._get_cache_filename(cache.get_bucket(environment, "parts.html", None, "")))
    assert kept[0] != kept[1], "one is compiled to escape values, the other not"


def test_making_reports_and_plans_opens_no_connection(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def asked(*_: object, **__: object) -> object:
        raise AssertionError("the network was asked")

    for name in ("getaddrinfo", "gethostbyname", "create_connection"):
        monkeypatch.setattr(socket, name, asked)
    monkeypatch.setattr(socket.socket, "connect", asked)
    assert run(["report", str(SAMPLE), "--out", str(tmp_path / "out"), "--format", "md"]) == 0
    assert run(["plan", "--gas", "120 L", "--water", "1 kg"]) == 0


# Catalogues of languages


def catalogue(folder: Path, text: str, tag: str = "pl") -> Path:
    (folder / speech.FOLDER).mkdir(exist_ok=True)
    (folder / speech.FOLDER / f"{tag}.po").write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    "said",
    [
        "{mass.__class__.__mro__}",
        "{mass!r} kg",
        "{mass:>99999999999}",
        "{mass[0]}",
        "{0} kg",
        "{} kg",
        "{other} kg",
        "{mass} {speech}",
    ],
)
def test_a_translation_has_no_gap_that_the_sentence_has_not(tmp_path: Path, said: str) -> None:
    own = catalogue(tmp_path, f'{HEAD}{PLURAL}\nmsgid "{{mass}} kg of ice"\nmsgstr "{said}"\n')
    with pytest.raises(ReportgenError, match=r'the translation of "\{mass\} kg of ice" has the gap') as caught:
        load(Manner("pl", folder=own))
    assert caught.value.code == "language-unreadable"


@pytest.mark.parametrize("text", ["{a.__class__}", "{a!r}", "{a:>9}", "{a[0]}", "{", "}", "{}", "{{a}}"])
def test_only_plain_names_are_gaps(text: str) -> None:
    shown = str(say(text, a="x"))
    assert shown == text.replace("{a}", "x")
    assert "class 'str'" not in shown


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ("nplurals=2; plural=(n != 1)*7;", "form"),
        ("nplurals=2; plural=1/(n-3);", "computed"),
        ("nplurals=2; plural=-n;", "form|read"),
        ("nplurals=2; plural=" + "(" * 200 + "n" + ")" * 200 + ";", "read"),
        ("nplurals=2; plural=__import__('os').getpid();", "read"),
    ],
)
def test_a_rule_of_plural_forms_is_tried_before_it_is_used(tmp_path: Path, rule: str, said: str) -> None:
    entry = 'msgid "{n} tray"\nmsgid_plural "{n} trays"\nmsgstr[0] "a"\nmsgstr[1] "b"\n'
    text = f'{HEAD}"Plural-Forms: {rule}\\n"\n\n{entry}'
    with pytest.raises(ReportgenError, match=said) as caught:
        load(Manner("pl", folder=catalogue(tmp_path, text)))
    assert caught.value.code == "language-unreadable"


def test_numbers_beyond_those_tried_take_a_form_that_there_is(tmp_path: Path) -> None:
    text = f'{HEAD}"Plural-Forms: nplurals=2; plural=(n > 5000 ? 9 : n != 1);\\n"\n'
    plural = load(Manner("pl", folder=catalogue(tmp_path, text))).plural
    assert [plural(n) for n in (1, 2, 10**6, 10**30 + 1)] == [0, 1, 1, 1]


@pytest.mark.parametrize(
    "data", [b"\0" * 100, b"\xff\xfe", b'"' * 5000, b"msgid " * 5000, b"#~ \n", b"charset=nosuch\\n"]
)
def test_a_catalogue_of_rubbish_is_an_error_or_nothing(tmp_path: Path, data: bytes) -> None:
    own = catalogue(tmp_path, "")
    (own / speech.FOLDER / "pl.po").write_bytes(HEAD.replace("utf-8", "nosuch").encode() + data)
    try:
        load(Manner("pl", folder=own))
    except ReportgenError as error:
        assert error.code == "language-unreadable"
        assert len(str(error)) < 1000


def test_a_huge_catalogue_is_refused_unread(tmp_path: Path) -> None:
    own = catalogue(tmp_path, HEAD)
    with (own / speech.FOLDER / "pl.po").open("r+b") as file:
        file.truncate(2 * 1024**3)
    with pytest.raises(ReportgenError, match="more than 5 MB"):
        load(Manner("pl", folder=own))


def test_tags_in_a_translation_are_words_in_a_page(tmp_path: Path) -> None:
    text = f'{HEAD}{PLURAL}\nmsgid "Log sheet: gas, cold and ice"\nmsgstr "<script>alert(1)</script>"\n'
    with speaking(load(Manner("pl", folder=catalogue(tmp_path, text)))):
        page = log_sheet()
    assert "<h1>&lt;script&gt;" in page
    assert "<script" not in page


# Templates of a reader's own


def overriding(text: str, block: str = "money") -> str:
    return f'{{% extends "standard/funder.html" %}}{{% block {block} %}}{text}{{% endblock %}}'


@pytest.fixture
def funder(tmp_path: Path) -> Callable[[str], str]:
    """Return what makes the page for funders with a template of one's own."""
    from test_own_templates import page

    def made(text: str) -> str:
        (tmp_path / "funder.html").write_text(text, encoding="utf-8")
        check_own_templates(tmp_path)
        return page(tmp_path)

    return made


@pytest.mark.parametrize(
    "text",
    [
        "{{ speech().folder.joinpath('secret').read_text() }}",
        "{{ speech().folder }}",
        "{{ speech().sentence('x') }}",
        "{{ view.key_figures[0].__class__ }}",
        "{{ view.summary.format_map }}{{ view.summary.format_map({}) }}{{ view.__eq__(1) }}",
        "{{ 'x' * 10000000000 }}",
        "{{ 9 ** 9 ** 9 }}",
        "{{ say('{a.escape.__func__.__globals__}', b='x').__html__.__func__.__globals__ }}",
        "{{ cycler.__init__.__globals__ }}",
        "{{ self.__init__.__globals__ }}",
        "{{ view | attr('__class__') }}",
        "{% import 'os' as os %}",
    ],
)
def test_a_template_reaches_no_file_and_no_code(funder: Callable[[str], str], text: str) -> None:
    with pytest.raises(ReportgenError) as caught:
        funder(overriding(text))
    assert caught.value.code == "template-broken"


def test_what_templates_need_may_still_be_called(funder: Callable[[str], str]) -> None:
    text = (
        "{% for n in range(2) %}{{ loop.cycle('a', 'b') }}{{ 2 * n }}{% endfor %}{{ view.title.upper() }}{{ super() }}"
    )
    assert "a0b2" in funder(overriding(text))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (overriding("; script-src 'unsafe-inline'", "scripts"), "has to begin"),
        ("<!doctype html><script src=//example.org/x></script>", "has to begin"),
        ("<!--><script>1</script>-->{% extends 'standard/funder.html' %}", "has to begin"),
        (overriding('<META HTTP-EQUIV=refresh content="0;url=//example.org">'), "<meta>"),
        (overriding("<link rel=preconnect href=//example.org>"), "<link>"),
        (overriding("<base href=//example.org>"), "<base>"),
    ],
)
def test_a_page_of_ones_own_keeps_the_policy(funder: Callable[[str], str], text: str, said: str) -> None:
    with pytest.raises(ReportgenError, match=said) as caught:
        funder(text)
    assert caught.value.code == "template-broken"


def test_no_link_in_a_folder_of_templates_leads_out_of_it(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (tmp_path / "secret").write_text("SECRET", encoding="utf-8")
    try:
        (own / "words").symlink_to(tmp_path / "secret")
    except OSError:
        pytest.skip("this machine makes no symbolic links")
    (own / "funder.html").write_text(overriding('{% include "words" %}'), encoding="utf-8")
    assert run(["report", str(SAMPLE), "--templates", str(own), "--out", str(tmp_path / "out")]) == 2
    with pytest.raises(ReportgenError, match="a link out of the folder"):
        check_own_templates(own)


def test_a_trial_brings_no_templates_and_no_catalogues(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    trial = tmp_path / "trial"
    trial.mkdir()
    for path in SAMPLE.iterdir():
        (trial / path.name).write_bytes(path.read_bytes())
    before = make_report(Order(trial, tmp_path / "out", ("html", "md")))[1]
    for place in (trial, trial / "templates"):
        place.mkdir(exist_ok=True)
        for name in ("report.html", "report.md", "base.html", "style.css", "class.html"):
            (place / name).write_text("SECRET", encoding="utf-8")
        catalogue(place, HEAD, "xx")
        catalogue(place, HEAD, "fr")
    monkeypatch.chdir(trial)
    assert make_report(Order(trial, tmp_path / "out", ("html", "md")))[1] == before
    assert "xx" not in speech.languages()
    assert speech.languages()["fr"] is not None
    assert not str(speech.languages()["fr"]).startswith(str(tmp_path))
    for place in (trial, trial / "templates"):
        assert run(["report", str(trial), "--templates", str(place), "--out", str(tmp_path / "out")]) == 2
        assert "a trial brings no templates of its own" in capsys.readouterr().err


# Results files


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this machine has no named pipes")
def test_a_results_file_that_is_a_pipe_is_not_waited_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "results.json")
    assert run(["compare", str(tmp_path), "--out", str(tmp_path / "out")]) == 1
    assert "it is no file" in capsys.readouterr().err


def test_words_of_a_results_file_never_come_alive(written: Path, tmp_path: Path) -> None:
    word = "</script><img src=x onerror=alert(1)>[a](javascript:alert(1))\x1b[31m"
    document = json.loads(next((written / "reports").rglob("results.json")).read_bytes())
    document["trial"] |= dict.fromkeys(("id", "title", "site", "series", "reason", "folder"), word)
    document["trial"] |= {"licence": "javascript:alert(1)", "citation": f"={word}"}
    for part in ("findings", "assumptions"):
        document[part] = [
            {name: word if isinstance(value, str) else value for name, value in entry.items()}
            for entry in document[part]
        ]
    (tmp_path / "results.json").write_text(json.dumps(document), encoding="utf-8")
    run(["compare", str(tmp_path), "--out", str(tmp_path / "out")])
    for _, page in pages(tmp_path / "out"):
        found = Reader(page)
        assert not found.handlers
        assert all(link.startswith("#") or ":" not in link for link in found.links)
        assert "alert(1)" in page
    for path in (tmp_path / "out").glob("*.csv"):
        assert not re.search(r'(^|,)"?[=@]', path.read_text(encoding="utf-8"), re.MULTILINE)


@pytest.mark.parametrize(
    "text",
    ["[" * 4000 + "]" * 4000, "9" * 100_000, "1e999", '{"format": NaN}', '"' + "x" * 5_000_001 + '"', "\x00", "\ud800"],
)
def test_a_results_file_of_brackets_or_endless_numbers_is_refused(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "results.json").write_bytes(text.encode("utf-8", "surrogatepass"))
    assert run(["compare", str(tmp_path), "--out", str(tmp_path / "out")]) == 1
    said = capsys.readouterr().err
    assert "results.json" in said
    assert "fault of reportgen" not in said
    assert len(said) < 1000


def test_json_on_a_terminal_does_nothing() -> None:
    document = {"name": "run\x1b[31m\x9b1m\u202e\U000e0041 °C"}
    text = json_text(document)
    assert json.loads(text) == document
    assert all(sign.isprintable() or sign == "\n" for sign in text)
    assert "°C" in text or "\\u00b0C" in text


# Patterns

#: What patterns look for, many times over and then something else: where a slow one tries all ways to part it.
FILLERS = [
    "a",
    " ",
    "1",
    "-",
    ",",
    ".",
    "a ",
    "1 ",
    "1,",
    "1.",
    "-1",
    "a-",
    "\t",
    "(",
    "[",
    '"',
    "'",
    "#",
    ":",
    "00:",
    "é",
    "*",
    "_",
    "&",
    "<",
    "\\",
    "/",
]
#: Quadratic time is no harm where lengths are bounded; at this one exponential time would have no end.
LENGTH = 300


def patterns() -> dict[str, re.Pattern[str]]:
    found = {}
    for module in pkgutil.walk_packages(reportgen.__path__, "reportgen."):
        if module.name.endswith("__main__"):
            continue
        for name, value in vars(importlib.import_module(module.name)).items():
            if isinstance(value, re.Pattern) and isinstance(value.pattern, str):
                found[f"{module.name}.{name}"] = value
    return found


@pytest.mark.parametrize(
    "place", ["time,ice{}x\n09:05,liquid\n", "time,ice\n09:05,li{}quid\n", "x{}y\ntime,ice\n09:05,liquid\n"]
)
@pytest.mark.parametrize("filler", [" ", "1.", "-", '"'])
def test_a_cell_without_end_takes_no_time(tmp_path: Path, place: str, filler: str) -> None:
    (tmp_path / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\n', encoding="utf-8")
    (tmp_path / "log.csv").write_text(place.format(filler * (60_000 // len(filler))), encoding="utf-8")
    began = time.process_time()
    try:
        read_trial(tmp_path)
    except ReportgenError as error:
        assert len(str(error)) < 1000
    assert time.process_time() - began < 4


def test_no_pattern_takes_more_than_a_moment() -> None:
    looked_at = patterns()
    assert len(looked_at) > 40
    for name, pattern in looked_at.items():
        for filler in FILLERS:
            text = filler * (LENGTH // len(filler)) + "\N{SNOWMAN}"
            began = time.process_time()
            pattern.search(text)
            pattern.match(text)
            pattern.fullmatch(text)
            assert time.process_time() - began < 1, f"{name} on {filler!r}"


# The note itself


def threats() -> str:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text.partition("\n## Threats\n")[2].partition("\n## ")[0]


def test_each_threat_names_tests_that_there_are() -> None:
    lines = [line for line in threats().splitlines() if line.startswith("| ") and "`test_" in line]
    assert len(lines) > 15
    for line in lines:
        for name, test in re.findall(r"`(test_\w+\.py)::(\w+)`", line):
            (place,) = (ROOT / "tests").rglob(name)
            functions = {
                node.name
                for node in ast.parse(place.read_text(encoding="utf-8")).body
                if isinstance(node, ast.FunctionDef)
            }
            assert test in functions, f"{name} has no {test}"


def test_each_dependency_is_reviewed() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = [
        *project["dependencies"],
        *project["optional-dependencies"]["spreadsheet"],
        *project["optional-dependencies"]["cluster"],
    ]
    reviewed = re.findall(r"^\| `([\w-]+)` \|", threats(), re.MULTILINE)
    assert sorted(reviewed) == sorted(part.partition(">=")[0] for part in needed)
