"""Units of the United States beside those of the SI, in the sentences and tables a reader sees; files keep the SI.

A gap that a unit follows, as in ``{low} to {high} kg``, is an amount: what it is in the other unit is put behind it in
brackets, with as many significant digits (of a temperature: decimals) as the amount itself shows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from reportgen import rounding, speech

#: SI unit as people read it -> the other unit and how many of it make one (exact by definition, from memory).
_POUND, _FOOT = 0.45359237, 0.3048
_CUBIC_FOOT = 1000 * _FOOT**3
_BTU = 1.05505585262
FACTORS = {
    "kg": ("lb", 1 / _POUND),
    "L": ("ft³", 1 / _CUBIC_FOOT),
    "m³": ("ft³", 1000 / _CUBIC_FOOT),
    "L/h": ("ft³/h", 1 / _CUBIC_FOOT),
    "L/min": ("ft³/min", 1 / _CUBIC_FOOT),
    "L/kg": ("ft³/lb", _POUND / _CUBIC_FOOT),
    "h/m³": ("h/ft³", _CUBIC_FOOT / 1000),
    "kg/d": ("lb/d", 1 / _POUND),
    "kg/(m³ d)": ("lb/(ft³ d)", _CUBIC_FOOT / 1000 / _POUND),
    "MJ": ("Btu", 1000 / _BTU),
    "kJ": ("Btu", 1 / _BTU),
    "MJ/kg": ("Btu/lb", 1000 / _BTU * _POUND),
    "W": ("Btu/h", 3.6 / _BTU),
    "K": ("°F", 1.8),
    "K/h": ("°F/h", 1.8),
}
CELSIUS, FAHRENHEIT = "°C", "°F"
_UNITS = "|".join(map(re.escape, sorted((*FACTORS, CELSIUS), key=len, reverse=True)))
_SAID_TOO = (
    *("%", "h", "min", "s", "d", "g", "mm", "cm", "m", "cm²", "m²", "kPa", "hPa", "mbar", "ppm", "mg/m³", "kg/m³"),
    *("kg/kg", "kJ/kg", "MJ/m³", "W/K", "L/d", FAHRENHEIT, *(other for other, _ in FACTORS.values())),
)
#: Units that stand behind a number, as part of a regular expression; the longer ones first.
UNITS_SAID = "|".join(map(re.escape, sorted({*FACTORS, CELSIUS, *_SAID_TOO}, key=len, reverse=True)))
_NO_MORE = r"(?![\w/²³])"
_GAP = r"\{(\w+)\}"
#: One amount, or the two ends of a range with a short word between them, before a unit.
_AMOUNT = re.compile(rf"(?:{_GAP}( [^\W\d_]{{1,4}} ))?{_GAP} (?:({_UNITS}){_NO_MORE}|\{{(unit)\}})")
#: A gap, or a number that stands in the sentence, with the unit behind it and what was put beside that.
_ALONE = re.compile(
    rf"(?:{_GAP}|(?<![\w{{.])−?\d[\d.]*) (?:(?:{UNITS_SAID}){_NO_MORE}|\{{unit\}})"
    r"(?: \([−\d][^(){]*\))?"
)
#: Signs of direction, and tags of a page, that may stand between a number and its unit.
_BETWEEN = (
    rf"(?:</?(?:bdi|b|em|small|span|strong)\b[^<>]*>|[{speech.ISOLATE}{speech.LEFT_TO_RIGHT}{speech.END_ISOLATE}])*"
)
_BLANK = rf"(?<=\d)(?P<before>{_BETWEEN}) (?={_BETWEEN}(?:{UNITS_SAID}){_NO_MORE})"
#: The blank between a number and its unit.
WITHIN_AMOUNT = re.compile(_BLANK)
#: The same, the blanks after a sign of uncertainty and within a unit, and what stays as it is: code, styles and tags.
_BREAKABLE = re.compile(
    rf"{_BLANK}|(?<=±) (?=\d)|(?<=³) (?=d\))|(?P<kept><(style|script|code|pre)\b.*?</\3>|<[^>]*>|`[^`\n]*`)", re.DOTALL
)
#: A number of a finished text with what stands behind it up to the next word from right to left.
_SAID = re.compile(r"−?\d[\d.]*(?: (?!\()[^\s\u0590-\u08FF]+)*")
#: A unit in square brackets, a name of the command line, or one with dots.
_NAMES = re.compile(
    r"\[[^\[\]{}\u0590-\u08FF]{1,12}\]|(?<![\w-])--[a-z][a-z-]*|(?<![\w.])[a-z_]*\.[a-z_]{3,}(?:\.[a-z_]+)*"
)


def converted(text: str, unit: str) -> str:
    """Return a written amount in the other unit, as ``2.25 lb``; "" for what is no number or has no other unit."""
    speaks = speech.current()
    try:
        value = speaks.number_of(text)
    except ValueError:
        return ""
    found = _turned(value, text, unit)
    return f"{found[0]} {found[1]}" if found else ""


def after(text: str, unit: str) -> str:
    """Return what stands behind an amount in a table: `` (2.25 lb)`` for readers of such units, else nothing."""
    found = converted(text, unit) if speech.current().units == "us" else ""
    return f" ({found})" if found else ""


def after_range(low: str, high: str, unit: str) -> str:
    """Return what stands behind the two ends of a range, as `after` does."""
    ends = [converted(end, unit) if speech.current().units == "us" else "" for end in (low, high)]
    return f" ({ends[0].rpartition(' ')[0]} – {ends[1]})" if all(ends) else ""


def with_us_units(sentence: str, values: Mapping[str, str]) -> str:
    """Return a sentence with gaps in which amounts are followed by what they are in the other unit.

    A working (with an equals sign) stays as it is, for it is meant to be checked.
    """
    if " = " in sentence:
        return sentence

    def added(match: re.Match[str]) -> str:
        first, between, last, unit, gap = match.groups()
        unit = unit or _bare(values[gap])
        ends = [converted(_bare(values[name]), unit) for name in (first, last) if name]
        if not all(ends):
            return match[0]
        if first:
            return f"{match[0]} ({ends[0].rpartition(' ')[0]}{between}{ends[1]})"
        return f"{match[0]} ({ends[0]})"

    return _AMOUNT.sub(added, sentence)


def on_one_line(text: str) -> str:
    """Return a finished page, or text of Markdown, in which no line ends between a number and its unit.

    Code, styles and attributes stay as they are, for they are meant for programs, or to be copied.
    """

    def held(match: re.Match[str]) -> str:
        return match["kept"] or f"{match['before'] or ''}{speech.NO_BREAK}"

    return _BREAKABLE.sub(held, text)


def held_together(sentence: str) -> str:
    """Return a sentence from right to left in which amounts and names keep their own order: ``4.5 h``, ``--from``."""
    held = rf"{speech.LEFT_TO_RIGHT}\g<0>{speech.END_ISOLATE}"
    return _NAMES.sub(held, _ALONE.sub(held, sentence))


def held_amounts(text: str) -> str:
    """Return a finished text, from right to left, in which each amount keeps its own order."""
    if not speech.current().is_right_to_left:
        return text
    return _SAID.sub(rf"{speech.LEFT_TO_RIGHT}\g<0>{speech.END_ISOLATE}", text)


def _bare(text: str) -> str:
    return text.strip(speech.ISOLATE + speech.END_ISOLATE)


def _turned(value: float, text: str, unit: str) -> tuple[str, str] | None:
    mark = speech.current().decimal_mark
    decimals = len(text.partition(mark)[2])
    if unit == CELSIUS:
        return rounding.fixed(value * 1.8 + 32, decimals), FAHRENHEIT
    if unit not in FACTORS:
        return None
    other, factor = FACTORS[unit]
    # The nearest power of ten, so that the other amount is neither much finer nor much coarser than the one shown.
    return rounding.fixed(value * factor, decimals - round(math.log10(factor))), other
