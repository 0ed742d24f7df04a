"""Numbers as people read them: digits follow the uncertainty, and nothing is rounded into a claim."""

import math

#: Significant digits of a printed uncertainty (JCGM 100:2008, 7.2.6: at most two).
UNCERTAINTY_DIGITS = 2
#: Significant digits of a number that carries no uncertainty of its own.
PLAIN_DIGITS = 4
MINUS = "\N{MINUS SIGN}"


def decimals_for(uncertainty: float, digits: int = UNCERTAINTY_DIGITS) -> int:
    """Return how many decimals show `uncertainty` to `digits` significant digits (negative: tens, hundreds)."""
    exponent = math.floor(math.log10(uncertainty))
    # 0.0996 to two digits is 0.10: the rounding itself may carry into the next power of ten.
    if round(uncertainty, digits - 1 - exponent) >= 10 ** (exponent + 1):
        exponent += 1
    return digits - 1 - exponent


def fixed(value: float, decimals: int) -> str:
    """Return `value` with that many decimals, a true minus sign and no negative zero."""
    rounded = round(value, decimals)
    text = f"{rounded + 0.0:.{max(decimals, 0)}f}"
    return text.replace("-", MINUS) if float(text) != 0 else text.lstrip("-")


def plain(value: float, digits: int = PLAIN_DIGITS) -> str:
    """Return `value` to `digits` significant digits, without an exponent and without trailing zeros."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    decimals = min(digits - 1 - math.floor(math.log10(abs(value))), 12)
    text = fixed(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_uncertainty(value: float, uncertainty: float) -> str:
    """Return `value` with the digits that its standard uncertainty supports."""
    if not uncertainty > 0:
        return plain(value)
    return fixed(value, min(decimals_for(uncertainty), 9))


def interval(low: float, high: float) -> tuple[str, str]:
    """Return both ends of an interval with digits that suit its width."""
    width = high - low
    if not width > 0:
        return plain(low), plain(high)
    decimals = min(decimals_for(width / 4), 9)
    return fixed(low, decimals), fixed(high, decimals)


def about(value: float, low: float, high: float) -> tuple[str, str, str]:
    """Return a value and the ends of its range to two significant digits of the value, fewer where the range is wide."""
    largest = max(abs(value), abs(low), abs(high))
    if largest == 0:
        return "0", "0", "0"
    decimals = 1 - math.floor(math.log10(largest))
    if high > low and fixed(low, decimals) == fixed(high, decimals):
        decimals = decimals_for((high - low) / 2, 1)
    return fixed(value, decimals), fixed(low, decimals), fixed(high, decimals)
