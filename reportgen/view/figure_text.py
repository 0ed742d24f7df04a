"""A figure as text: its value with the digits it deserves, its range, its basis, or why it is not given."""

from __future__ import annotations

import re

from reportgen import beside, checklist, rounding, wording
from reportgen.catalogue import KINDS
from reportgen.figures import Figure
from reportgen.message import Message, say
from reportgen.view.parts import FigureView

#: Where a reason says in brackets in which column of a log something would stand.
_COLUMN = re.compile(r" \([^()]*[a-z]_[a-z][^()]*\)")


def figure_view(
    key: str, figure: Figure, *, short: bool = False, label: Message | None = None, unit: str | None = None
) -> FigureView:
    """Return a figure as text: for the table with the digits of its uncertainty, or short for a glance.

    `label` and `unit` are those of the catalogue where they are not given.
    """
    kind_unit = KINDS[key].unit if unit is None else unit
    name = str(KINDS[key].label if label is None else label)
    unit = wording.unit(kind_unit)
    if not figure.is_given:
        reason = str(checklist.first_cause(figure))
        return FigureView(
            label=name,
            unit=unit,
            basis=figure.basis,
            basis_word=str(wording.BASIS[figure.basis]),
            reason=without_columns(reason) if short else reason,
            bound=bound(figure, unit),
        )
    assert figure.interval is not None
    spread = figure.standard_uncertainty
    if short:
        value, low, high = rounding.about(figure.value, *figure.interval)
    else:
        value = rounding.with_uncertainty(figure.value, spread)
        low, high = rounding.interval(*figure.interval, spread)
    difference = wording.DIFFERENCE_UNITS.get(kind_unit, unit)
    return FigureView(
        label=name,
        unit=unit,
        basis=figure.basis,
        basis_word=str(wording.BASIS[figure.basis]),
        value=value,
        uncertainty=f"{rounding.with_uncertainty(spread, spread)} {difference}".strip() if spread > 0 else "",
        interval=str(say("{low} to {high}", low=low, high=high)),
        value_beside=beside.after(value, unit),
        interval_beside=beside.after_range(low, high, unit),
        interval_remark=str(wording.INTERVAL_REMARKS[figure.interval_kind]),
        method=str(wording.plain_method(figure)),
        working=str(figure.working) if figure.working else "",
        inputs=figure.inputs,
    )


def without_columns(reason: str) -> str:
    """Return a reason without the name of the column in brackets, for those who do not keep the logs."""
    return _COLUMN.sub("", reason)


def bound(figure: Figure, unit: str) -> str:
    """Return what is known of a figure of which only one side is: ``more than 3.5 h``."""

    def amount(value: float) -> str:
        return rounding.duration(value) if unit == "h" else f"{rounding.plain(value, 3)} {unit}".strip()

    if figure.at_least is not None:
        return str(say("more than {amount}", amount=amount(figure.at_least)))
    if figure.at_most is not None:
        return str(say("at most {amount}", amount=amount(figure.at_most)))
    return ""
