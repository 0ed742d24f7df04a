"""What a user asks of the issue of a report. It loads quickly, since every command line and worker needs it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Wish:
    """What the user asks of the issue of a report, beside what is in the trial folder.

    Attributes
    ----------
    issued : date or None
    anonymous : bool
    edition : str
    amends : (str, str) or None
        Id of the report that this one replaces, and why.
    amends_from : Path or None
        Its results file, where that is not the one in the output folder.
    """

    issued: dt.date | None = None
    anonymous: bool = False
    edition: str = ""
    amends: tuple[str, str] | None = None
    amends_from: Path | None = None
