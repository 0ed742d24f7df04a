"""What can go wrong in a way that the user can mend. Each error is one to three lines: what, where, what to do."""


class ReportgenError(Exception):
    """Base of all errors shown to the user without a traceback.

    The message names the file and row, what is wrong and what to do, in one to three lines.
    """


class TrialFileError(ReportgenError):
    """`trial.toml` is missing, is no TOML, or holds a key or value that cannot be used."""


class LogFileError(ReportgenError):
    """A log cannot be read safely."""


class OutputError(ReportgenError):
    """A report or results file cannot be written."""
