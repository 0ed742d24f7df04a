"""One trial: folder in, report out; nothing is written."""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.batch.order import WRITTEN, Order, Outcome
from reportgen.batch.reckon import Reckoned, reckon
from reportgen.charts import Chart, build_charts
from reportgen.figures import Results
from reportgen.issue import issue_of, report_document
from reportgen.read.faults import one_line
from reportgen.render import render_html, render_markdown, render_text
from reportgen.results_file import results_document, to_json
from reportgen.results_reader import RESULTS_NAME
from reportgen.speech import load, speaking
from reportgen.trial import Finding, Trial
from reportgen.view import EDITIONS, FUNDER, Draw, build_view, edition_values


def make_report(order: Order, *, is_alone: bool = True) -> tuple[Outcome, Mapping[str, bytes]]:
    """Return what becomes of a trial once its report is written, and that report: bytes by name. Nothing is written.

    Where it is not alone, whoever ordered it has seen to it that no report of the other kind stands there.

    Raises
    ------
    ReportgenError
        If the trial cannot be read.
    """
    with speaking(load(order.manner)):
        return compose(order, reckon(order, is_alone=is_alone))


def compose(order: Order, reckoned: Reckoned, draw: Draw = build_charts) -> tuple[Outcome, Mapping[str, bytes]]:
    """Return what becomes of a trial and its report, in the language spoken; `draw` returns its charts."""
    trial, results = reckoned.trial, reckoned.results
    document = results_document(trial, results)
    issue = issue_of(trial, reckoned.wish, document["results"], reckoned.out / RESULTS_NAME)
    document["report"] = report_document(issue)
    view = build_view(trial, results, issue, draw if order.has_charts else _none)
    shown, layout = edition_values(order.edition, view, trial, results), EDITIONS[order.edition]
    contents: dict[str, str | bytes] = {}
    if "md" in order.formats:
        text = render_markdown(f"{layout}.md", **shown)
        pictures: dict[str, str | bytes] = {chart.file_name: chart.svg for chart in view.charts}
        pictures |= {photo.file_name: photo.jpeg for photo in view.photos}
        # Not every edition shows all pictures.
        contents |= {name: picture for name, picture in pictures.items() if f"]({name})" in text}
        contents["report.md"] = text
    if "text" in order.formats:
        brief = edition_values(FUNDER, view, trial, results)
        contents["report.txt"] = render_text("report.txt", **brief)
    if {"html", "pdf"}.intersection(order.formats):
        page = render_html(f"{layout}.html", **shown)
        contents |= {"report.html": page} if "html" in order.formats else {}
        if "pdf" in order.formats:
            from reportgen.pdf import print_pdf

            contents["report.pdf"] = print_pdf(page, issue.issued)
    contents[RESULTS_NAME] = to_json(document)
    outcome = Outcome(
        folder=order.folder,
        status=WRITTEN,
        out=reckoned.out,
        names=tuple(contents),
        errors=tuple(_line(finding) for finding in results.findings if finding.level == "error"),
        cautions=tuple(_line(finding) for finding in results.findings if finding.level == "caution"),
        warnings=tuple(str(note.text) for note in view.top_warnings),
    )
    return outcome, {name: _bytes(content) for name, content in contents.items()}


def _none(_trial: Trial, _results: Results) -> tuple[Chart, ...]:
    return ()


def _bytes(content: str | bytes) -> bytes:
    # The name of a file need not be text; what is not becomes question marks.
    return content.encode(errors="replace") if isinstance(content, str) else content


def _line(finding: Finding) -> str:
    """Return a finding as one line: level, place, what was seen."""
    row = f", row {finding.row}" if finding.row else ""
    place = f" {finding.file}{row}" if finding.file else ""
    return one_line(f"{finding.level}{place}: {finding.message}")
