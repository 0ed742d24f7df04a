"""Results files of anybody in, a comparison out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from reportgen.publication import Entry, entry_of, failed_entry, publish
from reportgen.results_reader import RESULTS_NAME, read_results, results_files
from reportgen.trial import Finding


@dataclass(frozen=True)
class ReadFile:
    """A file that was asked for; `reason` says why it is not in the comparison."""

    path: Path
    reason: str = ""


@dataclass(frozen=True)
class Done:
    """What was written, what became of each file, and what was found, a line each."""

    paths: tuple[Path, ...]
    files: tuple[ReadFile, ...]
    findings: tuple[str, ...]


def _name(path: Path) -> str:
    """Return what a file is called: its folder where it bears the name that all of them bear, else itself."""
    return path.parent.name if path.name == RESULTS_NAME else path.stem


def compare_files(results: Sequence[Path], out: Path) -> Done:
    """Write the comparison of results files into a folder.

    Raises
    ------
    ReportgenError
        If there is no results file, or the comparison cannot be written.
    """
    files: list[ReadFile] = []
    findings: list[Finding] = []

    def entries() -> Iterator[Entry]:
        # One document at a time: what is kept of each is small.
        for read in read_results(results_files(results)):
            files.append(ReadFile(read.path, "" if read.error is None else str(read.error)))
            findings.extend(read.findings)
            if read.document is None:
                yield failed_entry(read.path.as_posix(), str(read.error))
            else:
                yield entry_of(read.document, _name(read.path))

    published = publish(out, entries(), findings=findings)
    return Done(
        tuple(path for path in published.paths if path.suffix != ".svg"),
        tuple(files),
        tuple(
            f"{finding.level} {finding.file}: {finding.message}"
            if finding.file
            else f"{finding.level}: {finding.message}"
            for finding in published.comparison.findings
        ),
    )
