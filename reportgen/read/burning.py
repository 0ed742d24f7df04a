"""When the burner was lit and out: what trial.toml states and what the event rows say, brought together."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.message import Message, say
from reportgen.trial import Event, Finding

#: trial.toml and a log row that differ by no more than this speak of the same moment [s] (ours).
SAME_MOMENT = 60.0
DAY = 86400.0
FILE_NAME = "trial.toml"


@dataclass(frozen=True)
class Stated:
    """Moments that trial.toml states [s since 1970 UTC], None where it does not."""

    lit: float | None
    out: float | None
    placed: float | None


@dataclass(frozen=True)
class Run:
    """The run: see the attributes of the same names in `Trial`."""

    lit_at: float | None
    out_at: float | None
    placed_at: float | None
    spans: tuple[tuple[float, float], ...]
    end_recorded: bool
    findings: tuple[Finding, ...]


def find_run(stated: Stated, events: list[Event], last_reading: float | None) -> Run:
    """Return when the burner burnt and when the water was placed.

    trial.toml is used before an event row, and a difference is a finding. Without any flame-out the last span ends with
    the last reading.
    """
    findings: list[Finding] = []
    lit = [event.at for event in events if event.kind == "burner lit"]
    out = [event.at for event in events if event.kind == "burner out"]
    if stated.lit is not None:
        if lit:
            _compare("burner.lit", stated.lit, _event(events, "burner lit", first=True), findings)
        lit = [stated.lit, *lit[1:]]
    stated_out = _after(stated.out, min(lit, default=None))
    if stated_out is not None:
        if out:
            _compare("burner.out", stated_out, _event(events, "burner out", first=False), findings)
        out = [*out[:-1], stated_out]
    spans, end_recorded = _spans(lit, out, last_reading, findings)
    lit_at = spans[0][0] if spans else None
    placed = _after(stated.placed, lit_at, allowance=DAY / 2)
    if (event := _event(events, "water placed", first=True)) is not None:
        if placed is None:
            placed = event.at
        else:
            _compare("water.placed", placed, event, findings)
    return Run(lit_at, spans[-1][1] if spans else None, placed, spans, end_recorded, tuple(findings))


def _spans(
    lit: list[float], out: list[float], last_reading: float | None, findings: list[Finding]
) -> tuple[tuple[tuple[float, float], ...], bool]:
    moments = sorted([(at, 1) for at in lit] + [(at, 0) for at in out])
    spans: list[tuple[float, float]] = []
    since: float | None = None
    for at, is_lit in moments:
        if is_lit and since is None:
            since = at
        elif is_lit:
            findings.append(_finding("lit-twice", say("the burner is lit again without having gone out; taken as burning on")))
        elif since is not None:
            if at > since:
                spans.append((since, at))
            since = None
        else:
            findings.append(_finding("out-unlit", say("the burner goes out without having been lit; not used")))
    if since is None:
        return tuple(spans), bool(spans)
    if last_reading is not None and last_reading > since:
        findings.append(_finding("end-not-recorded", say(
            "when the burner went out is not recorded; the last reading is taken as the end"), "caution"))  # fmt: skip
        spans.append((since, last_reading))
    else:
        findings.append(_finding("no-reading-after-lit", say("there is no reading after the burner was lit"), "caution"))
    return tuple(spans), False


def _after(at: float | None, start: float | None, allowance: float = 0.0) -> float | None:
    """Return a stated clock time on the next day where it would else lie before the start."""
    return at + DAY if at is not None and start is not None and at < start - allowance else at


def _event(events: list[Event], kind: str, *, first: bool) -> Event | None:
    chosen = [event for event in events if event.kind == kind]
    return (chosen[0] if first else chosen[-1]) if chosen else None


def _compare(key: str, at: float, event: Event | None, findings: list[Finding]) -> None:
    if event is not None and abs(event.at - at) > SAME_MOMENT:
        message = say(
            "{key} of {sheet} and this row differ by {minutes} min; {sheet} is used",
            key=key, sheet=FILE_NAME, minutes=round(abs(event.at - at) / 60),
        )  # fmt: skip
        findings.append(Finding("caution", "times-differ", message, event.file, event.row))


def _finding(code: str, message: Message, level: str = "note") -> Finding:
    return Finding(level, code, message)
