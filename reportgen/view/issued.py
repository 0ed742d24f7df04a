"""How a report was issued, as text: photos beside it, what an anonymous edition leaves out, what an amendment moved."""

from __future__ import annotations

import base64

from reportgen import rounding, wording
from reportgen.anonymous import LEFT_OUT
from reportgen.catalogue import KINDS
from reportgen.issue import Amendment, Moved, State
from reportgen.message import say
from reportgen.trial import Trial
from reportgen.view.parts import AmendmentView, MovedView, PhotoView

#: Significant digits of a number without a range, and of one that moved by less than its range shows (ours).
FEWEST_DIGITS, DIGITS = 3, 6


def photo_views(trial: Trial) -> tuple[PhotoView, ...]:
    """Return the photos of a trial, with their words and names of their own beside a Markdown report."""
    return tuple(
        PhotoView(
            caption=photo.caption,
            alt=str(
                say("Photo {n} of this trial: {caption}", n=n, caption=photo.caption)
                if photo.caption
                else say("Photo {n} of this trial, without a caption", n=n)
            ),
            data_address=f"data:image/jpeg;base64,{base64.b64encode(photo.jpeg).decode()}",
            file_name=f"photos/photo-{n}.jpg",
            jpeg=photo.jpeg,
            width=photo.width,
            height=photo.height,
        )
        for n, photo in enumerate(trial.photos, start=1)
    )


def left_out(trial: Trial) -> tuple[str, ...]:
    """Return what an anonymous edition leaves out; nothing for any other."""
    return tuple(str(LEFT_OUT[key]) for key in trial.left_out)


def amendment_view(amendment: Amendment | None) -> AmendmentView | None:
    """Return what a report amends, as text."""
    if amendment is None:
        return None
    return AmendmentView(
        sentence=str(say("This report replaces report {id}.", id=amendment.replaced.id)),
        reason=amendment.replaced.reason,
        at_hand=amendment.moved is not None,
        moved=tuple(map(_moved, amendment.moved or ())),
        earlier=tuple((report.id, report.reason) for report in amendment.earlier),
    )


def _moved(change: Moved) -> MovedView:
    kind = KINDS[change.key]
    unit = wording.unit(kind.unit)
    before = say("not among its figures") if change.before is None else _said(change.before, unit)
    now = _said(change.now, unit)
    if change.before is not None and str(before) == now:
        before, now = _said(change.before, unit, DIGITS), _said(change.now, unit, DIGITS)
    return MovedView(str(kind.label), str(before), now)


def _said(state: State, unit: str, digits: int | None = None) -> str:
    """Return what is known of a figure, with the digits of its range or with so many."""

    def amount(value: float) -> str:
        return f"{rounding.plain(value, digits or FEWEST_DIGITS)} {unit}".strip()

    if state.value is None:
        if state.at_least is not None:
            return str(say("more than {amount}", amount=amount(state.at_least)))
        if state.at_most is not None:
            return str(say("at most {amount}", amount=amount(state.at_most)))
        return str(say("not given"))
    if state.interval is None:
        return amount(state.value)
    value, low, high = rounding.about(state.value, *state.interval)
    if digits is not None:
        value, low, high = (rounding.plain(number, digits) for number in (state.value, *state.interval))
    return str(say("{value} ({low} to {high})", value=f"{value} {unit}".strip(), low=low, high=high))
