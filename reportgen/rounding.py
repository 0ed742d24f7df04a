"""Numbers as people read them: digits follow the uncertainty, and nothing is rounded into a claim.

One rule gives the digits of a value, of its standard uncertainty and of the ends of its interval alike: the standard
uncertainty keeps two significant digits where its first is 1 or 2, else one (JCGM 100:2008, 7.2.6 asks for at most
two), and all the others have as many decimals. Halves are rounded away from nought. The decimal mark is that of the
language spoken.
"""

import decimal
import math

from reportgen import speech

#: A first digit from here on tells enough alone: leaving the second out moves the value by a sixth of the
#: uncertainty at most (ours).
ENOUGH_ALONE = 3
#: Significant digits of a number that carries no uncertainty of its own.
PLAIN_DIGITS = 4
#: Significant digits of a number in a headline or a picture, unless its range is too narrow for them.
SHORT_DIGITS = 3
#: No instrument of a trial tells more decimals than these.
MOST_DECIMALS = 9
#: From here on even people write powers of ten.
LARGEST_PLAIN = 1e15
MINUS = "\N{MINUS SIGN}"
_EXACT = decimal.Context(prec=700, rounding=decimal.ROUND_HALF_UP)


def decimals_for(uncertainty: float, digits: int | None = None) -> int:
    """Return how many decimals show `uncertainty` to so many digits, by default the rule's (negative: tens)."""
    written = decimal.Decimal(repr(float(uncertainty)))
    exponent = written.adjusted()
    if digits is None:
        return 1 - exponent if written.as_tuple().digits[0] < ENOUGH_ALONE else -exponent
    # 0.0996 to two digits is 0.10: the rounding itself may carry into the next power of ten.
    if _rounded(uncertainty, digits - 1 - exponent).adjusted() > exponent:
        exponent += 1
    return digits - 1 - exponent


def _rounded(value: float, decimals: int) -> decimal.Decimal:
    written = decimal.Decimal(repr(float(value)))
    return written.quantize(decimal.Decimal(1).scaleb(-decimals), context=_EXACT)


def rounded(value: float, decimals: int) -> float:
    """Return `value` as `fixed` writes it, as a number."""
    return float(_rounded(value, decimals))


def fixed(value: float, decimals: int) -> str:
    """Return `value` with that many decimals, a true minus sign and no negative zero."""
    return speech.current().number(_fixed(value, decimals))


def _fixed(value: float, decimals: int) -> str:
    if not math.isfinite(value):
        return f"{value}".replace("-", MINUS)
    rounded = _rounded(value, decimals)
    text = f"{rounded:.{max(decimals, 0)}f}"
    return text.replace("-", MINUS) if rounded else text.lstrip("-")


def plain(value: float, digits: int = PLAIN_DIGITS) -> str:
    """Return `value` to that many significant digits, no trailing zeros, an exponent only if it is huge."""
    if value == 0:
        return "0"
    if not abs(value) < LARGEST_PLAIN:
        return speech.current().number(f"{value:.{digits}g}".replace("-", MINUS))
    decimals = min(digits - 1 - math.floor(math.log10(abs(value))), 12)
    text = _fixed(value, decimals)
    return speech.current().number(text.rstrip("0").rstrip(".") if "." in text else text)


def with_uncertainty(value: float, uncertainty: float) -> str:
    """Return `value` with the digits that its standard uncertainty supports."""
    if not _can_round(uncertainty, value):
        return plain(value)
    return fixed(value, min(decimals_for(uncertainty), MOST_DECIMALS))


def interval(low: float, high: float, uncertainty: float) -> tuple[str, str]:
    """Return both ends of an interval with the digits that the standard uncertainty supports."""
    if not _can_round(uncertainty, low, high):
        return plain(low), plain(high)
    decimals = min(decimals_for(uncertainty), MOST_DECIMALS)
    if high > low and fixed(low, decimals) == fixed(high, decimals):
        decimals = decimals_for((high - low) / 2, 1)
    return fixed(low, decimals), fixed(high, decimals)


def about(value: float, low: float, high: float) -> tuple[str, str, str]:
    """Return a value and the ends of its range as a headline or a picture says them.

    Digits follow half the width of the range by the rule of this module, with three significant digits at most; a range
    too narrow for three is still shown as a range. A last nought that all three share is left out.
    """
    half, largest = (high - low) / 2, max(abs(value), abs(low), abs(high))
    if not _can_round(half, value, low, high):
        return plain(value, SHORT_DIGITS), plain(low, SHORT_DIGITS), plain(high, SHORT_DIGITS)
    fewest = decimals_for(half, 1)
    decimals = min(decimals_for(half), max(SHORT_DIGITS - 1 - math.floor(math.log10(largest)), fewest))
    parts = (value, low, high)
    if decimals > fewest and all(_rounded(part, decimals) == _rounded(part, fewest) for part in parts):
        decimals = fewest
    return fixed(value, decimals), fixed(low, decimals), fixed(high, decimals)


def duration(hours: float) -> str:
    """Return a time span with its unit: minutes below one hour, else hours with one decimal."""
    return time_span(hours, hours)[1]


def time_span(low: float, high: float) -> tuple[str, str]:
    """Return two time spans [h] with their unit, minutes if both are below one hour, that differ if they can."""
    in_minutes = max(abs(low), abs(high)) < 1
    per_hour, unit = (60, "min") if in_minutes else (1, "h")
    decimals = 0 if in_minutes or max(abs(low), abs(high)) >= 100 else 1
    if low != high and fixed(low * per_hour, decimals) == fixed(high * per_hour, decimals):
        decimals += 1
    return f"{fixed(low * per_hour, decimals)} {unit}", f"{fixed(high * per_hour, decimals)} {unit}"


def _can_round(scale: float, *values: float) -> bool:
    """Return whether `scale` is a positive number that can give digits to the values."""
    return 0 < scale < LARGEST_PLAIN and all(abs(value) < LARGEST_PLAIN for value in values)
