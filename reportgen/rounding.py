"""Numbers as people read them: digits follow the uncertainty, and nothing is rounded into a claim."""

import math

#: Significant digits of a printed uncertainty (JCGM 100:2008, 7.2.6: at most two).
UNCERTAINTY_DIGITS = 2
#: Significant digits of a number that carries no uncertainty of its own.
PLAIN_DIGITS = 4
#: From here on even people write powers of ten.
LARGEST_PLAIN = 1e15
MINUS = "\N{MINUS SIGN}"


def decimals_for(uncertainty: float, digits: int = UNCERTAINTY_DIGITS) -> int:
    """Return how many decimals show `uncertainty` to that many digits (negative: tens, hundreds)."""
    exponent = math.floor(math.log10(uncertainty))
    # 0.0996 to two digits is 0.10: the rounding itself may carry into the next power of ten.
    if round(uncertainty, digits - 1 - exponent) >= float(f"1e{exponent + 1}"):
        exponent += 1
    return digits - 1 - exponent


def fixed(value: float, decimals: int) -> str:
    """Return `value` with that many decimals, a true minus sign and no negative zero."""
    rounded = round(value, decimals)
    text = f"{rounded + 0.0:.{max(decimals, 0)}f}"
    return text.replace("-", MINUS) if float(text) != 0 else text.lstrip("-")


def plain(value: float, digits: int = PLAIN_DIGITS) -> str:
    """Return `value` to that many significant digits, no trailing zeros, an exponent only if it is huge."""
    if value == 0:
        return "0"
    if not abs(value) < LARGEST_PLAIN:
        return f"{value:.{digits}g}".replace("-", MINUS)
    decimals = min(digits - 1 - math.floor(math.log10(abs(value))), 12)
    text = fixed(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_uncertainty(value: float, uncertainty: float) -> str:
    """Return `value` with the digits that its standard uncertainty supports."""
    if not _can_round(uncertainty, value):
        return plain(value)
    return fixed(value, min(decimals_for(uncertainty), 9))


def interval(low: float, high: float) -> tuple[str, str]:
    """Return both ends of an interval with digits that suit its width."""
    width = high - low
    if not _can_round(width, low, high):
        return plain(low), plain(high)
    decimals = min(decimals_for(width / 4), 9)
    return fixed(low, decimals), fixed(high, decimals)


def about(value: float, low: float, high: float) -> tuple[str, str, str]:
    """Return a value and the ends of its range to two significant digits, more where the range is narrow."""
    largest = max(abs(value), abs(low), abs(high))
    if not _can_round(largest, value, low, high):
        return plain(value), plain(low), plain(high)
    decimals = 1 - math.floor(math.log10(largest))
    if high > low and fixed(low, decimals) == fixed(high, decimals):
        decimals = decimals_for((high - low) / 2, 1)
    return fixed(value, decimals), fixed(low, decimals), fixed(high, decimals)


def _can_round(scale: float, *values: float) -> bool:
    """Return whether `scale` is a positive number that can give digits to the values."""
    return 0 < scale < LARGEST_PLAIN and all(abs(value) < LARGEST_PLAIN for value in values)
