"""What stands over many trials: index, tables, data package; whole, harmless, and never inventing a licence."""

from __future__ import annotations

import base64
import csv
import hashlib
import importlib.util
import io
import json
import re
import subprocess
import sys
import tempfile
import tracemalloc
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from comparison.documents import document, season

from reportgen.catalogue import KINDS
from reportgen.data_package import CSV_COLUMNS, DICTIONARY_COLUMNS, TRIAL_COLUMNS
from reportgen.errors import OutputError
from reportgen.publication import (
    Entry,
    entry_of,
    failed_entry,
    placed,
    publish,
)
from reportgen.results_file import results_schema
from reportgen.speech import Manner, load, speaking

HOSTILE = "</script><script>alert(1)</script><!-- \u2028 ]]> & \"'"


def packed(*documents: dict[str, Any], failed: tuple[Entry, ...] = ()) -> dict[str, str]:
    entries = [entry_of(made, f"folder {n}", f"t{n}/report.html") for n, made in enumerate(documents)]
    return published([*entries, *failed])


def published(entries: Iterable[Entry]) -> dict[str, str]:
    """Return the files that stand over trials, by their names."""
    with tempfile.TemporaryDirectory() as name:
        publish(Path(name), entries, folder="season")
        paths = [path for path in Path(name).rglob("*") if path.is_file()]
        return {path.relative_to(name).as_posix(): path.read_bytes().decode() for path in paths}


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def data_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/ld\+json">(.*?)</script>', page, flags=re.DOTALL)
    assert found
    data: dict[str, Any] = json.loads(found[1])
    return data


def test_the_pack_is_whole_and_the_same_for_the_same_trials() -> None:
    made = season(3, 4)
    texts = packed(*made, failed=(failed_entry("broken", "no title"),))
    assert {name for name in texts if not name.startswith("charts/")} == {
        "index.html",
        "comparison.html",
        "comparison.md",
        "results.csv",
        "trials.csv",
        "data-dictionary.csv",
        "datapackage.json",
        "results.schema.json",
    }
    assert texts == packed(*made, failed=(failed_entry("broken", "no title"),))
    assert json.loads(texts["results.schema.json"]) == results_schema()
    for name in re.findall(r"\]\((charts/[^)]*)\)", texts["comparison.md"]):
        assert texts[name].startswith("<svg")


def test_the_tables_are_tidy() -> None:
    texts = packed(document(1), document(2), failed=(failed_entry("broken", "no\ntitle"),))
    results, trials, words = (rows_of(texts[name]) for name in ("results.csv", "trials.csv", "data-dictionary.csv"))
    assert tuple(results[0]) == CSV_COLUMNS
    assert tuple(trials[0]) == TRIAL_COLUMNS
    assert tuple(words[0]) == DICTIONARY_COLUMNS
    assert len(results) == 2 * len(KINDS)
    assert [row["quantity"] for row in words] == list(KINDS)
    assert [(row["trial"], row["status"], row["group"], row["evidence"]) for row in trials] == [
        ("T-1", "written", "1", "A"),
        ("T-2", "written", "1", "A"),
        ("broken", "failed", "", ""),
    ]
    assert trials[2]["reason"] == "no title"
    assert trials[0]["report"] == "t0/report.html"


def test_the_package_describes_each_column_of_each_table() -> None:
    texts = packed(document(1))
    package = json.loads(texts["datapackage.json"])
    assert re.fullmatch(r"[-a-z0-9._/]+", package["name"])
    for resource in package["resources"]:
        header = texts[resource["path"]].splitlines()[0].split(",")
        fields = resource["schema"]["fields"]
        assert [field["name"] for field in fields] == header
        for row in rows_of(texts[resource["path"]]):
            for field in fields:
                cell = row[field["name"]]
                if field["type"] == "number" and cell:
                    float(cell)
                if "constraints" in field and cell:
                    assert cell in field["constraints"]["enum"]


@pytest.mark.skipif(importlib.util.find_spec("frictionless") is None, reason="frictionless is not installed")
def test_the_package_is_valid_by_the_frictionless_library(tmp_path: Path) -> None:
    made = document(1, site=HOSTILE, licence="CC BY 4.0", series='=1+1,"x"\r\n')
    entries = [entry_of(made, "one"), entry_of(document(2), "two"), failed_entry("a,b", "x")]
    publish(tmp_path, entries)
    done = subprocess.run(
        [sys.executable, "-m", "frictionless", "validate", "--json", "datapackage.json"],
        cwd=tmp_path,
        check=False,
        capture_output=True,
        text=True,
    )
    assert json.loads(done.stdout)["valid"], done.stdout


@pytest.mark.parametrize(
    ("stated", "licences", "in_page"),
    [
        (("CC-BY-4.0", "CC-BY-4.0"), [{"name": "CC-BY-4.0", "title": "CC-BY-4.0"}], "CC-BY-4.0"),
        (("https://example.org/l", "https://example.org/l"), [{"path": "https://example.org/l"}], "example.org/l"),
        (("ask me (first)", "ask me (first)"), [{"name": "as-stated", "title": "ask me (first)"}], "ask me"),
        (("CC-BY-4.0", None), None, None),
        (("CC-BY-4.0", "CC0-1.0"), None, None),
        ((None, None), None, None),
    ],
)
def test_a_licence_is_that_of_all_trials_or_none(
    stated: tuple[str | None, str | None], licences: list[dict[str, str]] | None, in_page: str | None
) -> None:
    texts = packed(*(document(n, licence=licence) for n, licence in enumerate(stated)))
    assert json.loads(texts["datapackage.json"]).get("licenses") == licences
    told = data_of(texts["index.html"]).get("license")
    assert (told is None) if in_page is None else in_page in json.dumps(told)


def test_a_citation_is_told_where_it_is_stated() -> None:
    texts = packed(document(1, citation="Canteen group, 2026"), document(2))
    assert data_of(texts["index.html"])["citation"] == ["Canteen group, 2026"]
    assert "To be cited as: Canteen group, 2026" in texts["datapackage.json"]
    assert "citation" not in data_of(packed(document(1))["index.html"])
    assert "creator" not in data_of(texts["index.html"])


def test_words_do_not_end_the_data_block_nor_come_alive() -> None:
    texts = packed(document(1, site=HOSTILE, title=HOSTILE, citation=HOSTILE), document(2, site=HOSTILE))
    page = texts["index.html"]
    assert page.count("<script") == page.count("</script>") == 2
    assert data_of(page)["spatialCoverage"] == [{"@type": "Place", "name": " ".join(HOSTILE.split())}]
    assert "<script" not in texts["comparison.html"]
    assert "<script" not in texts["comparison.md"]


def test_the_policy_of_the_index_knows_its_script_by_its_sum() -> None:
    page = packed(document(1))["index.html"]
    script = re.search(r"<script>(.*?)</script>", page, flags=re.DOTALL)
    assert script
    digest = base64.b64encode(hashlib.sha256(script[1].encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in page


def test_the_index_is_complete_without_its_script() -> None:
    page = packed(document(1), document(2, outcome="aborted"), failed=(failed_entry("broken", "no title"),))[
        "index.html"
    ]
    assert '<a href="t0/report.html">' in page
    assert "aborted" in page
    assert "no title" in page
    assert page.index("no title") < page.index("<table")
    assert '<p class="find" hidden>' in page


def test_many_rows_are_light_and_laid_out_as_they_come_into_sight() -> None:
    entry = entry_of(document(1), "x")
    pages = [published(placed(entry, f"n{n}", f"{n}/report.html") for n in range(many)) for many in (2, 400)]
    assert ["content-visibility" in texts["index.html"] for texts in pages] == [False, True]
    small, large = (len(texts["index.html"]) for texts in pages)
    assert (large - small) / 398 < 1000


def test_what_is_kept_of_a_trial_is_small() -> None:
    entry = entry_of(document(1), "x")
    assert len(entry.table) < 8000
    assert not any(isinstance(getattr(entry, name), dict) for name in Entry.__slots__)


def test_the_table_of_all_figures_does_not_pass_through_memory(tmp_path: Path) -> None:
    publish(tmp_path, [failed_entry("warm", "")])  # what is loaded once is not counted
    lines = "x,y\n" * 25_000
    tracemalloc.start()
    publish(tmp_path, (Entry(f"t{n}", reason="no", table=f"{n}{lines}") for n in range(200)))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (tmp_path / "results.csv").stat().st_size > 20_000_000
    assert peak < 5_000_000
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_tables_are_english_whatever_the_pages_speak() -> None:
    english = packed(document(1), document(2))
    with speaking(load(Manner("fr"))):
        french = packed(document(1), document(2))
    assert {name for name in english if french[name] == english[name]} >= {
        "results.csv",
        "trials.csv",
        "data-dictionary.csv",
        "datapackage.json",
    }
    assert french["comparison.md"] != english["comparison.md"]


def test_a_folder_that_cannot_be_written_to_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        publish(tmp_path / "file" / "out", [failed_entry("x", "no")])
    assert caught.value.code == "output-not-written"
