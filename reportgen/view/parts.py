"""The parts of a report as finished text: what templates lay out, for HTML and Markdown alike."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen import beside
from reportgen.plan.page import Table


@dataclass(frozen=True)
class FigureView:
    """A figure as text: `value`, `uncertainty` and `interval` with their digits, and how it is known.

    One that is not given has a `reason` instead, and a `bound` where one side of it is known. Behind value and interval
    may stand what they are in other units, in brackets.
    """

    label: str
    unit: str
    basis: str
    basis_word: str
    value: str = ""
    uncertainty: str = ""
    interval: str = ""
    interval_remark: str = ""
    method: str = ""
    working: str = ""
    inputs: tuple[str, ...] = ()
    reason: str = ""
    bound: str = ""
    value_beside: str = ""
    interval_beside: str = ""

    @property
    def amount(self) -> str:
        """The value with its unit, and in other units where the reader has asked for them."""
        return beside.held_amounts(f"{self.value} {self.unit}".rstrip() + self.value_beside)

    @property
    def range(self) -> str:
        """The interval, and in other units where the reader has asked for them."""
        return beside.held_amounts(self.interval + self.interval_beside)

    @property
    def range_with_unit(self) -> str:
        """The interval with its unit, and in other units where the reader has asked for them."""
        return beside.held_amounts(f"{self.interval} {self.unit}".rstrip() + self.interval_beside)


@dataclass(frozen=True)
class GroupView:
    """The figures of one part of the report."""

    title: str
    given: tuple[FigureView, ...]


@dataclass(frozen=True)
class CauseView:
    """A reason, and the figures that are not given for it, with what is known of them."""

    reason: str
    figures: str


@dataclass(frozen=True)
class ClaimsView:
    """The claims of one grade: each a sentence and why it stands there."""

    grade: str
    title: str
    told: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class AdditionView:
    """A line or column to write down next time, and what for."""

    kind: str
    line: str
    use: str


@dataclass(frozen=True)
class ChartView:
    """A chart with its words, its picture as a data address, and its file name for Markdown."""

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


@dataclass(frozen=True)
class BudgetView:
    """What makes a figure uncertain: its sources with their shares as text and in percent, and what would help."""

    label: str
    parts: tuple[tuple[str, str, int], ...]
    remedy: str


@dataclass(frozen=True)
class ComparisonView:
    """A figure beside the same quantity of a reference run, as text."""

    label: str
    here: str
    reference: str
    remark: str


@dataclass(frozen=True)
class FindingView:
    """A finding as text."""

    level: str
    place: str
    message: str
    effect: str


@dataclass(frozen=True)
class SafetyView:
    """A safety note as text."""

    text: str
    reason: str
    rows: str


@dataclass(frozen=True)
class PhotoView:
    """A photo with its words, as a data address and as a file beside a Markdown report; sizes in px."""

    caption: str
    alt: str
    data_address: str
    file_name: str
    jpeg: bytes
    width: int
    height: int


@dataclass(frozen=True)
class MovedView:
    """A figure that an amendment moved, as text."""

    label: str
    before: str
    now: str


@dataclass(frozen=True)
class AmendmentView:
    """Which report is replaced and why, what moved, and what that report itself replaced, the latest first.

    `at_hand` is False where nobody has the earlier figures.
    """

    sentence: str
    reason: str
    at_hand: bool
    moved: tuple[MovedView, ...]
    earlier: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class FileView:
    """A file the report was made from."""

    file: str
    rows: int
    sha256: str


@dataclass(frozen=True)
class LogNoteView:
    """What somebody wrote in a row of a log: when ("" where no time can be read), where it stands, and the words."""

    time: str
    place: str
    text: str


@dataclass(frozen=True)
class LogNotesView:
    """The first notes in the logs, and how many there are beside them."""

    shown: tuple[LogNoteView, ...]
    more: int


@dataclass(frozen=True)
class HouseholdView:
    """What a day's gas could do in one household; `taken` names what the reckoning rests on, how much, and why."""

    lead: tuple[str, ...]
    tables: tuple[Table, ...]
    taken: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class ReportView:
    """A whole report, for HTML and Markdown alike."""

    title: str
    report_id: str
    summary: str
    facts: tuple[tuple[str, str], ...]
    setup: tuple[tuple[str, str], ...]
    steps: tuple[str, ...]
    means: tuple[tuple[str, str], ...]
    replication: tuple[tuple[str, str], ...]
    outcome: str
    top_warnings: tuple[SafetyView, ...]
    headline: tuple[str, ...]
    claims: tuple[ClaimsView, ...]
    additions: tuple[AdditionView, ...]
    key_figures: tuple[FigureView, ...]
    charts: tuple[ChartView, ...]
    how_to_read: tuple[tuple[str, str], ...]
    groups: tuple[GroupView, ...]
    causes: tuple[CauseView, ...]
    workings: tuple[FigureView, ...]
    assumptions: tuple[AssumptionView, ...]
    household: HouseholdView | None
    budgets: tuple[BudgetView, ...]
    reference: str
    comparisons: tuple[ComparisonView, ...]
    findings: tuple[FindingView, ...]
    completeness: str
    not_recorded: tuple[str, ...]
    not_recorded_further: tuple[str, ...]
    method: tuple[str, ...]
    noted: tuple[tuple[str, str], ...]
    notes: str
    log_notes: LogNotesView
    advice: str
    safety: tuple[SafetyView, ...]
    sources: tuple[tuple[str, str], ...]
    files: tuple[FileView, ...]
    licence: str
    citation: str
    contact: str
    amendments: str
    signed_by: str
    version: str
    issued: str
    photos: tuple[PhotoView, ...] = ()
    left_out: tuple[str, ...] = ()
    amendment: AmendmentView | None = None
