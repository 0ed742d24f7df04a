"""During a trial: what has happened, what is likely next, and what is wrong, as of one moment."""

from reportgen.status.forecast import Forecast, Forecasts, forecasts
from reportgen.status.moment import MomentError, last_moment, moment_of, until
from reportgen.status.state import Status, status_of

__all__ = [
    "Forecast",
    "Forecasts",
    "MomentError",
    "Status",
    "forecasts",
    "last_moment",
    "moment_of",
    "status_of",
    "until",
]
