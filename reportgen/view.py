"""What a report shows, finished: every sentence, number and picture as text. Templates only lay it out."""

from __future__ import annotations

import base64
import datetime as dt
from dataclasses import dataclass

from reportgen import __version__, checklist, rounding, wording
from reportgen.catalogue import GROUPS, KINDS
from reportgen.charts import Chart, build_charts
from reportgen.figures import Figure, Results
from reportgen.message import Message, say
from reportgen.safety import SafetyNote, needs_top_warning, safety_notes
from reportgen.sources import SOURCES
from reportgen.trial import Finding, Trial

#: Assumed uncertainties that make up less than this share of a variance are named together.
SLIGHT_SHARE = 0.01


@dataclass(frozen=True)
class FigureView:
    """A figure as text: `value`, `uncertainty` and `interval` with their digits, and how it is known."""

    key: str
    label: str
    value: str
    uncertainty: str
    interval: str
    interval_kind: str
    unit: str
    basis: str
    basis_word: str
    method: str
    working: str
    inputs: tuple[str, ...]
    reason: str
    bound: str


@dataclass(frozen=True)
class GroupView:
    """The figures of one part of the report."""

    title: str
    given: tuple[FigureView, ...]
    missing: tuple[FigureView, ...]


@dataclass(frozen=True)
class ChartView:
    """A chart with its words, its picture as a data address, and its file name for Markdown."""

    name: str
    title: str
    alt: str
    data_address: str
    file_name: str
    svg: str
    table: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class AssumptionView:
    """An assumption as text; `effect` says what it does to the headline."""

    name: str
    value: str
    why: str
    affects: str
    effect: str
    of_value: bool


@dataclass(frozen=True)
class FindingView:
    """A finding as text."""

    level: str
    level_word: str
    code: str
    place: str
    message: str
    effect: str


@dataclass(frozen=True)
class SafetyView:
    """A safety note as text."""

    severity: str
    text: str
    reason: str
    rows: str


@dataclass(frozen=True)
class FileView:
    """A file the report was made from."""

    file: str
    rows: int
    sha256: str


@dataclass(frozen=True)
class ReportView:
    """A whole report, for HTML and Markdown alike."""

    title: str
    report_id: str
    facts: tuple[tuple[str, str], ...]
    outcome: str
    top_warnings: tuple[SafetyView, ...]
    headline: tuple[str, ...]
    not_shown: tuple[str, ...]
    key_figures: tuple[FigureView, ...]
    charts: tuple[ChartView, ...]
    groups: tuple[GroupView, ...]
    workings: tuple[FigureView, ...]
    assumptions: tuple[AssumptionView, ...]
    findings: tuple[FindingView, ...]
    completeness: str
    not_recorded: tuple[str, ...]
    method: tuple[str, ...]
    deviations: tuple[str, ...]
    notes: str
    safety: tuple[SafetyView, ...]
    sources: tuple[tuple[str, str], ...]
    files: tuple[FileView, ...]
    version: str
    issued: str


def build_view(trial: Trial, results: Results, issued: dt.date | None = None) -> ReportView:
    """Return everything the report of a trial shows."""
    notes = safety_notes(trial, results)
    top = [note for note in notes if note.severity == "stop"] if needs_top_warning(notes) else []
    items = checklist.completeness(trial)
    missing = [item for item in items if not item.recorded]
    figures = {key: _figure(key, figure) for key, figure in results.figures.items()}
    sheet = trial.sheet
    return ReportView(
        title=sheet.title,
        report_id=sheet.id or trial.folder,
        facts=tuple(_facts(trial)),
        outcome=_outcome(trial),
        top_warnings=tuple(map(_safety, top)),
        headline=tuple(map(str, wording.headline(results))),
        not_shown=tuple(map(str, wording.not_shown(trial, results))),
        key_figures=tuple(figures[key] for key in wording.KEY_FIGURES),
        charts=tuple(map(_chart, build_charts(trial, results))),
        groups=tuple(
            GroupView(
                str(wording.GROUPS[group]),
                tuple(view for key, view in figures.items() if KINDS[key].group == group and view.value),
                tuple(view for key, view in figures.items() if KINDS[key].group == group and not view.value),
            )
            for group in GROUPS
        ),
        workings=tuple(view for view in figures.values() if view.working),
        assumptions=tuple(_assumptions(results)),
        findings=tuple(map(_finding, results.findings)),
        completeness=str(
            say(
                "{present} of {all} items that a reader of a report looks for are recorded.",
                present=len(items) - len(missing),
                all=len(items),
            )
        ),
        not_recorded=tuple(str(item.label) for item in missing),
        method=tuple(map(str, wording.method(trial, results))),
        deviations=tuple(text for text in (sheet.reason, sheet.incidents) if text),
        notes=sheet.notes.strip(),
        safety=tuple(map(_safety, notes)),
        sources=tuple(
            (SOURCES[key].text, SOURCES[key].known)
            for key in dict.fromkeys(
                [*wording.sources_used(trial, results), *(key for note in notes for key in note.sources)]
            )
        ),
        files=tuple(FileView(source.file, source.rows, source.sha256) for source in trial.inputs),
        version=__version__,
        issued=issued.isoformat() if issued else "",
    )


def _facts(trial: Trial) -> list[tuple[str, str]]:
    sheet = trial.sheet
    facts: list[tuple[Message, str]] = [
        (say("Report"), sheet.id or trial.folder),
        (say("Site"), sheet.site),
        (say("Region"), sheet.region),
        (say("Date"), _when(trial)),
        (say("Operator"), sheet.operator),
        (say("Series"), sheet.series),
        (say("Appliance"), sheet.cabinet.appliance),
        (say("Burner"), sheet.burner.description),
        (say("Thermometer in the cabinet"), sheet.cabinet.probe_position),
        (say("How solid was judged"), sheet.water.end_point),
    ]
    return [(str(label), value) for label, value in facts if value]


def _when(trial: Trial) -> str:
    if trial.lit_at is None:
        return ""
    zone = trial.sheet.time_zone or "UTC"
    lit = dt.datetime.fromtimestamp(trial.lit_at, trial.zone)
    out = dt.datetime.fromtimestamp(trial.out_at, trial.zone) if trial.out_at is not None else None
    day = lit.strftime("%Y-%m-%d, ") if trial.dated else ""
    if out is None:
        return f"{day}{lit:%H:%M} ({zone})"
    until = f"{out:%H:%M}" if out.date() == lit.date() or not trial.dated else f"{out:%Y-%m-%d, %H:%M}"
    return str(say("{day}burner lit {lit}, out {out} ({zone})", day=day, lit=f"{lit:%H:%M}", out=until, zone=zone))


def _outcome(trial: Trial) -> str:
    if trial.sheet.outcome != "aborted":
        return ""
    if trial.sheet.reason:
        return str(say("This trial was aborted: {reason}", reason=trial.sheet.reason))
    return str(say("This trial was aborted; the reason is not recorded."))


def _figure(key: str, figure: Figure) -> FigureView:
    kind = KINDS[key]
    unit = wording.unit(kind.unit)
    if not figure.is_given:
        return FigureView(
            key,
            kind.label,
            "",
            "",
            "",
            "",
            unit,
            figure.basis,
            str(wording.BASIS[figure.basis]),
            "",
            "",
            figure.inputs,
            str(figure.reason),
            _bound(figure, unit),
        )
    assert figure.interval is not None
    low, high = rounding.interval(*figure.interval)
    spread = figure.standard_uncertainty
    difference = wording.DIFFERENCE_UNITS.get(kind.unit, unit)
    return FigureView(
        key=key,
        label=kind.label,
        value=rounding.with_uncertainty(figure.value, spread),
        uncertainty=f"{rounding.with_uncertainty(spread, spread)} {difference}".strip() if spread > 0 else "",
        interval=str(say("{low} to {high}", low=low, high=high)),
        interval_kind=str(wording.INTERVAL_KINDS[figure.interval_kind]),
        unit=unit,
        basis=figure.basis,
        basis_word=str(wording.BASIS[figure.basis]),
        method=figure.method or "",
        working=str(figure.working) if figure.working else "",
        inputs=figure.inputs,
        reason="",
        bound="",
    )


def _bound(figure: Figure, unit: str) -> str:
    if figure.at_least is not None:
        return str(say("more than {value} {unit}", value=figure.at_least, unit=unit))
    if figure.at_most is not None:
        return str(say("at most {value} {unit}", value=figure.at_most, unit=unit))
    return ""


def _chart(chart: Chart) -> ChartView:
    encoded = base64.b64encode(chart.svg.encode()).decode()
    return ChartView(
        chart.name,
        str(chart.title),
        str(chart.alt),
        f"data:image/svg+xml;base64,{encoded}",
        f"charts/{chart.name}.svg",
        chart.svg,
        chart.table,
    )


def _assumptions(results: Results) -> list[AssumptionView]:
    """Return the assumptions as rows; those of an uncertainty that hardly matters share the last row."""
    views, slight = [], []
    for effect in results.assumptions:
        share, assumption = effect.share_of_variance, effect.assumption
        if share is not None and share < SLIGHT_SHARE and not assumption.of_value:
            slight.append(assumption.name)
            continue
        if share is not None and effect.share_of is not None:
            percent = rounding.plain(100 * share, 2) if share >= SLIGHT_SHARE else say("less than 1")
            said = say("{percent} % of the variance of: {label}", percent=percent, label=_inner(effect.share_of))
        elif assumption.of_value:
            said = say("how far it may be wrong is not in the ranges")
        else:
            said = say("none on the ranges")
        affects = "; ".join(_inner(key) for key in effect.affects[:4])
        more = len(effect.affects) - 4
        affects = str(say("{some}; and {more} more", some=affects, more=more)) if more > 0 else affects
        views.append(
            AssumptionView(
                assumption.name, str(assumption.value), str(assumption.why), affects, str(said), assumption.of_value
            )
        )
    if slight:
        views.append(
            AssumptionView(
                "; ".join(slight),
                str(say("limits of half of the last digit written, or the usual accuracy")),
                str(say("nothing is stated")),
                "",
                str(say("less than 1 % each")),
                False,
            )
        )
    return views


def _inner(key: str) -> str:
    """Return a label as it stands inside a sentence."""
    label = KINDS[key].label
    return label[0].lower() + label[1:]


def _finding(finding: Finding) -> FindingView:
    place = finding.file or ""
    if finding.file and finding.row:
        place = str(say("{file}, row {row}", file=finding.file, row=finding.row))
    effect = "" if finding.effect is None else str(finding.effect)
    return FindingView(
        finding.level, str(wording.LEVELS[finding.level]), finding.code, place, str(finding.message), effect
    )


def _safety(note: SafetyNote) -> SafetyView:
    return SafetyView(
        note.severity, str(note.text), "" if note.reason is None else str(note.reason), ", ".join(note.rows)
    )
