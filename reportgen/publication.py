"""What stands over many trials, made of their results documents in order: index, comparison, tables, data package."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
import re
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Any

from markupsafe import Markup

from reportgen import __version__, rounding, wording
from reportgen.catalogue import KINDS
from reportgen.comparison import Comparison, TrialRow, compare, row_of
from reportgen.comparison.row import EVIDENCE
from reportgen.comparison.tables import outcome
from reportgen.comparison.view import page_of
from reportgen.data_package import (
    COMPARISON,
    COMPARISON_TEXT,
    CSV_COLUMNS,
    DICTIONARY,
    DICTIONARY_COLUMNS,
    FAILED,
    INDEX,
    PACKAGE,
    RESULTS,
    SCHEMA,
    TRIAL_COLUMNS,
    TRIALS,
    WRITTEN,
    dataset,
    package,
)
from reportgen.errors import OutputError
from reportgen.message import Message, say
from reportgen.render import render_html, render_markdown
from reportgen.resources import templates_folder
from reportgen.results_file import results_schema, to_json
from reportgen.speech import ENGLISH, speaking
from reportgen.trial import Finding
from reportgen.write import write_files


@dataclass(frozen=True, slots=True)
class Entry:
    """What is told of a trial: texts and few numbers. But its `table` all of it is kept, and is no burden by thousands.

    Attributes
    ----------
    name : str
        Under which the index lists it.
    row : TrialRow or None
        None for one that could not be reported, which has a `reason`.
    table : str
        Its lines of `results.csv`.
    figures : tuple of (str, str, str)
        Of the index: value, range and basis; of one that is not given what is known of it.
    marks : tuple of str
        What the index marks it with.
    """

    name: str
    row: TrialRow | None = None
    reason: str = ""
    table: str = ""
    figures: tuple[tuple[str, str, str], ...] = ()
    warnings: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()


def entry_of(document: Mapping[str, Any], name: str, link: str = "", warnings: Sequence[str] = ()) -> Entry:
    """Return what is kept of a results document; `link` is the address of its report, from the index."""
    levels = [finding.get("level") for finding in document.get("findings") or ()]
    counted = ((say("not used"), levels.count("error")), (say("cautions"), levels.count("caution")))
    with speaking(ENGLISH):
        table = _csv(_result_rows(document))
    return Entry(
        name=name,
        row=row_of(document, link),
        table=table,
        figures=tuple(_index_cell(document["results"].get(key) or {}, key) for key in wording.KEY_FIGURES),
        warnings=tuple(warnings),
        marks=tuple(str(say("{label}: {value}", label=label, value=n)) for label, n in counted if n),
    )


def placed(entry: Entry, name: str, link: str) -> Entry:
    """Return the entry of a reported trial under another name, with the address of its report."""
    return replace(entry, name=name, row=replace(entry.row, link=link)) if entry.row is not None else entry


def failed_entry(name: str, reason: str) -> Entry:
    """Return the entry of a trial that could not be reported."""
    return Entry(name=name, reason=reason)


@dataclass(frozen=True)
class Published:
    """What stands over trials: its files, and the comparison behind them."""

    paths: tuple[Path, ...]
    comparison: Comparison


def publish(
    out: Path,
    entries: Iterable[Entry],
    *,
    folder: str = "",
    passed_over: Sequence[tuple[str, str]] = (),
    findings: Sequence[Finding] = (),
) -> Published:
    """Write all that stands over trials into a folder.

    Entries are taken in their order, one at a time; equal entries give equal files. `findings` may grow meanwhile.

    Raises
    ------
    OutputError
        If something cannot be written.
    """
    with _Lines(out) as lines:
        kept = [lines.put(entry) for entry in entries]
        rows = [entry.row for entry in kept if entry.row is not None]
        failed = [(entry.name, entry.reason) for entry in kept if entry.row is None]
        comparison = compare(rows, failed, findings)
        used = {id(row) for row in comparison.rows}
        once = [number for number, entry in enumerate(kept) if entry.row is None or id(entry.row) in used]
        page = page_of(comparison)
        title = str(_title(folder))
        contents: dict[str, str | Iterable[bytes]] = {
            COMPARISON: render_html("comparison.html", page=page, title=title, version=__version__),
            COMPARISON_TEXT: render_markdown("comparison.md", page=page, title=title, version=__version__),
            **{chart.file_name: chart.svg for group in page.groups for chart in group.charts},
            INDEX: _index(kept, comparison, title, passed_over),
            RESULTS: lines.of(once),
        }
        with speaking(ENGLISH):  # as results files are, whatever the language of the pages
            contents |= {
                TRIALS: _csv([TRIAL_COLUMNS, *_trial_rows([kept[number] for number in once], comparison)]),
                DICTIONARY: _csv([DICTIONARY_COLUMNS, *_dictionary_rows()]),
                SCHEMA: json.dumps(results_schema(), indent=1, ensure_ascii=False) + "\n",
                PACKAGE: to_json(package(str(_title(folder)), comparison.rows)),
            }
        return Published(tuple(write_files(out, contents)), comparison)


class _Lines:
    """The lines of `results.csv`, put aside on the disk until all trials are known, and so whose lines count."""

    def __init__(self, out: Path) -> None:
        self._out, self._ends = out, [0]

    def __enter__(self) -> _Lines:
        try:
            self._out.mkdir(parents=True, exist_ok=True)
            self._file: IO[bytes] = tempfile.TemporaryFile(dir=self._out)
        except OSError as error:
            raise self._not_written(error) from error
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def put(self, entry: Entry) -> Entry:
        """Put the lines of a trial aside; return what else is told of it."""
        data = entry.table.encode(errors="replace")  # the name of a folder need not be text
        try:
            self._file.write(data)
        except OSError as error:
            raise self._not_written(error) from error
        self._ends.append(self._ends[-1] + len(data))
        return replace(entry, table="")

    def of(self, numbers: Iterable[int]) -> Iterator[bytes]:
        """Yield the table that holds the lines of these trials, by their numbers in order of putting aside."""
        yield _csv([CSV_COLUMNS]).encode()
        for number in numbers:
            self._file.seek(self._ends[number])
            yield self._file.read(self._ends[number + 1] - self._ends[number])

    def _not_written(self, error: OSError) -> OutputError:
        place = self._out / RESULTS
        return OutputError("output-not-written", f"{place}: cannot be written ({error.strerror or error}).")


def _csv(rows: Iterable[Sequence[Any]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows([harmless(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return text.getvalue()


def harmless(cell: str) -> str:
    """Return a text cell that no spreadsheet runs as a formula; numbers stay as they are."""
    cell = cell.replace("\r", " ")  # the writer leaves it bare, and what stands behind it would begin a row
    if cell[:1] in "=+-@\t\r\n" and cell and not re.fullmatch(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?", cell):
        return "'" + cell
    return cell


def _result_rows(document: Mapping[str, Any]) -> Iterator[Sequence[Any]]:
    facts = document["trial"]
    for key, figure in document["results"].items():
        yield (
            facts["id"],
            facts.get("site"),
            facts["started"],
            key,
            figure["value"],
            figure["unit"],
            figure.get("standard_uncertainty"),
            *figure.get("interval_95", (None, None)),
            figure["basis"],
        )


def _trial_rows(entries: Sequence[Entry], comparison: Comparison) -> Iterator[Sequence[Any]]:
    numbers = {id(row): n for n, group in enumerate(comparison.groups, start=1) for row in group.stratum.rows}
    for entry in entries:
        row = entry.row
        if row is None:
            yield (entry.name, "", "", "", "", FAILED, "", " ".join(entry.reason.split()), *[""] * 6)
            continue
        yield (
            row.id,
            row.title,
            row.site,
            row.series,
            row.started,
            WRITTEN,
            row.outcome,
            row.reason,
            str(numbers.get(id(row), "")),
            row.grade,
            ", ".join(str(EVIDENCE[key]) for key in row.lacking),
            row.licence,
            row.citation,
            row.link,
        )


def _dictionary_rows() -> Iterator[Sequence[str]]:
    for kind in KINDS.values():
        yield kind.key, str(kind.label), kind.unit, kind.meaning, str(wording.GROUPS[kind.group])


def _index_cell(figure: Mapping[str, Any], key: str) -> tuple[str, str, str]:
    """Return a figure for the index: value, range, basis; or what is known of one that is not given."""
    value = figure.get("value")
    if value is not None:
        shown, low, high = rounding.about(value, *figure["interval_95"])
        return shown, str(say("{low} to {high}", low=low, high=high)), str(figure["basis"])
    unit = wording.unit(KINDS[key].unit)
    for bound, said in (("at_least", say("more than {amount}")), ("at_most", say("at most {amount}"))):
        if figure.get(bound) is not None:
            amount = f"{rounding.plain(float(figure[bound]), 3)} {unit}".strip()
            return "", str(said.filled(amount=amount)), ""
    return "", str(say("not given")), ""


def _title(folder: str) -> Message:
    return say("Trials in {folder}", folder=folder) if folder else say("Trials")


def _index(entries: Sequence[Entry], comparison: Comparison, title: str, passed_over: Sequence[tuple[str, str]]) -> str:
    script = (templates_folder() / "index.js").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    with speaking(ENGLISH):  # for machines
        described = dataset(title, comparison.rows)
    return render_html(
        "index.html",
        title=title,
        columns=[(str(KINDS[key].label), wording.unit(KINDS[key].unit)) for key in wording.KEY_FIGURES],
        entries=[entry for entry in entries if entry.row is not None],
        outcome=outcome,
        failed=[(entry.name, entry.reason) for entry in entries if entry.row is None],
        passed_over=passed_over,
        script=Markup(script),
        script_source=Markup(f"; script-src 'sha256-{digest}'"),
        data=_as_data_block(described),
        version=__version__,
    )


def _as_data_block(document: Mapping[str, Any]) -> Markup:
    """Return JSON as it stands inside a script element that no browser runs: no sign in it ends the element."""
    text = json.dumps(document, ensure_ascii=False, indent=0)
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)
