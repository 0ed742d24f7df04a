"""What is asked for a trial, and what became of it: small, and quick to load, since every worker is sent them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from reportgen.speech import Manner
from reportgen.wish import Wish

FORMATS = ("html", "md")
#: The edition that holds everything.
FULL = "full"
WRITTEN, UNCHANGED, FAILED = "written", "unchanged", "failed"
_AS_IT_IS, _IN_ENGLISH = Wish(), Manner()


@dataclass(frozen=True, slots=True)
class Order:
    """A trial to be reported: its folder, where the report goes, and how.

    With `below` the report goes into a folder below `out` that is named as the trial is published.
    """

    folder: Path
    out: Path
    formats: tuple[str, ...] = FORMATS
    wish: Wish = _AS_IT_IS
    below: bool = False
    edition: str = FULL
    manner: Manner = _IN_ENGLISH

    @property
    def has_charts(self) -> bool:
        """Whether any of the formats shows them."""
        return any(name != "text" for name in self.formats)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a trial.

    Attributes
    ----------
    status : str
        `WRITTEN`, `UNCHANGED` or `FAILED`.
    reason : str
        Why it failed.
    code : str
        Of the error by which it failed; "" where that is none of ours.
    out : Path or None
        Folder of the report; None where it failed.
    names : tuple of str
        Files of the report.
    errors, cautions : tuple of str
        Findings of these levels, a line each: ``caution log.csv, row 3: …``.
    warnings : tuple of str
        Of danger, as the index shows them.
    """

    folder: Path
    status: str
    reason: str = ""
    code: str = ""
    out: Path | None = None
    names: tuple[str, ...] = ()
    errors: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def paths(self) -> tuple[Path, ...]:
        """The files of the report."""
        return () if self.out is None else tuple(self.out / name for name in self.names)
