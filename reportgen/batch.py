"""One trial or many: folder in, report out. A trial that cannot be reported holds no other back."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import quote

from reportgen.anonymous import anonymised, without_names
from reportgen.codes import CODES
from reportgen.errors import ReportgenError, TrialFileError
from reportgen.figures import compute
from reportgen.issue import RESULTS_NAME, Wish, issue_of, refuse_mixing, report_document
from reportgen.pdf import find_browser, print_pdf
from reportgen.photos import with_photos
from reportgen.publication import Entry, entry_of, failed_entry, pack, placed
from reportgen.read.faults import one_line
from reportgen.read.folder import read_trial
from reportgen.read.sheet import FILE_NAME
from reportgen.read.slips import why_no_trial
from reportgen.render import render_html, render_markdown
from reportgen.results_file import results_document, to_json
from reportgen.trial import Finding
from reportgen.view import EDITIONS, FULL, build_view, edition_values
from reportgen.write import write_files

FORMATS = ("html", "md")
#: A pool of workers pays from this many trials on: each worker takes a second to start.
FEWEST_FOR_POOL = 4
_AS_IT_IS = Wish()


@dataclass(frozen=True)
class Order:
    """A trial to be reported: its folder, where the report goes, and how.

    With `below` the report goes into a folder below `out` that is named as the trial is published.
    """

    folder: Path
    out: Path
    formats: tuple[str, ...] = FORMATS
    wish: Wish = _AS_IT_IS
    below: bool = False
    edition: str = FULL


@dataclass(frozen=True)
class Outcome:
    """What became of a trial.

    Attributes
    ----------
    status : str
        ``written`` or ``failed``.
    reason : str
        Why it failed.
    code : str
        Of the error by which it failed; "" where that is none of ours.
    out : Path or None
        Folder of the report.
    paths : tuple of Path
        Files written.
    entry : Entry or None
        What stands of it over all trials; None where it failed.
    errors, cautions : tuple of str
        Findings of these levels, a line each: ``caution log.csv, row 3: …``.
    """

    folder: Path
    status: str
    reason: str = ""
    paths: tuple[Path, ...] = ()
    entry: Entry | None = None
    errors: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    code: str = ""
    out: Path | None = None


def report_trial(order: Order) -> Outcome:
    """Write the report of one trial.

    Raises
    ------
    ReportgenError
        If the trial cannot be read or the report cannot be written.
    """
    if "pdf" in order.formats:
        find_browser()  # said before the work, not after it
    trial = with_photos(read_trial(order.folder), order.folder)
    wish = replace(order.wish, edition=order.edition)
    if wish.anonymous:
        if wish.amends is not None:
            wish = replace(wish, amends=(wish.amends[0], without_names(wish.amends[1], trial.sheet)))
        trial = anonymised(trial)
    out = order.out / trial.folder if order.below else order.out
    refuse_mixing(out, wish.anonymous)
    results = compute(trial)
    document = results_document(trial, results)
    issue = issue_of(trial, wish, document["results"], out / RESULTS_NAME)
    document["report"] = report_document(issue)
    view = build_view(trial, results, issue)
    shown, layout = edition_values(order.edition, view, trial, results), EDITIONS[order.edition]
    contents: dict[str, str | bytes] = {}
    if "md" in order.formats:
        text = render_markdown(f"{layout}.md", **shown)
        pictures: dict[str, str | bytes] = {chart.file_name: chart.svg for chart in view.charts}
        pictures |= {photo.file_name: photo.jpeg for photo in view.photos}
        # Not every edition shows all pictures.
        contents |= {name: picture for name, picture in pictures.items() if f"]({name})" in text}
        contents["report.md"] = text
    if {"html", "pdf"}.intersection(order.formats):
        page = render_html(f"{layout}.html", **shown)
        contents |= {"report.html": page} if "html" in order.formats else {}
        contents |= {"report.pdf": print_pdf(page, issue.issued)} if "pdf" in order.formats else {}
    contents[RESULTS_NAME] = to_json(document)
    paths = write_files(out, contents)
    return Outcome(
        folder=order.folder,
        status="written",
        out=out,
        paths=tuple(paths),
        entry=entry_of(document, trial.folder, warnings=[note.text for note in view.top_warnings]),
        errors=tuple(_line(finding) for finding in results.findings if finding.level == "error"),
        cautions=tuple(_line(finding) for finding in results.findings if finding.level == "caution"),
    )


def _line(finding: Finding) -> str:
    """Return a finding as one line: level, place, what was seen."""
    row = f", row {finding.row}" if finding.row else ""
    place = f" {finding.file}{row}" if finding.file else ""
    return one_line(f"{finding.level}{place}: {finding.message}")


def find_trials(folder: Path, out: Path) -> list[Path]:
    """Return the trial folders at or below `folder` at any depth, in order of their paths; `out` is left out.

    Raises
    ------
    TrialFileError
        If the folder is not there or holds no trial.
    """
    if not folder.is_dir():
        raise TrialFileError("no-such-folder", f"{folder}: there is no such folder.")
    found = sorted(here for here, names in _folders(folder, out) if FILE_NAME in names)
    if not found:
        error = f"{folder}: no trial folder is in it; a trial folder holds a {FILE_NAME}."
        passed = passed_over(folder, out)[:1]
        raise TrialFileError("no-trial", "\n".join([error, *(f"{here}: {reason}" for here, reason in passed)]))
    return found


def passed_over(folder: Path, out: Path) -> list[tuple[Path, str]]:
    """Return the folders at or below `folder` that look like trials and are none, each with what it lacks."""
    lacking = [here for here, names in _folders(folder, out) if FILE_NAME not in names]
    return [(here, reason) for here in sorted(lacking) if (reason := why_no_trial(here)) is not None]


def _folders(folder: Path, out: Path) -> Iterator[tuple[Path, list[str]]]:
    """Return the folders at or below `folder` but `out`, each with the names of its files."""
    skipped = out.resolve()
    for here, below, names in os.walk(folder):
        below[:] = sorted(
            name for name in below if not name.startswith(".") and (Path(here) / name).resolve() != skipped
        )
        yield Path(here), names


def report_batch(
    folder: Path,
    out: Path,
    *,
    formats: tuple[str, ...] = FORMATS,
    wish: Wish = _AS_IT_IS,
    edition: str = FULL,
    jobs: int | None = None,
    progress: Callable[[Outcome], object] = id,
) -> list[Outcome]:
    """Write the reports of all trials below a folder, and what stands over them: index, comparison, tables.

    Returns the outcomes in order of the folders, whatever `jobs` is.

    Raises
    ------
    ReportgenError
        If there is no trial below the folder, or the index cannot be written.
    """
    trials = find_trials(folder, out)
    refuse_mixing(out, wish.anonymous)
    orders = [
        Order(trial, out, formats, wish, below=True, edition=edition)
        if wish.anonymous
        else Order(trial, out / _place(trial, folder), formats, wish, edition=edition)
        for trial in trials
    ]
    jobs = jobs or os.cpu_count() or 1
    outcomes: dict[Path, Outcome] = {}
    for outcome in _run(orders, min(jobs, len(orders))):
        outcomes[outcome.folder] = outcome
        progress(outcome)
    ordered = [outcomes[order.folder] for order in orders]
    passed = [(_place(here, folder).as_posix(), reason) for here, reason in passed_over(folder, out)]
    write_files(out, _over_all(folder, out, orders, ordered, passed))
    return ordered


def _place(trial: Path, folder: Path) -> Path:
    below = trial.relative_to(folder)
    return below if below.parts else Path(trial.resolve().name)


def _run(orders: Sequence[Order], jobs: int) -> Iterator[Outcome]:
    if jobs < 2 or len(orders) < FEWEST_FOR_POOL:
        yield from map(_attempt, orders)
        return
    # Workers start afresh rather than by fork, which is unsafe beside the threads of numerical libraries.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(jobs, mp_context=context) as pool:
        yield from _collect(pool, orders)


def _collect(pool: Executor, orders: Sequence[Order]) -> Iterator[Outcome]:
    pending: dict[Future[Outcome], Order] = {pool.submit(_attempt, order): order for order in orders}
    try:
        for future in as_completed(pending):
            try:
                yield future.result()
            except BrokenProcessPool:
                yield Outcome(pending[future].folder, "failed", "the worker process died while reporting this trial")
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        raise


def _attempt(order: Order) -> Outcome:
    """Report a trial; whatever goes wrong with it is its own outcome and nobody else's."""
    try:
        return report_trial(order)
    except ReportgenError as error:
        return Outcome(order.folder, "failed", str(error), code=error.code)
    except Exception as error:  # one broken trial must not stop a season; the reason names what broke
        return Outcome(order.folder, "failed", f"unexpected {type(error).__name__}: {error}")


def _over_all(
    folder: Path, out: Path, orders: Sequence[Order], outcomes: Sequence[Outcome], passed: list[tuple[str, str]]
) -> dict[str, str]:
    """Return the texts over all trials; of an anonymous batch without names of folders and words of what failed."""
    is_anonymous = orders[0].wish.anonymous
    entries = []
    for n, (order, outcome) in enumerate(zip(orders, outcomes, strict=True), start=1):
        name = order.out.relative_to(out).as_posix()
        if outcome.entry is None:
            reason = CODES[outcome.code].meaning if outcome.code in CODES else ""
            entries.append(failed_entry(f"trial {n}", reason) if is_anonymous else failed_entry(name, outcome.reason))
        else:
            report = outcome.out or order.out
            entries.append(
                placed(outcome.entry, report.name if is_anonymous else name, _link(report, out, order.formats))
            )
    if is_anonymous:
        return pack(entries)[0]
    return pack(entries, folder=folder.resolve().name, passed_over=passed)[0]


def _link(report: Path, out: Path, formats: tuple[str, ...]) -> str:
    """Return the address of a report from the index: its page, else its print, else its text."""
    ending = next((ending for ending in ("html", "pdf", "md") if ending in formats), "html")
    return quote((report.relative_to(out) / f"report.{ending}").as_posix())
