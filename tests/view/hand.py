"""What somebody finds who follows a printed working by hand."""

from __future__ import annotations

import re

SIGNS = {"−": "-", "×": "*", "10⁶": "1e6"}
#: Units and remarks in a working, which a pupil leaves out of the sum.
NO_NUMBER = re.compile(r"\((?:to|freezing)[^()]*\)|(?:MJ/m³|kJ/kg|MJ|kJ|kg|L|h|K|s)(?![\w³])")


def reckoned(line: str) -> float:
    """Return what somebody finds who reckons a line of a working as it is printed."""
    plain = NO_NUMBER.sub("", line)
    for sign, other in SIGNS.items():
        plain = plain.replace(sign, other)
    assert re.fullmatch(r"[-\d.()+*/ e]+", plain), line
    return float(eval(plain))


def is_printed_as(value: float, printed: str) -> bool:
    """Return whether a value, rounded to the digits that are printed, is what is printed."""
    decimals = len(printed.partition(".")[2]) or len(printed.rstrip("0")) - len(printed)
    return abs(value - float(printed)) <= 0.5000001 * 10.0**-decimals
