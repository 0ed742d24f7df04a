"""One trial: folder in, report out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from reportgen.anonymous import anonymised, without_names
from reportgen.batch.alone import Drawing
from reportgen.batch.order import WRITTEN, Order, Outcome
from reportgen.figures import compute
from reportgen.issue import RESULTS_NAME, issue_of, refuse_mixing, report_document
from reportgen.read.faults import one_line
from reportgen.read.folder import read_trial
from reportgen.render import render_html, render_markdown
from reportgen.results_file import results_document, to_json
from reportgen.speech import load, speaking
from reportgen.trial import Finding
from reportgen.view import EDITIONS, FUNDER, build_view, edition_values
from reportgen.write import ABANDONED, clear_parts, write_files


def report_trial(order: Order, drawing: Drawing) -> Outcome:
    """Write the report of one trial.

    Raises
    ------
    ReportgenError
        If the trial cannot be read or the report cannot be written.
    """
    outcome, contents = make_report(order, drawing=drawing)
    paths = write_files(outcome.out or order.out, contents)
    for place in {path.parent for path in paths}:
        clear_parts(place, older_than=ABANDONED)
    return outcome


def make_report(
    order: Order, *, is_alone: bool = True, drawing: Drawing | None = None
) -> tuple[Outcome, Mapping[str, bytes]]:
    """Return what becomes of a trial once its report is written, and that report: bytes by name. Nothing is written.

    Where it is not alone, whoever ordered it has seen to it that no report of the other kind stands there.

    Raises
    ------
    ReportgenError
        If the trial cannot be read.
    """
    with speaking(load(order.manner)):
        return _made(order, is_alone, drawing or Drawing())


def _made(order: Order, is_alone: bool, drawing: Drawing) -> tuple[Outcome, Mapping[str, bytes]]:
    if "pdf" in order.formats:
        from reportgen.pdf import find_browser, print_pdf

        find_browser()  # said before the work, not after it
    trial = read_trial(order.folder)
    if trial.sheet.photos:
        from reportgen.photos import with_photos

        trial = with_photos(trial, order.folder)
    wish = replace(order.wish, edition=order.edition)
    if wish.anonymous:
        if wish.amends is not None:
            wish = replace(wish, amends=(wish.amends[0], without_names(wish.amends[1], trial.sheet)))
        trial = anonymised(trial)
    out = order.out / trial.folder if order.below else order.out
    if is_alone:
        refuse_mixing(out, wish.anonymous)
    results = compute(trial)
    drawing.begin(trial, results)
    document = results_document(trial, results)
    issue = issue_of(trial, wish, document["results"], out / RESULTS_NAME)
    document["report"] = report_document(issue)
    view = build_view(trial, results, issue, drawing.charts)
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
        contents["report.txt"] = render_markdown("report.txt", **brief)
    if {"html", "pdf"}.intersection(order.formats):
        page = render_html(f"{layout}.html", **shown)
        contents |= {"report.html": page} if "html" in order.formats else {}
        contents |= {"report.pdf": print_pdf(page, issue.issued)} if "pdf" in order.formats else {}
    contents[RESULTS_NAME] = to_json(document)
    outcome = Outcome(
        folder=order.folder,
        status=WRITTEN,
        out=out,
        names=tuple(contents),
        errors=tuple(_line(finding) for finding in results.findings if finding.level == "error"),
        cautions=tuple(_line(finding) for finding in results.findings if finding.level == "caution"),
        warnings=tuple(str(note.text) for note in view.top_warnings),
    )
    return outcome, {name: _bytes(content) for name, content in contents.items()}


def _bytes(content: str | bytes) -> bytes:
    # The name of a file need not be text; what is not becomes question marks.
    return content.encode(errors="replace") if isinstance(content, str) else content


def _line(finding: Finding) -> str:
    """Return a finding as one line: level, place, what was seen."""
    row = f", row {finding.row}" if finding.row else ""
    place = f" {finding.file}{row}" if finding.file else ""
    return one_line(f"{finding.level}{place}: {finding.message}")
