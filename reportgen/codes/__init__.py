"""The codes of findings, errors and alerts: how much each matters, what it means, what a person can do."""

from reportgen.codes.alerts import ALERT_CODES, ALERT_LEVELS
from reportgen.codes.code import Code
from reportgen.codes.reading import READING_CODES
from reportgen.codes.results import RESULTS_CODES
from reportgen.codes.trials import TRIAL_CODES

__all__ = ["ALERT_CODES", "ALERT_LEVELS", "CODES", "Code", "check_code"]

#: Of findings and errors.
CODES = READING_CODES | TRIAL_CODES | RESULTS_CODES


def check_code(code: str, level: str) -> None:
    """Refuse a code that nobody has explained, or one at a level that it does not have.

    Raises
    ------
    ValueError
    """
    if code not in CODES or level not in CODES[code].levels:
        raise ValueError(f"{code} at level {level} is not in codes.CODES")
