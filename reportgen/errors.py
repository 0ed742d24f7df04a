"""What can go wrong in a way that the user can mend. Each error is one to three lines: what, where, what to do."""

from __future__ import annotations

from reportgen.codes import check_code


class ReportgenError(Exception):
    """Base of all errors shown to the user without a traceback.

    Attributes
    ----------
    code : str
        Stable name of the kind of error, one of `codes.CODES`.
    text : str
        One to three lines: the file and row, what was found, what was expected and what to do.
    file : str or None
        File of the trial folder that is at fault.
    row : int or None
        As a spreadsheet counts.
    """

    def __init__(self, code: str, text: str, file: str | None = None, row: int | None = None) -> None:
        check_code(code, "error")
        super().__init__(code, text, file, row)
        self.code, self.text, self.file, self.row = code, text, file, row

    def __str__(self) -> str:
        return self.text


class TrialFileError(ReportgenError):
    """`trial.toml` is missing, is no TOML, or holds a key or value that cannot be used."""


class LogFileError(ReportgenError):
    """A log cannot be read safely."""


class OutputError(ReportgenError):
    """A report or results file cannot be written."""
