"""Range checks for the inputs of formulas.

Only plain numbers are checked: an array or a number with uncertainty passes unseen, because a distribution
may reach past a limit that its value keeps. Those who pass one check its values first.
"""

from __future__ import annotations

from typing import Any, TypeAlias

#: What the formulas work with alike: a float, an array of floats or a number with uncertainty.
Value: TypeAlias = Any


def require_between(value: Value, low: float, high: float, what: str) -> None:
    """Refuse a plain number outside a closed range.

    Parameters
    ----------
    value : float, array or number with uncertainty [any]
        Only a float or an integer is looked at.
    low, high : float [same unit as value]
        Ends of the range, both allowed.
    what : str
        Name of the input for the message, with its unit.

    Raises
    ------
    ValueError
        If a plain `value` is outside the range or not a number.
    """
    if isinstance(value, (int, float)) and not low <= value <= high:
        raise ValueError(f"{what} is {value:g}, which is outside {low:g} to {high:g}")


def require_above(value: Value, limit: Value, what: str, limit_name: str) -> None:
    """Refuse a plain number that does not exceed a plain limit.

    Parameters
    ----------
    value, limit : float, array or number with uncertainty [one unit]
        Looked at only if both are floats or integers.
    what, limit_name : str
        Names of the two for the message.

    Raises
    ------
    ValueError
        If both are plain and `value` is not larger than `limit`, or one is not a number.
    """
    if isinstance(value, (int, float)) and isinstance(limit, (int, float)) and not value > limit:
        raise ValueError(f"{what} is {value:g}, but must be above {limit_name} ({limit:g})")
