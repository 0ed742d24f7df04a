"""The editions of a report: which template lays each out, and what it shows beside the view that all share."""

from __future__ import annotations

from reportgen.figures import Results
from reportgen.trial import Trial
from reportgen.view.funder import build_funder
from reportgen.view.lesson import build_lesson
from reportgen.view.parts import ReportView

FULL, FUNDER, CLASS = "full", "funder", "class"
#: By edition: the name of its templates, without the ending of the format.
EDITIONS = {FULL: "report", FUNDER: "funder", CLASS: "class"}


def edition_values(edition: str, view: ReportView, trial: Trial, results: Results) -> dict[str, object]:
    """Return what the templates of an edition lay out, by name."""
    values: dict[str, object] = {"view": view}
    if edition == FUNDER:
        values["funder"] = build_funder(view, trial, results)
    elif edition == CLASS:
        values["lesson"] = build_lesson(trial, results)
    return values
