"""The catalogues of languages: whole, without stray gaps, and the same figures in all of them."""

from __future__ import annotations

import ast
import html
import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from gettext import c2py
from pathlib import Path

import pytest
import write_catalogues
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from conftest import computed_sample

from reportgen import new_trial, speech, vocabulary
from reportgen.batch import reckon
from reportgen.batch import report as composing
from reportgen.batch.order import Order
from reportgen.batch.report import make_report
from reportgen.speech import Manner, Speech

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = sorted(path.parent for path in (ROOT / "sample_trials").glob("*/trial.toml"))
TAGS = sorted(path.stem for path in write_catalogues.LANGUAGES.glob("*.po"))
GAP = re.compile(r"\{\w+\}")
BLANKS = (" ", "\n")
#: Letters that no word of ours has, so that what was said through a catalogue shows.
STRANGE = str.maketrans("aeiouyAEIOUcns", "áéíóúýÁÉÍÓÚçñš")


@cache
def template() -> Catalog:
    return write_catalogues.sentences()


@cache
def catalogue(tag: str) -> Catalog:
    with (write_catalogues.LANGUAGES / f"{tag}.po").open("rb") as file:
        return read_po(file, locale=tag, abort_invalid=True)


def test_the_languages_promised_are_there() -> None:
    assert TAGS == ["ar", "es", "fr", "sw"]


@pytest.mark.parametrize("tag", TAGS)
def test_a_catalogue_is_whole_and_up_to_date(tag: str) -> None:
    asked = {str(message.id) for message in template() if message.id}
    held = {str(message.id): message for message in catalogue(tag) if message.id}
    assert sorted(asked - set(held)) == [], "run tests/write_catalogues.py"
    assert sorted(set(held) - asked) == [], "run tests/write_catalogues.py"
    empty = [name for name, m in held.items() if not all([m.string] if isinstance(m.string, str) else m.string)]
    assert empty == [], f"{tag}.po: {len(empty)} sentences are not translated: {empty[:10]}"
    assert not any(message.fuzzy for message in held.values())


@pytest.mark.parametrize("tag", TAGS)
def test_a_translation_has_the_gaps_of_its_sentence_and_no_others(tag: str) -> None:
    for message in catalogue(tag):
        if not message.id:
            continue
        if isinstance(message.id, str):
            pairs = [(message.id, str(message.string))]
        else:
            assert len(message.string) == catalogue(tag).num_plurals
            pairs = [(message.id[1], said) for said in message.string]
            of_one = message.string[c2py(catalogue(tag).plural_expr)(1)]
            if Counter(GAP.findall(of_one)) == Counter(GAP.findall(message.id[0])):
                pairs.remove((message.id[1], of_one))  # it may say less than that of many
        for english, said in pairs:
            wanted, found = Counter(GAP.findall(english)), Counter(GAP.findall(said))
            if not isinstance(message.id, str):  # a form for one or two may say the number in words
                wanted.pop("{n}", None), found.pop("{n}", None)
            assert wanted == found, said
            assert not set("{}") & set(GAP.sub("", said)), said
            # The narrow blank before a colon in French is no blank that parts words.
            edges = [(text[:1] in BLANKS, text[-1:] in BLANKS) for text in (english, said)]
            assert edges[0] == edges[1], said
            assert not set("*_`<>|") & set(said) - set(english), said


@pytest.mark.parametrize("tag", TAGS)
def test_a_translation_says_whether_a_native_speaker_has_read_it(tag: str) -> None:
    assert re.search(r"Reviewed by a native speaker: *\S", catalogue(tag).header_comment)


@pytest.fixture(autouse=True, scope="module")
def read_and_computed_once() -> Iterator[None]:
    """What a trial holds and gives is the same in every language."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reckon, "read_trial", lambda folder: computed_sample(folder.name)[0])
        patch.setattr(reckon, "compute", lambda trial: computed_sample(trial.folder)[1])
        yield


def pages(
    sample: Path, manner: Manner, edition: str = "funder", formats: tuple[str, ...] = ("html", "md", "text")
) -> Mapping[str, bytes]:
    return make_report(Order(sample, Path("nowhere"), formats, edition=edition, manner=manner))[1]


@cache
def english_page(sample: Path) -> Mapping[str, bytes]:
    return pages(sample, Manner(), formats=("html",))


@pytest.mark.parametrize("tag", TAGS)
@pytest.mark.parametrize("sample", SAMPLES[1:3], ids=lambda path: path.name)
def test_figures_are_the_same_in_all_languages(tag: str, sample: Path) -> None:
    english, other = english_page(sample), pages(sample, Manner(tag), formats=("html",))
    assert english["results.json"] == other["results.json"]
    mark = speech.load(Manner(tag)).decimal_mark
    shown = [
        set(re.findall(r'<td class="value"[^>]*>(.*?)</td>', page["report.html"].decode(), re.DOTALL))
        for page in (english, other)
    ]
    plain = [sorted(re.findall(r"−?\d+(?:[.,]\d+)?", " ".join(sorted(cells)))) for cells in shown]
    assert plain[0]
    assert plain[0] == sorted(number.replace(mark, ".") for number in plain[1])


@pytest.mark.parametrize("tag", ["en", *TAGS])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.name)
def test_the_line_and_the_plain_page_fit_a_message(tag: str, sample: Path) -> None:
    text = pages(sample, Manner(tag), formats=("text",))["report.txt"].decode()
    assert len(text.splitlines()[0]) <= 160
    assert len(text) < 3500


def labelled(tag: str) -> Iterator[tuple[str, str]]:
    """Return the columns of the log sheet, each with its box as a header: label and unit."""
    with speech.speaking(speech.load(Manner(tag))):
        for name, (_, columns, _) in new_trial.LOGS.items():
            for column, box in zip(columns, new_trial.log_view(name).boxes, strict=True):
                yield column, f"{box.label} [{box.unit}]" if box.unit else box.label


def words_said(tag: str, sentence: str) -> list[str]:
    """Return the words that a sentence in a language names, one after the other."""
    with speech.speaking(speech.load(Manner(tag))):
        return re.split(r"[,،] *|(?<= )(?:ou|o|au|or|أو) ", speech.current().sentence(sentence))


@pytest.mark.parametrize("tag", ["en", *TAGS])
def test_a_label_of_the_log_sheet_is_read_as_its_column_or_asked_about(tag: str) -> None:
    for column, header in labelled(tag):
        found = vocabulary.column_named(*vocabulary.split_header(header))
        assert found == column or (found is None and column in vocabulary.columns_meant(header)), header


@pytest.mark.parametrize("tag", ["en", *TAGS])
def test_words_that_a_reader_is_told_to_write_are_understood(tag: str) -> None:
    events = ["burner lit", "burner out", "water placed", "door opened", "refill"]
    told = [word.strip() for word in words_said(tag, str(vocabulary.COLUMNS["event"].meaning.text))]
    assert [vocabulary.event_kind(word) for word in told] == events
    shown = words_said(tag, "liquid, partial, solid or 0 to 100 %")
    states = [word.strip() for word in shown][:3]
    assert [vocabulary.plain_ice_word(word) or word for word in states] == ["liquid", "partial", "solid"]


#: Rooms that make what readers see; what they leave in English is errors, and what other programs read.
SPOKEN_ROOMS = ("advice", "checks", "figures", "plan", "safety", "status", "view")
SPOKEN_MODULES = ("checklist", "claims", "new_trial", "outputs", "supports", "trial_check", "wording")
#: Where a sentence is handed on that is said elsewhere: to templates, and out of the table of codes.
HANDED_ON = {"render": 4, "trial_check": 1}


def calls_in(path: Path) -> Iterator[ast.Call]:
    return (node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call))


def test_what_is_said_stands_where_it_is_said() -> None:
    """A sentence out of a variable is in no catalogue, so that nobody could translate it."""
    found = Counter[str]()
    for path in sorted((ROOT / "reportgen").rglob("*.py")):
        for call in calls_in(path):
            name = call.func.id if isinstance(call.func, ast.Name) else ""
            said = {"say": call.args, "say_counted": call.args[1:]}.get(name, [])
            found[path.stem] += not all(isinstance(text, ast.Constant) for text in said)
    assert +found == HANDED_ON


def spoken_modules() -> list[Path]:
    rooms = [path for room in SPOKEN_ROOMS for path in (ROOT / "reportgen" / room).glob("*.py")]
    return sorted([*rooms, *(ROOT / "reportgen" / f"{name}.py" for name in SPOKEN_MODULES)])


@pytest.mark.parametrize("path", spoken_modules(), ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_what_parts_the_items_of_a_list_is_said(path: Path) -> None:
    """Languages write commas and semicolons of their own: lists are `listed`."""
    for call in calls_in(path):
        if isinstance(call.func, ast.Attribute) and call.func.attr == "join":
            separator = call.func.value
            is_said = not isinstance(separator, ast.Constant) or separator.value not in (", ", "; ", ": ")
            assert is_said, f"line {call.lineno}: {ast.unparse(call)}"


class _Strange(dict[str, tuple[str, ...]]):
    """A catalogue of a language that has every sentence: the English one in strange letters."""

    def get(self, text: str, _default: object = None) -> tuple[str, ...]:  # type: ignore[override]
        return (re.sub(r"(\{\w+\})|([A-Za-z]+)", lambda m: m[1] or m[2].translate(STRANGE), text),)


STRANGE_SPEECH = Speech("fr", messages=_Strange(), plural=lambda _: 0, decimal_mark=",", reviewer="nobody")


@pytest.fixture(scope="module", params=["funder", "class", "full"])
def both(request: pytest.FixtureRequest) -> Iterator[tuple[Mapping[str, bytes], Mapping[str, bytes]]]:
    sample = ROOT / "sample_trials" / "canteen-hand-readings"
    english = pages(sample, Manner(), request.param, ("html",))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(composing, "load", lambda _: STRANGE_SPEECH)
        yield english, pages(sample, Manner(), request.param, ("html",))


def test_a_page_is_laid_out_alike_in_every_language(both: tuple[Mapping[str, bytes], Mapping[str, bytes]]) -> None:
    skeletons = [re.findall(r"</?\w+", re.sub(r'data:image[^"]*', "", page["report.html"].decode())) for page in both]
    assert skeletons[0] == skeletons[1]
    assert json.loads(both[0]["results.json"]) == json.loads(both[1]["results.json"])


def test_no_word_of_ours_is_said_past_the_catalogues(both: tuple[Mapping[str, bytes], Mapping[str, bytes]]) -> None:
    """What a page in strange letters has in ordinary ones is the trial's own, a name, or the text of a source."""
    page = both[1]["report.html"].decode()
    page = re.sub(r"<style.*?</style>|data:image[^\"]*|<code>.*?</code>", " ", page, flags=re.DOTALL)
    shown = re.findall(r'(?:aria-label|data-label|alt|title)="([^"]*)"', page) + re.split(r"<[^>]+>", page)
    sample = ROOT / "sample_trials" / "canteen-hand-readings"
    own = " ".join([*(path.read_text(encoding="utf-8") for path in sample.iterdir()), *FILE_NAMES]).casefold()
    sources = " ".join(source.text for source in report_module_sources()).casefold()
    for text in map(html.unescape, shown):
        for word in re.findall(r"[A-Za-z]{4,}", text):
            known = word.casefold() in own or word.casefold() in sources or word in ALLOWED
            assert known or any(letter in text for letter in "áéíóúýçñš"), (word, text)


ALLOWED = {"reportgen"}
FILE_NAMES = ("trial.toml", "results.json")


def report_module_sources() -> list[object]:
    from reportgen.sources import SOURCES

    return list(SOURCES.values())
