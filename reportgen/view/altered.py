"""A small table of the trial's own readings in which one is altered on purpose, for a class to find.

The same trial always gives the same table. The altered reading is one that a slip of the pen makes, and stands out
from its neighbours by more than they do among themselves, so that it can be found by thinking.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from reportgen import rounding, wording
from reportgen.figures.gas_readings import volume_readings
from reportgen.message import COMMA, Message, listed, say
from reportgen.trial import Numbers, Readings, Trial, sources_of

#: Rows of the table: enough to see a course, few enough to look at each (ours).
FEWEST_ROWS, MOST_ROWS = 5, 8
#: The alteration is at least so many times what any true reading of the table is off its neighbours' line (ours).
STANDS_OUT = 4.0
MOST_DECIMALS = 3


@dataclass(frozen=True)
class AlteredView:
    """The table with its one altered reading, and the answer.

    Attributes
    ----------
    quantity : str
        What was read, with its unit.
    rows : tuple of (str, str)
        Time after lighting, and the reading as shown.
    altered : int
        Which row is the altered one, from 0.
    true, shown : str
        The reading of the log, and what stands in its place.
    place : str
        Where the true one stands in the log.
    answer : str
    """

    quantity: str
    rows: tuple[tuple[str, str], ...]
    altered: int
    true: str
    shown: str
    place: str
    answer: str


@dataclass(frozen=True)
class _Slip:
    value: float
    how: Message


def altered_table(trial: Trial) -> AlteredView | None:
    """Return the table; None where no log of the run has readings enough, or no slip would stand out."""
    for quantity, unit, readings in _logs(trial):
        chosen = _spread(readings)
        if chosen is not None and (view := _altered(trial, quantity, unit, chosen)) is not None:
            return view
    return None


def _logs(trial: Trial) -> Iterator[tuple[Message, str, Readings]]:
    """Yield what was read in the run with the burner lit."""
    if not trial.burning:
        return
    # A refill or a second lighting is no slip; the longest time of burning has neither or shows it.
    start, end = max(trial.burning, key=lambda span: span[1] - span[0])
    cabinet = trial.column("cabinet_temperature")
    if cabinet is not None:
        yield say("Cabinet"), "degC", cabinet.between(start, end)
    volumes = volume_readings(trial)
    if not isinstance(volumes, Message):
        kinds = {"holder": say("Gas in the holder"), "meter": say("Gas meter")}
        if trial.sheet.gas.kind in kinds:
            yield kinds[trial.sheet.gas.kind], "L", volumes.between(start, end)


def _spread(readings: Readings) -> Readings | None:
    """Return up to so many readings, evenly spread over them; None where there are too few."""
    if len(readings) < FEWEST_ROWS:
        return None
    picked = np.unique(np.linspace(0, len(readings) - 1, min(len(readings), MOST_ROWS)).round().astype(int))
    keep = np.zeros(len(readings), dtype=bool)
    keep[picked] = True
    return readings.where(keep)


def _altered(trial: Trial, quantity: Message, unit: str, readings: Readings) -> AlteredView | None:
    values = readings.values.astype(float)
    decimals = _decimals(readings.step)
    usual = float(np.abs(off_line(readings.at, values)).max()) + readings.step
    middle = (len(values) - 1) / 2
    order = sorted(range(1, len(values) - 1), key=lambda i: (abs(i - middle), i))
    for kind in (_sign_lost, _digits_swapped, _digit_wrong):
        for i in order:
            slip = kind(float(values[i]), decimals)
            if slip is not None and abs(slip.value - values[i]) >= STANDS_OUT * usual:
                return _view(trial, quantity, unit, readings, i, slip, decimals)
    return None


def off_line(at: Numbers, values: Numbers) -> Numbers:
    """Return how far each inner reading lies off the straight line between its two neighbours."""
    share = (at[1:-1] - at[:-2]) / (at[2:] - at[:-2])
    line: Numbers = values[:-2] + share * (values[2:] - values[:-2])
    return np.asarray(values[1:-1] - line)


def _decimals(step: float) -> int:
    """Return how many decimals readings with this smallest step are written with."""
    return min(max(math.ceil(-math.log10(step) - 1e-9), 0), MOST_DECIMALS) if step > 0 else 1


def _sign_lost(value: float, _: int) -> _Slip | None:
    return _Slip(-value, say("the minus sign was left out")) if value < 0 else None


def _digits_swapped(value: float, decimals: int) -> _Slip | None:
    """Return the value with the last two digits before the decimal mark swapped."""
    whole, _, rest = f"{abs(value):.{decimals}f}".partition(".")
    if len(whole) < 2 or whole[-1] == whole[-2] or (len(whole) == 2 and whole[-1] == "0"):
        return None
    swapped = float(f"{whole[:-2]}{whole[-1]}{whole[-2]}.{rest or 0}")
    return _Slip(math.copysign(swapped, value), say("two digits changed places"))


def _digit_wrong(value: float, decimals: int) -> _Slip | None:
    """Return the value with its first digit wrong: one for seven or the reverse, else off by five."""
    written = f"{abs(value):.{decimals}f}"
    if len(written.partition(".")[0]) < 2:
        return None
    first = int(written[0])
    wrong = {1: 7, 7: 1}.get(first, first + 5 if first < 5 else first - 5)
    if not wrong:
        return None
    return _Slip(
        math.copysign(float(f"{wrong}{written[1:]}"), value),
        say("its first digit was read as {wrong} in place of {first}", wrong=wrong, first=first),
    )


def _view(
    trial: Trial, quantity: Message, unit: str, readings: Readings, i: int, slip: _Slip, decimals: int
) -> AlteredView:
    values = [float(value) for value in readings.values]
    written = [rounding.fixed(value, decimals) for value in values]
    shown = rounding.fixed(slip.value, decimals)
    single = np.zeros(len(values), dtype=bool)
    single[i] = True
    place = listed(sources_of(readings.where(single)), COMMA)
    shown_unit = wording.unit(unit)
    minutes = round((readings.at[i + 1] - readings.at[i - 1]) / 60)
    answer = say(
        "The reading after {time} h was altered. The log says {true} {unit} ({place}); the table says {shown} {unit}: "
        "{how}. Its neighbours, {minutes} min apart, read {before} and {after} {unit}, and nothing that was done would "
        "make it jump away and back.",
        time=rounding.fixed(trial.hours(float(readings.at[i])), 2),
        true=written[i],
        shown=shown,
        unit=shown_unit,
        place=place,
        how=slip.how,
        minutes=minutes,
        before=written[i - 1],
        after=written[i + 1],
    )
    written_as_shown = [*written[:i], shown, *written[i + 1 :]]
    return AlteredView(
        str(say("{quantity}, {unit}", quantity=quantity, unit=shown_unit)),
        tuple(
            (rounding.fixed(trial.hours(float(at)), 2), value)
            for at, value in zip(readings.at, written_as_shown, strict=True)
        ),
        i,
        written[i],
        shown,
        str(place),
        str(answer),
    )
