"""Which trials may be compared: those that are alike in all that changes a figure without being the figure.

A trial of which one of the numbers below is not recorded is like no other, since nobody can show that it is.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportgen import rounding
from reportgen.anonymous import LEFT_OUT_HERE
from reportgen.comparison.row import TrialRow
from reportgen.message import Message, say
from reportgen.set_up import plain

#: Ambient temperatures of one group differ by this at most [K]: 3 K either way (ours).
WIDEST_AMBIENT = 6.0
#: Masses of water of one group differ by this factor at most: 25 % either way (ours).
WIDEST_WATER = 1.25 / 0.75
#: Thicknesses of one group differ by this factor at most (ours): freezing takes more than in proportion to it.
WIDEST_THICKNESS = 1.5

_START = {"warm": say("cabinet as warm as its surroundings"), "cold": say("cabinet cooled before")}
_METHANE = {"measured": say("measured"), "assumed": say("assumed")}
_PROBE = {
    "air": say("in the air"),
    "plate": say("at the cold plate"),
    "water": say("in the water"),
    "other": say("elsewhere"),
}
NOT_RECORDED = say("not recorded")


@dataclass(frozen=True)
class Stratum:
    """Trials that are alike, and in what: label and words of each condition."""

    rows: tuple[TrialRow, ...]
    conditions: tuple[tuple[Message, Message], ...]


def missing(row: TrialRow) -> tuple[Message, ...]:
    """Return what is not recorded of a trial without which it cannot be placed beside others."""
    needed = (
        (row.start, say("the cabinet's start beside its surroundings")),
        (row.ambient is not None, say("the ambient temperature")),
        (row.water is not None and row.water > 0, say("the mass of water")),
        (row.methane, say("the methane")),
    )
    return tuple(name for is_there, name in needed if not is_there)


def strata(rows: Sequence[TrialRow]) -> list[Stratum]:
    """Return groups of alike trials, the largest first, in the order given; one that lacks something is in none."""
    groups: list[list[TrialRow]] = [[row for row in rows if not missing(row)]]
    for key in (_words, lambda row: row.thickness is not None):
        groups = [part for group in groups for part in _parted(group, key)]
    for number, widest, is_ratio in (
        (lambda row: row.ambient, WIDEST_AMBIENT, False),
        (lambda row: row.water, WIDEST_WATER, True),
        (lambda row: row.thickness, WIDEST_THICKNESS, True),
    ):
        groups = [part for group in groups for part in _banded(group, number, widest, is_ratio)]
    place = {id(row): i for i, row in enumerate(rows)}
    groups.sort(key=lambda group: (-len(group), place[id(group[0])]))
    return [Stratum(tuple(group), conditions(group)) for group in groups]


def _words(row: TrialRow) -> tuple[str, ...]:
    return (row.start, row.methane, row.probe, plain(row.end_point), plain(row.thermostat), row.only_with)


def _parted(rows: Sequence[TrialRow], key: Callable[[TrialRow], object]) -> list[list[TrialRow]]:
    parts: dict[object, list[TrialRow]] = {}
    for row in rows:
        parts.setdefault(key(row), []).append(row)
    return list(parts.values())


def _banded(
    rows: list[TrialRow], number: Callable[[TrialRow], float | None], widest: float, is_ratio: bool
) -> list[list[TrialRow]]:
    values = [value for row in rows if (value := number(row)) is not None]
    if len(values) < len(rows):
        return [rows]
    starts = bands(values, widest, is_ratio)
    return _parted(rows, lambda row: bisect.bisect_right(starts, number(row) or 0.0))


def bands(values: Sequence[float], widest: float, is_ratio: bool = False) -> list[float]:
    """Return where bands start, so that no two values of one band are further apart than `widest` (or by that factor).

    There are as few bands as can be, and the limits between them stand at the widest gaps that allow it. The result
    does not depend on the order of the values.
    """
    ordered = sorted(set(values))

    def fits(low: float, high: float) -> bool:
        return high <= low * widest if is_ratio else high - low <= widest

    # From above, each band as wide as can be: where it must not start earlier, so that those above it suffice.
    earliest: list[int] = []
    top = len(ordered) - 1
    while top >= 0:
        earliest.append(bisect.bisect_left(range(top), True, key=lambda i: fits(ordered[i], ordered[top])))
        top = earliest[-1] - 1
    at, starts = 0, [ordered[0]]
    for least in earliest[-2::-1]:
        reach = bisect.bisect_left(range(len(ordered)), True, key=lambda i: not fits(ordered[at], ordered[i]))
        at = max(range(least, reach + 1), key=lambda i: _gap(ordered[i - 1], ordered[i], is_ratio))
        starts.append(ordered[at])
    return starts


def _gap(low: float, high: float, is_ratio: bool) -> float:
    return high / low if is_ratio else high - low


def conditions(rows: Sequence[TrialRow]) -> tuple[tuple[Message, Message], ...]:
    """Return in what trials of a group are alike, in words."""
    *stated, words = _stated(rows)
    return (*stated, words) if rows[0].only_with else tuple(stated)


def _stated(rows: Sequence[TrialRow]) -> list[tuple[Message, Message]]:
    first = rows[0]
    return [
        (say("Start"), _START.get(first.start, NOT_RECORDED)),
        (say("Mean ambient"), _span([row.ambient for row in rows], "°C")),
        (say("Water"), _span([row.water for row in rows], "kg")),
        (say("Thickness or diameter"), _span([row.thickness for row in rows], "mm")),
        (say("Methane"), _METHANE.get(first.methane, NOT_RECORDED)),
        (say("Probe"), _PROBE.get(first.probe, LEFT_OUT_HERE if "probe_position" in first.left_out else NOT_RECORDED)),
        (say("Solid was judged by"), _quoted(first, "end_point")),
        (say("Thermostat"), _quoted(first, "thermostat")),
        (say("Sign of the words that are left out"), say("{text}", text=first.only_with)),
    ]


def _quoted(row: TrialRow, key: str) -> Message:
    text = getattr(row, key)
    if text:
        return say("“{text}”", text=text)
    return LEFT_OUT_HERE if key in row.left_out else NOT_RECORDED


def _span(values: Sequence[float | None], unit: str) -> Message:
    known = [value for value in values if value is not None]
    if not known:
        return NOT_RECORDED
    low, high = (rounding.plain(end, 3) for end in (min(known), max(known)))
    if low == high:
        return say("{low} {unit}", low=low, unit=unit)
    return say("{low} to {high} {unit}", low=low, high=high, unit=unit)


def differences(row: TrialRow, other: Stratum) -> tuple[Message, ...]:
    """Return in which conditions a trial differs from a group."""
    mine, theirs = _stated([row]), _stated(other.rows)
    first = other.rows[0]
    alike = [
        row.start == first.start,
        _near([row.ambient, *(r.ambient for r in other.rows)], WIDEST_AMBIENT, False),
        _near([row.water, *(r.water for r in other.rows)], WIDEST_WATER, True),
        _near([row.thickness, *(r.thickness for r in other.rows)], WIDEST_THICKNESS, True),
        row.methane == first.methane,
        row.probe == first.probe,
        plain(row.end_point) == plain(first.end_point),
        plain(row.thermostat) == plain(first.thermostat),
        row.only_with == first.only_with,
    ]
    return tuple(
        say("{label}: {mine} (there {theirs})", label=label, mine=own, theirs=their)
        for (label, own), (_, their), is_alike in zip(mine, theirs, alike, strict=True)
        if not is_alike
    )


def _near(values: Sequence[float | None], widest: float, is_ratio: bool) -> bool:
    known = [value for value in values if value is not None]
    if len(known) < len(values):
        return not known
    return max(known) <= min(known) * widest if is_ratio else max(known) - min(known) <= widest
