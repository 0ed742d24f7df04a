"""From a trial and its results to everything a report shows, in words and finished numbers."""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import TypeAlias

from reportgen import __version__, checklist, claims, rounding, wording
from reportgen.advice import advice_section
from reportgen.anonymous import WITHHELD
from reportgen.catalogue import GROUPS, KINDS
from reportgen.charts import Chart, build_charts
from reportgen.figures import Results, error_sources
from reportgen.figures.budget import Budget
from reportgen.figures.reference import Comparison
from reportgen.issue import Issue
from reportgen.message import COMMA, listed, say, say_counted
from reportgen.safety import SafetyNote, needs_top_warning, safety_notes
from reportgen.sources import SOURCES
from reportgen.trial import Finding, Trial
from reportgen.view import facts, summary
from reportgen.view.figure_text import bound, figure_view, without_columns
from reportgen.view.issued import amendment_view, left_out, photo_views
from reportgen.view.parts import (
    AdditionView,
    AssumptionView,
    BudgetView,
    CauseView,
    ChartView,
    ClaimsView,
    ComparisonView,
    FileView,
    FindingView,
    GroupView,
    HouseholdView,
    ReportView,
    SafetyView,
)

#: Assumed uncertainties that make up less than this share of a variance are named together.
SLIGHT_SHARE = 0.01
#: Sources of error named in the budget of a figure, at most.
MOST_PARTS = 4
#: Labels of figures in a sentence, at most.
MOST_LABELS = 4
#: Returns the charts of a trial.
Draw: TypeAlias = Callable[[Trial, Results], tuple[Chart, ...]]


def build_view(trial: Trial, results: Results, issue: Issue | None = None, draw: Draw = build_charts) -> ReportView:
    """Return everything the report of a trial shows; without an issue it bears the id of the trial.

    `draw` returns the charts. It is called when all else is ready, since they may be drawn elsewhere meanwhile.
    """
    issue = issue or Issue(trial.sheet.id or trial.folder)
    notes = safety_notes(trial, results)
    top = [note for note in notes if note.severity == "stop"] if needs_top_warning(notes) else []
    items = checklist.completeness(trial)
    core, further = ([item for item in items if item.is_further == more] for more in (False, True))
    figures = {key: figure_view(key, figure) for key, figure in results.figures.items()}
    sheet = trial.sheet
    return ReportView(
        title=sheet.title,
        report_id=issue.id,
        facts=facts.facts(trial, issue.id),
        setup=facts.setup(trial),
        steps=facts.steps(trial),
        means=facts.means(trial),
        replication=facts.replication(trial),
        summary=summary.one_line(trial, results, tuple(notes)),
        outcome=_outcome(trial),
        top_warnings=tuple(map(_safety, top)),
        headline=tuple(map(str, wording.headline(trial, results))),
        claims=claims_view(trial, results),
        additions=tuple(map(_addition, checklist.additions(trial, results))),
        key_figures=tuple(figure_view(key, results[key], short=True) for key in wording.KEY_FIGURES),
        how_to_read=tuple((str(term), str(meaning)) for term, meaning in wording.HOW_TO_READ),
        groups=tuple(
            GroupView(str(wording.GROUPS[group]), given)
            for group in GROUPS
            if (given := tuple(view for key, view in figures.items() if KINDS[key].group == group and view.value))
        ),
        causes=tuple(_causes(results)),
        workings=tuple(view for view in figures.values() if view.working),
        assumptions=tuple(_assumptions(results)),
        household=_household(trial, results),
        budgets=tuple(map(_budget, results.budgets)),
        reference=_reference(trial),
        comparisons=tuple(map(_comparison, results.comparisons)),
        findings=tuple(map(_finding, results.findings)),
        completeness=str(
            say(
                "{present} of {all} items that a report must have are recorded, and {more} of {further} that make it "
                "fuller.",
                present=sum(item.recorded for item in core),
                all=len(core),
                more=sum(item.recorded for item in further),
                further=len(further),
            )
        ),
        not_recorded=_missing(core),
        not_recorded_further=_missing(further),
        method=tuple(map(str, wording.method(trial, results))),
        noted=facts.noted(trial),
        advice=facts.told(sheet.advice),
        notes=sheet.notes.strip(),
        log_notes=facts.log_notes(trial),
        safety=tuple(map(_safety, notes)),
        sources=tuple(
            (SOURCES[key].text, str(wording.KNOWN[SOURCES[key].known]))
            for key in dict.fromkeys(
                [*wording.sources_used(trial, results), *(key for note in notes for key in note.sources)]
            )
        ),
        files=tuple(FileView(source.file, source.rows, source.sha256) for source in trial.inputs),
        licence=sheet.licence,
        citation=facts.told(sheet.citation),
        contact=facts.told(sheet.contact),
        amendments=facts.told(sheet.amendments),
        signed_by=facts.told(sheet.signed_by),
        version=__version__,
        issued=issue.issued.isoformat() if issue.issued else "",
        photos=photo_views(trial),
        left_out=left_out(trial),
        amendment=amendment_view(issue.amendment),
        charts=tuple(map(_chart, draw(trial, results))),
    )


def _missing(items: list[checklist.Item]) -> tuple[str, ...]:
    return tuple(str(item.label) for item in items if not item.recorded)


def claims_view(trial: Trial, results: Results) -> tuple[ClaimsView, ...]:
    """Return the claims of a trial by their grade, the strongest first; a grade without a claim is left out."""
    found = claims.claims(trial, results)
    return tuple(
        ClaimsView(grade, str(wording.GRADES[grade]), told)
        for grade in claims.GRADES
        if (
            told := tuple(
                (str(claim.sentence), without_columns(str(claim.reason))) for claim in found if claim.grade == grade
            )
        )
    )


def _outcome(trial: Trial) -> str:
    if trial.sheet.outcome != "aborted":
        return ""
    if trial.sheet.reason == WITHHELD:
        return str(say("This trial was aborted; the reason is left out of this edition."))
    if trial.sheet.reason:
        return str(say("This trial was aborted: {reason}", reason=trial.sheet.reason))
    return str(say("This trial was aborted; the reason is not recorded."))


def _causes(results: Results) -> list[CauseView]:
    """Return each reason once with all figures that are not given for it, in the order of the catalogue."""
    causes: dict[str, list[tuple[str, str]]] = {}
    for key, figure in results.figures.items():
        if figure.is_given or KINDS[key].is_extra:
            continue
        side = bound(figure, wording.unit(KINDS[key].unit))
        label = say("{label} ({side})", label=KINDS[key].label, side=side) if side else KINDS[key].label
        reason = str(checklist.first_cause(figure))
        # Some reasons add in brackets where to record what is missing.
        causes.setdefault(reason.partition(" (")[0], []).append((reason, str(label)))
    return [
        CauseView(max((reason for reason, _ in found), key=len), str(listed(label for _, label in found)))
        for found in causes.values()
    ]


def _addition(addition: checklist.Addition) -> AdditionView:
    labels = _some(addition.gives or addition.firms)
    use = say("for: {labels}", labels=labels)
    if not addition.gives:
        use = say("in place of an assumption, for: {labels}", labels=labels)
    kind = say("column") if addition.is_column else say("trial.toml")
    return AdditionView(str(kind), addition.line, str(use))


def _some(keys: tuple[str, ...]) -> str:
    """Return the labels of the first few figures, and how many more there are."""
    some = str(listed(map(_inner, keys[:MOST_LABELS])))
    more = len(keys) - MOST_LABELS
    return str(say_counted(more, "{some}; and {n} more", "{some}; and {n} more", some=some)) if more > 0 else some


def _chart(chart: Chart) -> ChartView:
    encoded = base64.b64encode(chart.svg.encode()).decode()
    return ChartView(
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
            slight.append(str(error_sources.said(assumption.name)))
            continue
        if share is not None and effect.share_of is not None:
            percent = rounding.plain(100 * share, 2) if share >= SLIGHT_SHARE else say("less than 1")
            said = say(
                "makes up {percent} % of what is uncertain in: {label}", percent=percent, label=_inner(effect.share_of)
            )
        elif assumption.of_value:
            said = say("how far it may be wrong is not in the ranges")
        else:
            said = say("does not widen any range")
        views.append(
            AssumptionView(
                str(error_sources.said(assumption.name)),
                str(assumption.value),
                str(facts.told_within(assumption.why)),
                _some(effect.affects),
                str(said),
            )
        )
    if slight:
        views.append(
            AssumptionView(
                str(listed(slight)),
                str(say("limits of half of the last digit written, or the usual accuracy")),
                str(say("nothing is stated")),
                "",
                str(say("each makes up less than 1 % of what is uncertain")),
            )
        )
    return views


def _inner(key: str) -> str:
    """Return a label as it stands inside a sentence."""
    label = str(KINDS[key].label)
    # An abbreviation stays as it is.
    return label if label[1:2].isupper() else label[:1].lower() + label[1:]


def _household(trial: Trial, results: Results) -> HouseholdView | None:
    page = advice_section(trial, results)
    if page is None:
        return None
    taken = tuple((what, value, why) for what, value, why, _ in page.rests_on)
    return HouseholdView(page.lead, page.tables, taken)


def _budget(budget: Budget) -> BudgetView:
    shown = [part for part in budget.contributions if part.share >= SLIGHT_SHARE][:MOST_PARTS]
    parts = tuple(
        (str(error_sources.said(part.source)), f"{rounding.plain(100 * part.share, 2)} %", round(100 * part.share))
        for part in shown
    )
    remedy = ""
    if budget.remedy is not None and budget.relative is not None and budget.halved is not None:
        remedy = str(
            say(
                "{remedy}: half that error would bring it from ±{now} % to ±{then} %",
                remedy=budget.remedy,
                now=rounding.plain(100 * budget.relative, 2),
                then=rounding.plain(100 * budget.halved, 2),
            )
        )
    return BudgetView(str(KINDS[budget.key].label), parts, remedy)


def _reference(trial: Trial) -> str:
    stated = trial.sheet.reference
    if stated is None:
        return ""
    source = say("not named") if not stated.heat_source else facts.told(stated.heat_source)
    place = say(" ({place})", place=facts.told(stated.source)) if stated.source else ""
    return str(
        say("The reference run of the same appliance was heated by: {source}{place}.", source=source, place=place)
    )


def _comparison(comparison: Comparison) -> ComparisonView:
    kind = KINDS[comparison.key]
    unit = wording.unit(kind.unit)
    here, there = (
        say(
            "{value} ± {spread} {unit}",
            value=rounding.with_uncertainty(value, spread),
            spread=rounding.with_uncertainty(spread, spread),
            unit=unit,
        )
        for value, spread in (
            (comparison.here.value, comparison.here.standard_uncertainty),
            (comparison.reference.value, comparison.reference.standard_uncertainty),
        )
    )
    remark = (
        say("differ by more than two standard uncertainties")
        if comparison.differs
        else say("agree within two standard uncertainties")
    )
    return ComparisonView(str(kind.label), str(here), str(there), str(remark))


def _finding(finding: Finding) -> FindingView:
    place = finding.file or ""
    if finding.file and finding.row:
        place = str(say("{file}, row {row}", file=finding.file, row=finding.row))
    effect = "" if finding.effect is None else str(finding.effect)
    return FindingView(str(wording.LEVELS[finding.level]), place, str(finding.message), effect)


def _safety(note: SafetyNote) -> SafetyView:
    return SafetyView(str(note.text), "" if note.reason is None else str(note.reason), str(listed(note.rows, COMMA)))
