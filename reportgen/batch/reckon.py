"""From the folder of a trial to its figures: the part of a report that comes before any word of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from reportgen.anonymous import anonymised, without_names
from reportgen.batch.order import Order
from reportgen.figures import Results, compute
from reportgen.issue import refuse_mixing
from reportgen.read.folder import read_trial
from reportgen.trial import Trial
from reportgen.wish import Wish


@dataclass(frozen=True)
class Reckoned:
    """A trial as it may be shown, its figures, where the report goes, and what is asked of its issue."""

    trial: Trial
    results: Results
    out: Path
    wish: Wish


def reckon(order: Order, *, is_alone: bool) -> Reckoned:
    """Read a trial and return what its report is made of.

    Where it is not alone, whoever ordered it has seen to it that no report of the other kind stands there.

    Raises
    ------
    ReportgenError
        If the trial cannot be read, or must not be reported there.
    """
    if "pdf" in order.formats:
        from reportgen.pdf import find_browser

        find_browser()  # said before the work, not after it
    trial = read_trial(order.folder)
    if trial.sheet.photos:
        from reportgen.photos import with_photos

        trial = with_photos(trial, order.folder)
    wish = replace(order.wish, edition=order.edition)
    if wish.anonymous:
        if wish.amends is not None:
            wish = replace(wish, amends=(wish.amends[0], without_names(wish.amends[1], trial.sheet)))
        trial = anonymised(trial)
    out = order.out / trial.folder if order.below else order.out
    if is_alone:
        refuse_mixing(out, wish.anonymous)
    return Reckoned(trial, compute(trial), out, wish)
