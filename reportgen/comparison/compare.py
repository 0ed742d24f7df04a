"""Trials put beside each other: which are alike, what their repeats give, and who is left out for what reason."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.comparison.censored import Times, times
from reportgen.comparison.row import QUANTITIES, TrialRow
from reportgen.comparison.statistics import FEWEST_SITES, Repeats, Sites, across_sites, repeats
from reportgen.comparison.strata import Stratum, missing, strata
from reportgen.message import Message, say
from reportgen.set_up import plain
from reportgen.trial import Finding


@dataclass(frozen=True)
class SetUp:
    """Repeats at one site in one series.

    Attributes
    ----------
    site, series : str
    rows : tuple of TrialRow
        All of them, aborted ones too.
    repeats : mapping of str to Repeats
        By quantity, over those that were not aborted.
    totals : mapping of str to float
        Of ratios: the sum above the line over the sum below it, over the same trials.
    times : mapping of str to Times
        Aborted ones count as not reached in the time they took.
    """

    site: str
    series: str
    rows: tuple[TrialRow, ...]
    repeats: Mapping[str, Repeats]
    totals: Mapping[str, float]
    times: Mapping[str, Times]

    def odd_rows(self, key: str) -> tuple[TrialRow, ...]:
        """Return the trials that lie far from their repeats in a quantity."""
        used = [row for row in self.rows if _counts(row, key)]
        return tuple(used[i] for i in self.repeats[key].odd)


@dataclass(frozen=True)
class Group:
    """Trials that are alike: their set-ups, and by quantity the sites beside each other from three on."""

    stratum: Stratum
    set_ups: tuple[SetUp, ...]
    sites: Mapping[str, Sites]

    @property
    def site_count(self) -> int:
        """How many sites it holds; of anonymous trials, how many regions."""
        return len({plain(set_up.site) for set_up in self.set_ups})

    @property
    def is_anonymous(self) -> bool:
        """True where of some of its trials nobody can tell whether they are of one site."""
        return any(row.is_anonymous for row in self.stratum.rows)


@dataclass(frozen=True)
class Comparison:
    """Trials beside each other.

    Attributes
    ----------
    rows : tuple of TrialRow
        All that were read, each once, in the order given.
    groups : tuple of Group
        Of two trials or more.
    alone : tuple of Stratum
        Trials like no other.
    unplaced : tuple of (TrialRow, tuple of Message)
        Trials that cannot be placed beside others, and what is not recorded of them.
    failed : tuple of (str, str)
        Name and reason of those that could not be read.
    findings : tuple of Finding
    """

    rows: tuple[TrialRow, ...]
    groups: tuple[Group, ...]
    alone: tuple[Stratum, ...]
    unplaced: tuple[tuple[TrialRow, tuple[Message, ...]], ...]
    failed: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]


def compare(
    rows: Sequence[TrialRow], failed: Sequence[tuple[str, str]] = (), findings: Sequence[Finding] = ()
) -> Comparison:
    """Return trials beside each other; one that is given twice counts once."""
    kept, twice = without_doubles(rows)
    found = strata(kept)
    return Comparison(
        rows=tuple(kept),
        groups=tuple(group_of(stratum) for stratum in found if len(stratum.rows) > 1),
        alone=tuple(stratum for stratum in found if len(stratum.rows) == 1),
        unplaced=tuple((row, lacking) for row in kept if (lacking := missing(row))),
        failed=tuple(failed),
        findings=(*findings, *twice),
    )


def without_doubles(rows: Sequence[TrialRow]) -> tuple[list[TrialRow], list[Finding]]:
    """Return each trial once, a corrected report in place of that which it replaces, and what is said of the others."""
    kept: dict[str, TrialRow] = {}
    names: dict[str, str] = {}
    findings = []
    for row in rows:
        earlier = kept.get(row.identity)
        if earlier is None:
            kept[row.identity] = row
            if row.id and row.id in names:
                findings.append(
                    Finding("caution", "id-twice", say("{name}: two different trials have this id", name=row.name))
                )
            names[row.id] = row.identity
            continue
        replaces = bool(row.amends) and row.amends == earlier.report
        if replaces:
            kept[row.identity] = row
        findings.append(
            Finding(
                "caution",
                "trial-twice",
                say("{name}: the corrected report is used and not the one it replaces", name=row.name)
                if replaces
                else say("{name}: the same trial is given twice; the first is used", name=row.name),
            )
        )
    return list(kept.values()), findings


def group_of(stratum: Stratum) -> Group:
    """Return the statistics of trials that are alike."""
    set_ups = tuple(_set_up(rows[0].place, rows[0].series, rows) for rows in by_set_up(stratum.rows))
    sites: dict[str, list[TrialRow]] = {}
    for row in stratum.rows:
        # A site that is not stated may be any of the others, and so may one behind the name of a region.
        if row.site and not row.is_anonymous:
            sites.setdefault(plain(row.site), []).append(row)
    across = {
        quantity.key: found
        for quantity in QUANTITIES
        if not quantity.is_time and (found := _across(sites, quantity.key)) is not None
    }
    return Group(stratum, set_ups, across)


def by_set_up(rows: Iterable[TrialRow]) -> list[list[TrialRow]]:
    """Return trials by site and series, whatever the capitals, marks and spaces these are written with."""
    parts: dict[tuple[str, str, str], list[TrialRow]] = {}
    for row in rows:
        # The series of an anonymous trial is of one site; without one, nobody can tell what else is of its site.
        own = row.identity if row.is_anonymous and not row.series else ""
        parts.setdefault((plain(row.place), plain(row.series), own), []).append(row)
    return list(parts.values())


def _set_up(site: str, series: str, rows: Sequence[TrialRow]) -> SetUp:
    found: dict[str, Repeats] = {}
    totals: dict[str, float] = {}
    limits: dict[str, Times] = {}
    for quantity in QUANTITIES:
        key = quantity.key
        if quantity.is_time:
            known = [_limits(row, key) for row in rows if key in row.values]
            if known:
                limits[key] = times(known)
            continue
        used = counted(rows, key)
        if not used:
            continue
        values = [value for value, _, _ in used]
        found[key] = repeats(values, _shared(used))
        below = [row.values[key].below for row in rows if _counts(row, key)]
        weights = np.array([part if part is not None and part > 0 else np.nan for part in below])
        if len(used) > 1 and np.all(np.isfinite(weights)):
            totals[key] = float(np.dot(values, weights) / weights.sum())
    return SetUp(site, series, tuple(rows), found, totals, limits)


def _counts(row: TrialRow, key: str) -> bool:
    return not row.is_aborted and key in row.values and row.values[key].value is not None


def counted(rows: Iterable[TrialRow], key: str) -> list[tuple[float, float, float]]:
    """Return value, shared and everywhere shared uncertainty of the trials that count: given, and not aborted."""
    return [
        (float(value.value), value.shared, value.everywhere)
        for row in rows
        if _counts(row, key) and (value := row.values[key]).value is not None
    ]


def _shared(used: Sequence[tuple[float, float, float]]) -> float:
    """Return the standard uncertainty that a mean has from what its trials share: that of each, moving together."""
    return float(np.mean([shared for _, shared, _ in used]))


def _limits(row: TrialRow, key: str) -> tuple[float, float]:
    """Return between which times something happened; at an exact time where it was read and not looked for."""
    value = row.values[key]
    if value.value is None:
        return max(value.low, 0.0), value.high
    # A crossing is read off a curve; the looks between which ice was solid are limits.
    return (value.low, value.high) if key == "ice_making_time" else (value.value, value.value)


def _across(sites: Mapping[str, Sequence[TrialRow]], key: str) -> Sites | None:
    """Return the sites beside each other; None below three, or where no site has repeats to tell chance from site."""
    used = {site: found for site, rows in sites.items() if (found := counted(rows, key))}
    freedom = sum(len(found) - 1 for found in used.values())
    if len(used) < FEWEST_SITES or freedom == 0:
        return None
    # Sites repeat too seldom to tell their own spreads, so that one spread within sites serves for all.
    squares = sum(len(found) * float(np.var([value for value, _, _ in found])) for found in used.values())
    within = squares / freedom
    means, variances, everywhere = [], [], []
    for found in used.values():
        means.append(float(np.mean([value for value, _, _ in found])))
        common = float(np.mean([part for _, _, part in found]))
        own = max(_shared(found) ** 2 - common**2, 0.0)
        variances.append(within / len(found) + own)
        everywhere.append(common)
    return across_sites(means, variances, float(np.mean(everywhere)))
