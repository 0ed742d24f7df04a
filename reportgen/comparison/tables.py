"""The tables of a comparison, as finished text: each narrow enough for a page, so that none is scrolled sideways."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen import rounding, wording
from reportgen.comparison.compare import Group
from reportgen.comparison.row import EVIDENCE, QUANTITIES, Compared, TrialRow, Value
from reportgen.comparison.statistics import FEWEST_FOR_INTERVAL, FEWEST_FOR_TRUST, Repeats
from reportgen.message import COMMA, Message, listed, say

#: Rows of a table, at most: a browser shows them at once; `trials.csv` and `results.csv` hold all (ours).
MOST_ROWS = 1000
#: Quantities of the table of trials.
SIDE_BY_SIDE = (
    "energy_per_standard_ice",
    "gas_per_standard_ice",
    "gas_per_hour",
    "cooling_rate_mean",
    "waste_to_ice",
    "ice_making_time",
    "time_to_0",
)
NONE = "—"
_BY_KEY = {quantity.key: quantity for quantity in QUANTITIES}


@dataclass(frozen=True)
class Table:
    """A table: caption, heading, rows. The first cell of a row is its heading."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    more: int = 0


def heads(*words: Message) -> tuple[str, ...]:
    """Return the headings of columns in the language spoken."""
    return tuple(map(str, words))


def _cut(caption: Message, header: Sequence[str], rows: Sequence[tuple[str, ...]]) -> Table:
    return Table(str(caption), tuple(header), tuple(rows[:MOST_ROWS]), max(len(rows) - MOST_ROWS, 0))


def heading(quantity: Compared) -> str:
    """Return a quantity with its unit."""
    unit = wording.unit(quantity.unit)
    return str(say("{quantity}, {unit}", quantity=quantity.label, unit=unit) if unit else quantity.label)


def statistics(group: Group) -> Table:
    """Return what repeats tell: a row for each quantity and set-up that was repeated."""
    header = heads(
        say("Quantity"),
        say("Set-up"),
        say("n"),
        say("Mean"),
        say("SD"),
        say("95 % of the mean"),
        say("Next trial"),
        say("Lowest to highest"),
        say("Total ÷ total"),
    )
    rows = [
        (
            heading(quantity),
            _place(set_up.site, set_up.series),
            str(found.n),
            *_spread(found),
            _number(set_up.totals.get(quantity.key), _scale(found)),
        )
        for quantity in QUANTITIES
        for set_up in group.set_ups
        if (found := set_up.repeats.get(quantity.key)) is not None and found.n > 1
    ]
    return _cut(say("Repeats at each set-up"), header, rows)


def _place(site: str, series: str) -> str:
    return str(listed(filter(None, (site, series)), COMMA))


def _scale(found: Repeats) -> float:
    """Return the standard uncertainty that gives the digits of a mean."""
    own = found.sd / math.sqrt(found.n) if found.sd else 0.0
    return math.hypot(own, found.shared)


def _spread(found: Repeats) -> tuple[str, str, str, str, str]:
    scale = _scale(found)
    mean = _number(found.mean, scale)
    if found.mean_without is not None:
        mean = str(say("{mean} (without the odd: {other})", mean=mean, other=_number(found.mean_without, scale)))
    if found.sd is None:
        return mean, NONE, NONE, NONE, NONE
    share = found.relative_sd
    sd = rounding.plain(found.sd, 2) + (f" ({rounding.plain(100 * share, 2)} %)" if share is not None else "")
    seen = _range(found.lowest, found.highest, found.sd)
    if found.interval is None or found.next_trial is None:
        return mean, sd, str(say("fewer than {n}", n=FEWEST_FOR_INTERVAL)), NONE, seen
    return mean, sd, _trusted(_range(*found.interval, scale), found.n), _range(*found.next_trial, found.sd), seen


def _trusted(interval: str, n: int) -> str:
    return str(say("{interval} (few: wide)", interval=interval)) if n < FEWEST_FOR_TRUST else interval


def _number(value: float | None, scale: float) -> str:
    if value is None:
        return NONE
    return rounding.with_uncertainty(value, scale) if scale > 0 else rounding.plain(value, 3)


def _range(low: float, high: float, scale: float) -> str:
    """Return a range in words; none of these quantities is below nought, whatever few repeats make of it."""
    start, end = rounding.interval(low, high, scale)
    if low <= 0 < high:
        return str(say("up to {high}", high=end))
    return str(say("{low} to {high}", low=start, high=end))


def times(group: Group) -> Table:
    """Return what is known of times: how many were reached, and limits of the median."""
    header = heads(say("Time"), say("Set-up"), say("Reached"), say("Median lies"), say("All that were reached, by"))
    rows = [
        (
            heading(quantity),
            _place(set_up.site, set_up.series),
            str(say("{done} of {n}", done=found.n - found.unfinished, n=found.n)),
            _median(found.median),
            _number(found.by, 0.0),
        )
        for quantity in QUANTITIES
        for set_up in group.set_ups
        if (found := set_up.times.get(quantity.key)) is not None
    ]
    return _cut(say("Times, those not reached among them"), header, rows)


def _median(limits: tuple[float, float]) -> str:
    low, high = limits
    if math.isinf(high):
        return str(say("above {low}", low=rounding.plain(low, 3)))
    if low == high:
        return str(say("at {low}", low=rounding.plain(low, 3)))
    return str(say("between {low} and {high}", low=rounding.plain(low, 3), high=rounding.plain(high, 3)))


def sites(group: Group) -> Table:
    """Return the sites beside each other: mean of them, spread between them, a new one."""
    header = heads(
        say("Quantity"), say("Sites"), say("Mean of sites"), say("95 %"), say("SD between sites"), say("A new site")
    )
    rows = []
    for quantity in QUANTITIES:
        found = group.sites.get(quantity.key)
        if found is None:
            continue
        scale = (found.interval[1] - found.interval[0]) / 4
        rows.append(
            (
                heading(quantity),
                str(found.k),
                _number(found.mean, scale),
                _trusted(_range(*found.interval, scale), found.k),
                rounding.plain(found.between_sd, 2),
                _range(*found.new_site, scale),
            )
        )
    return _cut(say("Sites beside each other"), header, rows)


def remarks(rows: Sequence[TrialRow], heading: Message, texts: Sequence[str]) -> Table:
    """Return a text on each trial, for a table of its own: beside many numbers it would be a narrow column."""
    shown = tuple((row.name, text) for row, text in zip(rows[:MOST_ROWS], texts, strict=False))
    return Table("", heads(say("Trial"), heading), shown, max(len(rows) - MOST_ROWS, 0))


def trials(rows: Sequence[TrialRow]) -> tuple[Table, ...]:
    """Return trials side by side: what they were, and what they gave."""
    facts = [
        (
            row.name,
            _place(row.place, row.series),
            row.started[:10] or NONE,
            outcome(row),
            evidence(row),
            NONE if row.ambient is None else rounding.plain(row.ambient, 3),
            NONE if row.water is None else rounding.plain(row.water, 3),
        )
        for row in rows[:MOST_ROWS]
    ]
    quantities = [_BY_KEY[key] for key in SIDE_BY_SIDE]
    figures = [
        (row.name, *(_value(row.values.get(quantity.key)) for quantity in quantities)) for row in rows[:MOST_ROWS]
    ]
    more = max(len(rows) - MOST_ROWS, 0)
    header = heads(
        say("Trial"), say("Set-up"), say("Lit"), say("Outcome"), say("Evidence"), say("Ambient, °C"), say("Water, kg")
    )
    return (
        Table(str(say("Side by side: the trials")), header, tuple(facts), more),
        Table(
            str(say("Side by side: their figures")),
            (str(say("Trial")), *map(heading, quantities)),
            tuple(figures),
            more,
        ),
    )


def outcome(row: TrialRow) -> str:
    """Return how a trial came out, in words."""
    return str(wording.OUTCOMES.get(row.outcome, say("not stated")))


def evidence(row: TrialRow) -> str:
    """Return the grade of a trial's evidence, and what is lacking."""
    if not row.grade:
        return str(say("not told by the file"))
    if not row.lacking:
        return row.grade
    return str(
        say("{grade} (not: {lacking})", grade=row.grade, lacking=listed((EVIDENCE[key] for key in row.lacking), COMMA))
    )


def _value(value: Value | None) -> str:
    if value is None:
        return NONE
    if value.value is None:
        if math.isinf(value.high):
            return str(say("more than {low}", low=rounding.plain(value.low, 3)))
        return str(say("at most {high}", high=rounding.plain(value.high, 3)))
    shown, low, high = rounding.about(value.value, value.low, value.high)
    mark = "*" if value.basis == "assumed" else ""
    if value.low <= 0 < value.value:
        return str(say("{value}{mark} (up to {high})", value=shown, mark=mark, high=high))
    return str(say("{value}{mark} ({low} to {high})", value=shown, mark=mark, low=low, high=high))
