"""Whether the first lighting that is understood was the first; where the trial itself shows otherwise, none counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reportgen import vocabulary
from reportgen.calc import series
from reportgen.message import Message, say
from reportgen.trial import FILE_NAME, Event, Finding, Numbers, Readings, Trial, wall_clock

HOUR = 3600.0
#: Words that are not understood tell of the run's flame if they stand no longer than this before the lighting; a
#: flame-out, if the flame may have been lit again after a pause [s] (ours).
BEFORE, PAUSE = 12 * HOUR, HOUR
#: The gas is looked at in steps no shorter than this [s] (ours): within it nobody's clock tells before from after.
SPACING = 300.0
#: Gas is drawn for the burner where it goes at this share of the later rate [1], in all as much as the burner takes in
#: so long [s] and no less than so many steps of the scale (ours): a hose that is filled or a holder that cools does
#: less.
LIKE_BURNING, WORTH, LEAST_STEPS = 0.4, 360.0, 3.0
#: So many steps of the scale of a holder or meter are drawn between two looks at it, at the later rate (ours).
STEPS_APART = 3.0
#: A cabinet that falls by so much more than its surroundings is being cooled [K] (ours; as `checks.clocks`).
COOLS = 4.0
#: Surroundings that nobody read may have fallen by so much, as in an evening [K] (ours).
UNSEEN = 4.0
#: Readings tell of a time if they begin and end no farther from it than this [s] (ours).
NEAR = HOUR / 2


def lit_before(trial: Trial) -> Finding | None:
    """Return the finding that the first lighting in the logs of a checked trial was not the first; None where it was.

    A lighting that says itself that it is one more is never the first. Another one is not where gas was drawn, or the
    cabinet cooled, from words on that are not understood, or until a flame-out without lighting. A time of lighting
    in trial.toml settles it.
    """
    first = _first(trial)
    shown = None if first is None else _shown(trial, first)
    if first is None or shown is None:
        return None
    effect = say("nothing that is counted from lighting is given")
    return Finding("caution", "lit-before", shown, first.file, first.row, effect)


def without_run(trial: Trial, found: Finding) -> Trial:
    """Return the trial without a run, since what `lit_before` found leaves open when it began."""
    return replace(
        trial,
        lit_at=None,
        out_at=None,
        burning=(),
        end_recorded=False,
        lit_before=found.message,
        findings=(*trial.findings, found),
    )


def _first(trial: Trial) -> Event | None:
    """Return the row that lit the burner first; None where trial.toml or an elapsed time says when."""
    if trial.sheet.burner.lit is not None or not trial.clocked:
        return None
    return next((event for event in trial.events if event.kind == "burner lit" and event.at == trial.lit_at), None)


def _shown(trial: Trial, first: Event) -> Message | None:
    """Return what shows that the burner was lit before, and what to write; None where nothing does."""
    unread = [event for event in trial.events if event.kind == "other" and first.at - BEFORE <= event.at < first.at]
    outs = [event for event in trial.events if event.kind == "burner out" and first.at - PAUSE <= event.at < first.at]
    values = {"text": first.text[:40], "file": first.file, "row": first.row}
    said: Message | None = None
    if vocabulary.lights_again(first.text):
        said = say('"{text}" ({file}, row {row}) lights the burner again', **values)
    elif not unread and not outs:
        return None
    # Gas is the best witness; the next one is asked only where the one before cannot tell.
    for told, shown in (
        (_by_gas(trial, first, unread, outs), say('gas was drawn before "{text}" ({file}, row {row})', **values)),
        (
            _by_cabinet(trial, first, unread, outs),
            say('the cabinet cooled before "{text}" ({file}, row {row})', **values),
        ),
    ):
        if told:
            return _to_write(trial, said or shown, [event for event in told if event.kind == "other"] or unread)
        if told is not None and said is None:
            return None
    if said is None and any(event.at < out.at for event in unread for out in outs):
        said = say('the burner went out before "{text}" ({file}, row {row})', **values)
    return None if said is None else _to_write(trial, said, unread)


def _to_write(trial: Trial, shown: Message, unread: Sequence[Event]) -> Message:
    if not unread:
        return say(
            '{shown}, and no lighting before it is known; write the time of the first as lit = "…" under [burner] in '
            "{sheet}",
            shown=shown,
            sheet=FILE_NAME,
        )
    event = unread[0]
    moment = wall_clock(event.at, trial.zone)
    clock = f"{moment:%H:%M:%S}" if event.at % 60 else f"{moment:%H:%M}"
    time = f"{moment:%Y-%m-%d} {clock}" if trial.dated else clock
    return say(
        '{shown}; was it first lit at "{other}" ({other_file}, row {other_row})? write {line} under [burner] in '
        "{sheet}, or the time that is right",
        shown=shown,
        other=event.text[:40],
        other_file=event.file,
        other_row=event.row,
        line=f'lit = "{time}"',
        sheet=FILE_NAME,
    )


def _by_gas(trial: Trial, first: Event, unread: Sequence[Event], outs: Sequence[Event]) -> list[Event] | None:
    """Return the events with which gas began or ceased to be drawn before the lighting; None where gas does not tell.

    Empty where the gas was read all along and none was drawn for a burner.
    """
    drawn = _drawn(trial)
    if drawn is None:
        return None
    at, amount, step = drawn
    lit, out = trial.burning[0]
    later = _spaced(at, lit, out, 2 * SPACING)
    if len(later) < 2:
        return None
    rate = float(np.maximum(np.diff(amount[later]), 0.0).sum()) / float(at[later[-1]] - at[later[0]])
    spacing = max(SPACING, STEPS_APART * step / rate) if rate > 0 else SPACING
    early = _spaced(at, first.at - BEFORE, first.at, spacing)
    since = min(event.at for event in (*unread, *outs))
    if rate <= 0 or len(early) < 2 or at[early[-1]] < first.at - max(NEAR, spacing):
        return None
    taken, passed = np.diff(amount[early]), np.diff(at[early])
    burns = np.concatenate(([False], taken >= LIKE_BURNING * rate * passed, [False]))
    edges = np.flatnonzero(np.diff(burns.astype(int)))
    told: list[Event] = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        if float(taken[begin:end].sum()) < max(WORTH * rate, LEAST_STEPS * step):
            continue
        # The flame was lit, and went out, within the step at the edge or within the idle one beside it.
        began, second = at[early[max(begin - 1, 0)]] - spacing * (begin == 0), at[early[begin + 1]]
        last, ended = at[early[end - 1]], at[early[min(end + 1, len(early) - 1)]] + spacing * (end == len(early) - 1)
        told += [event for event in unread if began <= event.at <= second]
        told += [event for event in outs if last <= event.at <= ended]
    covers = at[early[0]] <= since + NEAR and at[early[-1]] >= since + SPACING
    return told if told or covers else None


def _drawn(trial: Trial) -> tuple[Numbers, Numbers, float] | None:
    """Return instants [s], what had gone to the burner by then in any one unit, and the step of the scale in it."""
    kind, sheet = trial.sheet.gas.kind, trial.sheet.gas
    flow, volume, level = (_undoubted(trial, name) for name in ("gas_flow", "gas_volume", "gas_level"))
    if kind == "flow" and flow is not None:
        values = flow.values.astype(float)
        parts = (values[:-1] + values[1:]) / 2 * np.diff(flow.at)
        return flow.at, np.concatenate(([0.0], np.cumsum(parts))), 0.0
    sign = {"holder": -1.0, "meter": 1.0}.get(kind or "")
    elsewhere = trial.column("gas_elsewhere")
    if sign is None or (volume is None and (level is None or elsewhere is not None)):
        return None
    if volume is None:
        assert level is not None
        table = sheet.level_table
        sign *= 1.0 if table is None else float(np.sign(table[-1][1] - table[0][1]))
        return level.at, sign * level.values.astype(float), level.step
    amount = sign * volume.values.astype(float)
    if elsewhere is not None:
        amount -= np.interp(volume.at, elsewhere.at, np.cumsum(elsewhere.values.astype(float)), left=0.0)
    step = volume.step
    if sheet.resolution is not None and sheet.resolution.unit == "L":
        step = max(step, sheet.resolution.value)
    return volume.at, amount, step


def _undoubted(trial: Trial, name: str) -> Readings | None:
    """Return the readings of a column that no check doubts; None where there are none."""
    readings = trial.column(name)
    kept = readings.for_fits() if readings is not None else None
    return kept if kept is not None and len(kept) else None


def _spaced(at: Numbers, start: float, end: float, spacing: float) -> Numbers:
    """Return the indices of the first instant of each stretch of `spacing` from `start` to `end`, both included."""
    first, beyond = np.searchsorted(at, start, side="left"), np.searchsorted(at, end, side="right")
    _, chosen = np.unique(np.floor((at[first:beyond] - start) / spacing), return_index=True)
    return np.asarray(first + chosen)


def _by_cabinet(trial: Trial, first: Event, unread: Sequence[Event], outs: Sequence[Event]) -> list[Event] | None:
    """Return the events with which the cabinet began or ceased to be cooled; None where it does not tell."""
    cabinet = _undoubted(trial, "cabinet_temperature")
    if cabinet is None:
        return None
    told: list[Event] = []
    tells = False
    for event in unread:
        after = _fall(trial, cabinet, event.at, first.at)
        before = _fall(trial, cabinet, 2 * event.at - first.at, event.at)
        tells |= after is not None
        # What cooled as fast before has another cause than the event.
        if after is not None and after >= COOLS and (before or 0.0) <= after / 2:
            told.append(event)
    for event in outs:
        fall = _fall(trial, cabinet, event.at - BEFORE, event.at)
        tells |= fall is not None
        if fall is not None and fall >= COOLS:
            told.append(event)
    return told if tells else None


def _fall(trial: Trial, cabinet: Readings, start: float, end: float) -> float | None:
    """Return by how much the cabinet fell to its last reading, beyond its surroundings [K]; None where hardly read."""
    read = cabinet.between(start - NEAR, end)
    if len(read) < 3 or read.at[-1] < end - NEAR:
        return None
    values = series.running_median_of_three(read.values.astype(float))
    top = int(np.argmax(values))
    fall = float(values[top] - values[-1])
    ambient = trial.column("ambient_temperature")
    if ambient is None:
        return fall - UNSEEN
    warm, cool = np.interp([read.at[top], read.at[-1]], ambient.at, ambient.values.astype(float))
    return fall - max(float(warm - cool), 0.0)
