"""The command line: flags in, one call, outcome out. The one place that prints and that knows exit statuses."""

from reportgen.cli.main import DONE, FAILED, INTERRUPTED, WRONG_USAGE, run

__all__ = ["DONE", "FAILED", "INTERRUPTED", "WRONG_USAGE", "run"]
