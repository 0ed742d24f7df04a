"""Compare with a figure exactly as it was printed."""

from __future__ import annotations

from typing import Any

import pytest


def as_printed(text: str) -> Any:
    """Return what matches any value that rounds to `text`: half a unit of its last digit either way."""
    mantissa, _, exponent = text.lower().partition("e")
    last_digit = 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))
    return pytest.approx(float(text), rel=1e-12, abs=last_digit / 2)
