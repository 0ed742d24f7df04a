"""A comparison as finished text: what its templates lay out, for HTML and Markdown alike."""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.comparison import tables
from reportgen.comparison.compare import Comparison, Group, by_set_up
from reportgen.comparison.row import EVIDENCE, QUANTITIES
from reportgen.comparison.strata import NOT_RECORDED, Stratum, differences
from reportgen.comparison.tables import NONE, Table, heads
from reportgen.message import COMMA, Message, listed, say, say_counted
from reportgen.set_up import plain
from reportgen.view.parts import ChartView

#: Groups whose points are drawn; the tables hold all (ours).
MOST_DRAWN = 12
#: Groups that a trial like no other is held against (ours).
MOST_HELD_AGAINST = 5
#: Other single trials that it is held against where there is no group (ours).
MOST_SINGLES = 50
#: Quantities that are drawn: the first that is given of each.
DRAWN = (("energy_per_standard_ice", "gas_per_standard_ice", "gas_per_hour"), ("ice_making_time",))

METHOD = (
    say(
        "Trials are compared only where they are alike: start of the cabinet, mean ambient (3 K either way), mass of "
        "water (25 % either way), thickness, place of the probe, rule for solid, thermostat, and whether the methane "
        "was measured. Texts count as alike where their words are the same, whatever the capitals, marks and spaces: "
        "who means the same rule should write it in the same words. Between groups nothing is subtracted or ranked."
    ),
    say(
        "Words of the set-up are left out of an anonymous trial. In them it is like those that bear the same sign, "
        "which is made of these words and the region (the site, where no region is stated) and tells neither. So "
        "trials of different regions are not compared, and neither are named ones with anonymous ones."
    ),
    say(
        "A repeat is a trial at the same site in the same series. Many readings of one trial are one trial. Intervals "
        "are 95 %, by Student's t, from three repeats on. What all repeats share, such as one assumed methane value or "
        "one scale, is added as it is and not divided by the root of their number (degrees of freedom by Welch and "
        "Satterthwaite)."
    ),
    say(
        "The range for the next trial is Student's prediction interval for one more trial there, as the same "
        "instruments would show it."
    ),
    say(
        "Sites are set beside each other from three on, each as one mean: spread between sites by Paule and Mandel, "
        "interval by Knapp and Hartung in its modified form, a new site by Higgins, Thompson and Spiegelhalter. One "
        "spread within sites is taken for all."
    ),
    say(
        "Times that were not reached are kept as limits: the median is that of the estimate of largest likelihood for "
        "times between limits (Turnbull). Aborted trials count there with the time they took, and in no mean; that "
        "takes it that they were not aborted because the ice was late."
    ),
    say(
        "A trial is marked as odd where its modified z-score among five or more repeats is above 3.5; the mean is "
        "given with and without it. None is left out for that."
    ),
    say(
        "Evidence is graded by what was recorded and never by how a result looks. A: all of {all}. B: one or two "
        "of them lacking. C: more. D: no log of gas, ambient and readings.",
        all=listed(EVIDENCE.values(), COMMA),
    ),
    say(
        "Made alike are gas (dry, 0 °C, 101.325 kPa) and ice: standard ice is made at 0 °C of water at 25 °C. Not made "
        "alike are ambient temperature, mass of water in ice-making times, and thickness, since one trial cannot tell "
        "how an appliance answers to them."
    ),
)


@dataclass(frozen=True)
class GroupView:
    """A group of alike trials as text."""

    title: str
    anchor: str
    summary: str
    conditions: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    charts: tuple[ChartView, ...]
    tables: tuple[Table, ...]


@dataclass(frozen=True)
class ComparisonPage:
    """A comparison as text: sentences, who is in it, the groups, the trials that are in none, and how it was done."""

    lead: tuple[str, ...]
    warnings: tuple[str, ...]
    census: Table
    not_counted: Table
    groups: tuple[GroupView, ...]
    alone: tuple[Table, ...]
    apart: Table
    unplaced: tuple[Table, ...]
    lacking: Table
    findings: tuple[str, ...]
    method: tuple[str, ...]


def page_of(comparison: Comparison) -> ComparisonPage:
    """Return the comparison as text."""
    return ComparisonPage(
        lead=tuple(map(str, _lead(comparison))),
        warnings=tuple(map(str, _warnings(comparison))),
        census=_census(comparison),
        not_counted=_not_counted(comparison),
        groups=tuple(_group(n, group) for n, group in enumerate(comparison.groups, start=1)),
        alone=tables.trials([stratum.rows[0] for stratum in comparison.alone]),
        apart=_what_sets_apart(comparison),
        unplaced=tables.trials([row for row, _ in comparison.unplaced]),
        lacking=tables.remarks(
            [row for row, _ in comparison.unplaced],
            say("Not recorded"),
            [str(listed(lacking)) for _, lacking in comparison.unplaced],
        ),
        findings=tuple(
            str(say("{file}: {what}", file=finding.file, what=finding.message) if finding.file else finding.message)
            for finding in comparison.findings
        ),
        method=tuple(map(str, METHOD)),
    )


def _lead(comparison: Comparison) -> list[Message]:
    rows, groups = comparison.rows, comparison.groups
    sites = len({plain(row.site) for row in rows if row.site})
    total = len(rows) + len(comparison.failed)
    told = [
        say(
            "{trials} {sites}",
            trials=say_counted(total, "One trial", "{n} trials"),
            sites=_places(sites, any(row.is_anonymous for row in rows)),
        )
    ]
    if not groups:
        return [*told, say("No two of them are alike enough to be taken together; they stand side by side below.")]
    together = sum(len(group.stratum.rows) for group in groups)
    others = len(comparison.alone) + len(comparison.unplaced)
    named = say_counted(len(groups), "one group", "{n} groups")
    return [
        *told,
        say("All are in {groups}: alike in all that changes a figure without being the figure.", groups=named)
        if together == total
        else say(
            "{together} of them are in {groups}: alike in all that changes a figure without being the figure.",
            together=together,
            groups=named,
        ),
        *([say_counted(others, "One other stands by itself.", "{n} others stand by themselves.")] if others else []),
    ]


def _places(sites: int, are_regions: bool) -> Message:
    if not sites:
        return say("without a stated site.")
    if are_regions:  # which of an anonymous edition stand for one site, nobody can tell
        return say_counted(sites, "in one region.", "in {n} regions.")
    return say_counted(sites, "at one site.", "at {n} sites.")


def _warnings(comparison: Comparison) -> list[Message]:
    told = []
    aborted = sum(row.is_aborted for row in comparison.rows)
    unstated = sum(not row.outcome for row in comparison.rows)
    if not aborted and not comparison.failed and len(comparison.rows) > 1:
        told.append(
            say(
                "No trial here is aborted or failed. If trials that went wrong were left out, these figures look "
                "better than the work is."
            )
        )
    if unstated:
        told.append(
            say_counted(
                unstated,
                "Of one trial it is not stated whether it was completed.",
                "Of {n} trials it is not stated whether they were completed.",
            )
        )
    return told


def _census(comparison: Comparison) -> Table:
    """Return how many trials came out how, by site and series."""
    header = heads(say("Site"), say("Series"), say("Completed"), say("Aborted"), say("Outcome not stated"), say("All"))
    rows = []
    for part in by_set_up(comparison.rows):
        counts = Counter(row.outcome or "not stated" for row in part)
        outcomes = (str(counts[key]) for key in ("completed", "aborted", "not stated"))
        rows.append((part[0].place, part[0].series or NONE, *outcomes, str(len(part))))
    unread = (
        [(str(say("could not be read")), NONE, "0", "0", "0", str(len(comparison.failed)))] if comparison.failed else []
    )
    return Table("", header, (*rows[: tables.MOST_ROWS], *unread))


def _not_counted(comparison: Comparison) -> Table:
    """Return the trials that are in no mean, each with its reason."""
    header = heads(say("Trial"), say("Site"), say("Why it is in no mean"), say("Reason given"))
    aborted = [
        (row.name, row.place, str(say("aborted")), row.reason or str(say("not told")))
        for row in comparison.rows
        if row.is_aborted
    ]
    failed = [(name, NONE, str(say("could not be read")), reason) for name, reason in comparison.failed]
    return Table("", header, (*aborted, *failed))


def _group(n: int, group: Group) -> GroupView:
    stratum = group.stratum
    made = [*tables.trials(stratum.rows), tables.statistics(group), tables.times(group), tables.sites(group)]
    return GroupView(
        title=str(say("Group {n}", n=n)),
        anchor=f"group-{n}",
        summary=str(
            say(
                "{trials} {sites}",
                trials=say_counted(len(stratum.rows), "{n} trial", "{n} trials"),
                sites=_places(group.site_count, group.is_anonymous),
            )
        ),
        conditions=tuple((str(label), str(value)) for label, value in stratum.conditions),
        remarks=tuple(map(str, _remarks(group))),
        charts=_charts(n, group) if n <= MOST_DRAWN else (),
        tables=tuple(table for table in made if table.rows),
    )


def _remarks(group: Group) -> list[Message]:
    rows, told = group.stratum.rows, []
    unknown = [str(label) for label, value in group.stratum.conditions if value is NOT_RECORDED]
    if unknown:
        told.append(
            say("Not recorded of any of them, so that they may differ in it: {what}.", what=listed(unknown, COMMA))
        )
    burners = {plain(row.burner) for row in rows if row.burner}
    if len(burners) > 1:
        told.append(
            say("The burner is described in {n} ways; see whether it was changed between trials.", n=len(burners))
        )
    grades = Counter(row.grade or "?" for row in rows)
    told.append(
        say(
            "Evidence: {grades}.",
            grades=listed((f"{count} × {grade}" for grade, count in sorted(grades.items())), COMMA),
        )
    )
    if group.is_anonymous:
        told.append(say("Which of them are of one site is left out, so that sites are not set beside each other."))
    elif group.site_count in (1, 2):
        told.append(say("Fewer than three sites tell nothing of the spread between sites; they are listed."))
    elif not group.sites:
        told.append(say("No site has repeats here, so that chance and site cannot be told apart."))
    odd = [
        say("{name} ({what})", name=row.name, what=quantity.label)
        for quantity in QUANTITIES
        for set_up in group.set_ups
        if quantity.key in set_up.repeats
        for row in set_up.odd_rows(quantity.key)
    ]
    if odd:
        told.append(say("Far from their repeats, and counted all the same: {names}.", names=listed(odd, COMMA)))
    return told


def _charts(n: int, group: Group) -> tuple[ChartView, ...]:
    # The drawing library takes a while to load, and not everybody needs a picture.
    from reportgen.charts.spread import Dot, SpreadRow, spread_chart

    quantities = {quantity.key: quantity for quantity in QUANTITIES}
    drawn = []
    for choices in DRAWN:
        for key in choices:
            rows = [
                SpreadRow(
                    tuple(filter(None, (set_up.site, set_up.series))),
                    tuple(
                        Dot(value.value, value.low, value.high, not row.is_aborted)
                        for row in set_up.rows
                        if (value := row.values.get(key)) is not None
                    ),
                    *(
                        (found.mean, found.interval)
                        if (found := set_up.repeats.get(key)) is not None and found.n > 1
                        else (None, None)
                    ),
                )
                for set_up in group.set_ups
            ]
            chart = spread_chart(f"group-{n}-{key}", quantities[key].label, quantities[key].unit, rows)
            if chart is not None:
                encoded = base64.b64encode(chart.svg.encode()).decode()
                drawn.append(
                    ChartView(
                        str(chart.title),
                        str(chart.alt),
                        f"data:image/svg+xml;base64,{encoded}",
                        f"charts/{chart.name}.svg",
                        chart.svg,
                        chart.table,
                    )
                )
                break
    return tuple(drawn)


def _what_sets_apart(comparison: Comparison) -> Table:
    """Return what sets each trial that is like no other apart from what is nearest to it."""
    groups = [
        (say("group {n}", n=n), group.stratum) for n, group in enumerate(comparison.groups[:MOST_HELD_AGAINST], start=1)
    ]
    singles = [] if groups else [(say("{name}", name=s.rows[0].name), s) for s in comparison.alone[:MOST_SINGLES]]
    shown = comparison.alone[: tables.MOST_ROWS]
    why = [_apart(stratum, groups or singles) for stratum in shown]
    return tables.remarks([stratum.rows[0] for stratum in comparison.alone], say("What sets it apart"), why)


def _apart(stratum: Stratum, others: Sequence[tuple[Message, Stratum]]) -> str:
    row = stratum.rows[0]
    told = [(name, differences(row, other)) for name, other in others if other is not stratum]
    if not told:
        return str(say("there is no other"))
    name, found = min(told, key=lambda pair: len(pair[1]))
    if not found:
        return str(say("from {name}: its numbers lie beside those of the group, not among them", name=name))
    return str(say("from {name}: {what}", name=name, what=listed(found)))
