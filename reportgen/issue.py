"""What makes an issued report findable and traceable: its id, which report it replaces and why, and what moved."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import math
import os
import re
from collections.abc import Container, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportgen import __version__
from reportgen.catalogue import KINDS
from reportgen.errors import OutputError, ReportgenError
from reportgen.results_reader import RESULTS_NAME, parsed, recognised
from reportgen.trial import Trial
from reportgen.wish import Wish

#: Digits of the SHA-256 in an id: two reports of one trial share them once in 4 billion times (ours).
ID_DIGITS = 8
#: Id of a report of an anonymous edition.
_PUBLISHED = re.compile(rf"trial-[0-9a-f]{{8}}-[0-9a-f]{{{ID_DIGITS}}}")
#: Figures closer than this, relatively, did not move: beyond any reading, above differences of machines (ours).
SAME = 1e-6


@dataclass(frozen=True)
class State:
    """What a results file says of a figure; `value` is None where it is not given."""

    value: float | None
    interval: tuple[float, float] | None = None
    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True)
class Moved:
    """A figure, by its key, that is another than in the report that was replaced; None where that one lacked it."""

    key: str
    before: State | None
    now: State


@dataclass(frozen=True)
class Replaced:
    """A report that was replaced, and why."""

    id: str
    reason: str


@dataclass(frozen=True)
class Amendment:
    """Why a report was issued anew.

    Attributes
    ----------
    replaced : Replaced
    moved : tuple of Moved or None
        None where the earlier figures were not at hand.
    earlier : tuple of Replaced
        What the replaced report itself replaced, and so on; the latest first.
    """

    replaced: Replaced
    moved: tuple[Moved, ...] | None
    earlier: tuple[Replaced, ...] = ()


@dataclass(frozen=True)
class Issue:
    """How a report is issued: its id, the date given with it, its edition and what it amends."""

    id: str
    issued: dt.date | None = None
    anonymous: bool = False
    edition: str = ""
    amendment: Amendment | None = None


def report_id(trial: Trial, wish: Wish) -> str:
    """Return the id of a report: that of the trial and a sum over inputs, options and program.

    The same files, options and version of the program give the same id, and any others another one.
    """
    made_of = {
        "software": __version__,
        "inputs": [[source.file, source.sha256] for source in trial.inputs],
        "issued": None if wish.issued is None else wish.issued.isoformat(),
        "anonymous": wish.anonymous,
        "edition": wish.edition,
        "amends": None if wish.amends is None else list(wish.amends),
    }
    text = json.dumps(made_of, ensure_ascii=True, sort_keys=True)
    return f"{trial.sheet.id or trial.folder}-{hashlib.sha256(text.encode()).hexdigest()[:ID_DIGITS]}"


def issue_of(trial: Trial, wish: Wish, figures: Mapping[str, Any], standing: Path) -> Issue:
    """Return how a report is issued.

    Parameters
    ----------
    figures : mapping
        ``results`` of the results file that is about to be written.
    standing : Path
        The results file in the output folder, of an earlier report, if there is one.

    Raises
    ------
    OutputError
        If the report to be replaced is not the one whose results file is at hand, or that cannot be read.
    """
    own = report_id(trial, wish)
    amendment = None if wish.amends is None else _amendment(wish, wish.amends, own, figures, standing)
    return Issue(own, wish.issued, wish.anonymous, wish.edition, amendment)


def _amendment(wish: Wish, amends: tuple[str, str], own: str, figures: Mapping[str, Any], standing: Path) -> Amendment:
    replaced = Replaced(*amends)
    if wish.anonymous and not _PUBLISHED.fullmatch(replaced.id):
        raise OutputError(
            "amends-another-report",
            f'"{replaced.id}" is no id of an anonymous edition, and an anonymous edition replaces only another one.\n'
            "Give the id that stands at the head of the edition that was published.",
        )
    path = wish.amends_from or standing
    if wish.amends_from is None and not path.is_file():
        return Amendment(replaced, None)
    document = _document(path)
    report = _table(document, "report")
    found = report.get("id")
    if found is None and wish.amends_from is None:
        return Amendment(replaced, None)  # written before reports had an id: nobody knows which one it is
    if found == own:
        return read_amendment(report) or Amendment(replaced, None)  # the very report, written once more
    if found != replaced.id:
        named = "a report without an id" if found is None else f'report "{found}"'
        raise OutputError(
            "amends-another-report",
            f'{path}: this is the results file of {named}, not of "{replaced.id}".\n'
            "Give the id that stands at the head of the report to be replaced, or its results file with --amends-from.",
        )
    if bool(report.get("anonymous")) != wish.anonymous:
        raise OutputError(
            "amends-another-report",
            f"{path}: only one of the two reports is an anonymous edition.\n"
            "Replace the anonymous edition by an anonymous one, and a report with names by one with names.",
        )
    before = read_amendment(report)
    earlier = () if before is None else (before.replaced, *before.earlier)
    return Amendment(replaced, tuple(moved(_table(document, "results"), figures)), earlier)


def moved(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[Moved]:
    """Return the figures of two results files that differ, in the order of the catalogue."""
    found = []
    for key in KINDS:
        if key not in now:
            continue
        old, new = _state(before[key]) if key in before else None, _state(now[key])
        if not _alike(old or State(None), new):
            found.append(Moved(key, old, new))
    return found


def report_document(issue: Issue) -> dict[str, Any]:
    """Return what the results file says of the report."""
    amendment = issue.amendment
    return {
        "id": issue.id,
        "issued": None if issue.issued is None else issue.issued.isoformat(),
        "edition": issue.edition or None,
        "anonymous": issue.anonymous,
        "amends": None
        if amendment is None
        else {
            "id": amendment.replaced.id,
            "reason": amendment.replaced.reason,
            "moved": None
            if amendment.moved is None
            else [
                {
                    "key": change.key,
                    "unit": KINDS[change.key].unit,
                    "before": None if change.before is None else _state_document(change.before),
                    "now": _state_document(change.now),
                }
                for change in amendment.moved
            ],
            "earlier": [{"id": report.id, "reason": report.reason} for report in amendment.earlier],
        },
    }


def read_amendment(report: Mapping[str, Any]) -> Amendment | None:
    """Return what a results file says that its report amends; None where it amends none."""
    amends = _table(report, "amends")
    if not isinstance(amends.get("id"), str):
        return None
    changes = amends.get("moved")
    return Amendment(
        Replaced(amends["id"], str(amends.get("reason", ""))),
        None
        if not isinstance(changes, list)
        else tuple(
            Moved(
                change["key"],
                _state(change["before"]) if isinstance(change.get("before"), dict) else None,
                _state(_table(change, "now")),
            )
            for change in changes
            if isinstance(change, dict) and change.get("key") in KINDS
        ),
        tuple(
            Replaced(str(report["id"]), str(report.get("reason", "")))
            for report in amends.get("earlier") or []
            if isinstance(report, dict) and "id" in report
        ),
    )


def refuse_mixing(folder: Path, anonymous: bool, known: Container[Path] = ()) -> None:
    """Make sure that no report of the other kind, named or anonymous, stands at or below a folder to be written to.

    Names left beside an anonymous edition would be published with it. The folders `known` hold reports of this kind.

    Raises
    ------
    OutputError
        If one does.
    """
    for here, below, files in os.walk(folder):
        below.sort()
        if RESULTS_NAME not in files or Path(here) in known:
            continue
        path = Path(here) / RESULTS_NAME
        try:
            document = _document(path)
        except OutputError:
            continue  # no results file of ours
        if bool(_table(document, "report").get("anonymous")) != anonymous:
            kinds = ("a report with names", "an anonymous edition")
            raise OutputError(
                "other-edition-there",
                f"{path.parent}: {kinds[not anonymous]} stands there, and this is {kinds[anonymous]}.\n"
                "Give another folder with --out, so that what is published holds no names.",
            )


def _document(path: Path) -> Mapping[str, Any]:
    try:
        return recognised(parsed(path), str(path))
    except ReportgenError as error:
        raise OutputError(
            "amends-not-read",
            f"{str(error).splitlines()[0]}\n"
            "Name the results file of the report to be replaced with --amends-from, or write to another folder with "
            "--out.",
        ) from error


def _table(document: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = document.get(key)
    return found if isinstance(found, dict) else {}


def _state(figure: object) -> State:
    """Return what a figure of a results file says; whatever is no number counts as not given."""
    stated = figure if isinstance(figure, dict) else {}

    def number(key: str) -> float | None:
        found = stated.get(key)
        return float(found) if isinstance(found, int | float) and not isinstance(found, bool) else None

    ends = stated.get("interval_95")
    is_interval = isinstance(ends, list) and len(ends) == 2 and all(isinstance(end, int | float) for end in ends)
    interval = (float(ends[0]), float(ends[1])) if is_interval and ends is not None else None
    return State(number("value"), interval, number("at_least"), number("at_most"))


def _state_document(state: State) -> dict[str, Any]:
    stated = {
        "value": state.value,
        "interval_95": None if state.interval is None else list(state.interval),
        "at_least": state.at_least,
        "at_most": state.at_most,
    }
    return {key: value for key, value in stated.items() if value is not None or key == "value"}


def _alike(one: State, other: State) -> bool:
    pairs = [(one.value, other.value), (one.at_least, other.at_least), (one.at_most, other.at_most)]
    pairs += zip(one.interval or (None, None), other.interval or (None, None), strict=True)
    return all(
        (a is None) == (b is None) and (a is None or b is None or math.isclose(a, b, rel_tol=SAME)) for a, b in pairs
    )
