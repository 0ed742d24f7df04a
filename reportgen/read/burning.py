"""When the burner was lit and out: what trial.toml states and what the event rows say, brought together."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass

from reportgen.message import Message, say
from reportgen.read.sheet import FILE_NAME
from reportgen.trial import Event, Finding, wall_clock

#: trial.toml and a log row that differ by no more than this speak of the same moment [s] (ours).
SAME_MOMENT = 60.0
#: Water is placed at most this long before the burner is lit; one further back is of the next day [s] (ours).
PLACED_BEFORE = 43200.0
#: Logs that end no longer than this before a moment may well be logs of it [s] (ours).
AFTER_LAST = 3600.0


@dataclass(frozen=True)
class Stated:
    """Moments that trial.toml states [s since 1970 UTC], None where it does not.

    `out_next_day` and `placed_next_day` are the same clock times a day later, None where a date is stated;
    `out_afternoon` and `placed_afternoon` are twelve hours later, None also where the clock time can be no
    afternoon one. `zone` is that of the wall clock.
    """

    lit: float | None = None
    out: float | None = None
    placed: float | None = None
    out_next_day: float | None = None
    placed_next_day: float | None = None
    out_afternoon: float | None = None
    placed_afternoon: float | None = None
    zone: dt.tzinfo = dt.UTC


@dataclass(frozen=True)
class Run:
    """The run: see the attributes of the same names in `Trial`."""

    lit_at: float | None
    out_at: float | None
    placed_at: float | None
    spans: tuple[tuple[float, float], ...]
    end_recorded: bool
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Change:
    """The flame lit or out, and the row that says so (None: trial.toml)."""

    at: float
    is_lit: bool
    event: Event | None = None


def find_run(stated: Stated, events: list[Event], last_reading: float | None) -> Run:
    """Return when the burner burnt and when the water was placed.

    trial.toml is used before an event row, and a difference is a finding. Without any flame-out the last span
    ends with the last reading.
    """
    findings: list[Finding] = []
    lit = list(_changes(events, "burner lit"))
    out = list(_changes(events, "burner out"))
    if stated.lit is not None:
        first = lit[0] if lit else None
        # A flame-out between the two makes the row a relighting, which says nothing of the first lighting.
        if first is not None and not any(stated.lit < change.at <= first.at for change in out):
            _compare("burner.lit", stated.lit, first.event, findings)
            lit = lit[1:]
        lit = [_Change(stated.lit, True), *lit]
    began = min((change.at for change in lit), default=None)
    stated_out = _not_before(stated, "burner.out", began, last_reading, findings)
    if stated_out is not None:
        last = out[-1] if out else None
        if last is not None and not any(last.at <= change.at < stated_out for change in lit):
            _compare("burner.out", stated_out, last.event, findings)
            out = out[:-1]
        out = [*out, _Change(stated_out, False)]
    spans, end_recorded = _spans([*lit, *out], last_reading, findings)
    lit_at = spans[0][0] if spans else None
    earliest = None if lit_at is None else lit_at - PLACED_BEFORE
    placed = _not_before(stated, "water.placed", earliest, last_reading, findings)
    if (event := next((event for event in events if event.kind == "water placed"), None)) is not None:
        if placed is None:
            placed = event.at
        else:
            _compare("water.placed", placed, event, findings)
    return Run(lit_at, spans[-1][1] if spans else None, placed, spans, end_recorded, tuple(findings))


def _changes(events: list[Event], kind: str) -> Iterator[_Change]:
    return (_Change(event.at, kind == "burner lit", event) for event in events if event.kind == kind)


def _spans(
    changes: list[_Change], last_reading: float | None, findings: list[Finding]
) -> tuple[tuple[tuple[float, float], ...], bool]:
    spans: list[tuple[float, float]] = []
    since: _Change | None = None
    for change in sorted(changes, key=lambda change: (change.at, change.is_lit)):
        if change.is_lit and since is None:
            since = change
        elif change.is_lit:
            findings.append(
                _finding(
                    "lit-twice", say("the burner is lit again without having gone out; taken as burning on"), change
                )
            )
        elif since is not None:
            if change.at > since.at:
                spans.append((since.at, change.at))
            since = None
        else:
            findings.append(_finding("out-unlit", say("the burner goes out without having been lit; not used"), change))
    if since is None:
        return tuple(spans), bool(spans)
    if last_reading is not None and last_reading > since.at:
        findings.append(
            _finding(
                "end-not-recorded",
                say(
                    "when the burner went out is not recorded; the last reading is taken as the end; add out under "
                    "[burner] in {sheet}",
                    sheet=FILE_NAME,
                ),
                since,
                "caution",
            )
        )
        spans.append((since.at, last_reading))
    else:
        findings.append(
            _finding(
                "no-reading-after-lit",
                say(
                    "there is no reading after the burner was lit, so there is no run; compare the time of lighting "
                    "with those of the logs"
                ),
                since,
                "caution",
            )
        )
    return tuple(spans), False


def _not_before(
    stated: Stated, key: str, start: float | None, last_reading: float | None, findings: list[Finding]
) -> float | None:
    """Return a stated moment; a clock time that would lie before the start is of the afternoon or the next day.

    The logs decide: it is of the afternoon, on a 12-hour clock, where they cover that and end before the next day's.
    """
    section, _, name = key.partition(".")
    moments: list[float | None] = [getattr(stated, f"{name}{suffix}") for suffix in ("", "_next_day", "_afternoon")]
    at, next_day, afternoon = moments
    if at is None or next_day is None or start is None or at >= start:
        return at
    covered = -math.inf if last_reading is None else last_reading + AFTER_LAST
    in_half = afternoon is not None and start < afternoon <= covered < next_day
    taken = afternoon if afternoon is not None and in_half else next_day
    is_logged = next_day <= covered
    written, read = (f"{wall_clock(moment, stated.zone):%H:%M}" for moment in (at, taken))
    if in_half:
        message = say(
            "{key} at {written} would lie before the run; the logs end before that time of the next day, so it is read "
            'on a 12-hour clock as {read}; write {name} = "{read}" under [{section}]',
            key=key,
            written=written,
            read=read,
            name=name,
            section=section,
        )
    elif is_logged:
        message = say(
            "{key} at {written} would lie before the run; taken as {read} of the next day, to which the logs run",
            key=key,
            written=written,
            read=read,
        )
    else:
        message = say(
            "{key} at {written} would lie before the run; taken as {read} of the next day, though no log runs so long; "
            "if that is wrong, write the time of a 24-hour clock, or date and time, as {name} under [{section}]",
            key=key,
            written=written,
            read=read,
            name=name,
            section=section,
        )
    level, code = "note" if is_logged else "caution", "twelve-hour-clock" if in_half else "next-day"
    findings.append(Finding(level, code, message, FILE_NAME))
    return taken


def _compare(key: str, at: float, event: Event | None, findings: list[Finding]) -> None:
    if event is not None and abs(event.at - at) > SAME_MOMENT:
        message = say(
            "{key} of {sheet} and this row differ by {minutes} min; {sheet} is used; correct the one that is wrong",
            key=key,
            sheet=FILE_NAME,
            minutes=round(abs(event.at - at) / 60),
        )
        findings.append(Finding("caution", "times-differ", message, event.file, event.row))


def _finding(code: str, message: Message, change: _Change, level: str = "note") -> Finding:
    """Return a finding at the row that speaks of the change."""
    if change.event is None:
        return Finding(level, code, message, FILE_NAME)
    return Finding(level, code, message, change.event.file, change.event.row)
