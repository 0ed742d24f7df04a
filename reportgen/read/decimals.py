"""Decimal marks and thousands marks: which of comma and point a file uses for which, and numbers read accordingly."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Literal

from reportgen.everyday.letters import western

Mark = Literal["point", "comma"]
#: What each decimal mark is, and what then parts groups of three digits beside blanks and apostrophes.
MARKS: dict[Mark, tuple[str, str]] = {"point": (".", ","), "comma": (",", ".")}
#: What a number written with a comma and three digits may mean.
OPEN = "open"
_GROUP_BLANKS = "\u00a0\u2007\u2009\u202f '\u2019"
_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2010": "-", "\u2011": "-"})
_PLAIN = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_ONE_MARK = re.compile(r"[+-]?(?P<before>\d*)(?P<mark>[.,])(?P<after>\d+)")
_GROUPED = {
    mark: re.compile(
        rf"[+-]?\d{{1,3}}(?:(?P<by>[{re.escape(group)}{_GROUP_BLANKS}])\d{{3}})(?:(?P=by)\d{{3}})*(?:\{decimal}\d*)?"
    )
    for mark, (decimal, group) in MARKS.items()
}


def tidy(text: str) -> str:
    """Return a cell with a plain minus sign and plain digits; blanks inside it stay."""
    if text.isascii():
        return text
    return western(unicodedata.normalize("NFKC", text.translate(_MINUS))).translate(_MINUS).strip()


def mark_told(text: str) -> str | None:
    """Return what a number tells of the decimal mark: ``point``, ``comma``, `OPEN`, or None where it tells nothing.

    ``21,5`` and ``1.234,5`` tell of a comma, ``1,234.5`` and ``1,234,567`` of a point; ``1,234`` may be either. A lone
    point before three digits is the decimal mark unless other numbers tell of a comma.
    """
    if "," not in text and "." not in text:
        return None
    one = _ONE_MARK.fullmatch(text)
    if one is not None:
        if len(one["after"]) == 3 and 1 <= len(one["before"]) <= 3 and one["before"] != "0":
            return OPEN if one["mark"] == "," else None
        return "comma" if one["mark"] == "," else "point"
    fits: list[Mark] = [mark for mark in MARKS if _GROUPED[mark].fullmatch(text)]
    return fits[0] if len(fits) == 1 else None


def marks_told(texts: Iterable[str]) -> set[str]:
    """Return all that the numbers of a file tell of its decimal mark."""
    return {told for text in texts if (told := mark_told(text)) is not None}


def number_of(text: str, mark: Mark) -> tuple[float, str] | None:
    """Return the number that a tidy text is, and its digits as a plain number has them; None where it is none.

    Parameters
    ----------
    mark
        Decimal mark of the file. A number that can only be read with the other one is read with that.
    """
    decimal, _ = MARKS[mark]
    if mark == "point" and _PLAIN.fullmatch(text):
        return float(text), text
    if _GROUPED[mark].fullmatch(text):
        # Digits and the decimal mark stay: all else only groups.
        plain = re.sub(rf"[^\d+\-{re.escape(decimal)}]", "", text).replace(decimal, ".")
        return float(plain), plain
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    return (float(text), text) if _PLAIN.fullmatch(text) else None
