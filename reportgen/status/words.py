"""A status in words, for a terminal of 80 columns without colour, and as plain data."""

from __future__ import annotations

import textwrap
from typing import Any

from reportgen import rounding
from reportgen.codes import ALERT_CODES
from reportgen.message import NOTHING, Message, say
from reportgen.plan.page import lighting_texts
from reportgen.results_file import finding_document
from reportgen.safety.fixed import deference
from reportgen.status.forecast import Forecast
from reportgen.status.state import PLAN_NAME, Status
from reportgen.trial import wall_clock

#: Lines are no shorter than this, however narrow the terminal [characters] (ours).
NARROWEST = 30
#: What may come within so long is said to come any time now [h] (ours).
SOON = 5 / 60
#: From so large a chance on that it has happened unseen, that is said [1] (ours).
MAY_HAVE_PASSED = 0.1
#: Numbers are written to this many significant digits.
DIGITS = 5
LABELS = {
    "time_to_0": say("Cabinet at 0 °C"),
    "time_to_minus_6": say("Cabinet at −6 °C"),
    "time_to_minus_12": say("Cabinet at −12 °C"),
    "time_to_minus_18": say("Cabinet at −18 °C"),
    "ice_making_time": say("Ice solid"),
    "gas_lasts_until": say("Gas down to its reserve"),
    "gas_left_when_solid": say("Gas above the reserve when the ice is solid"),
}
_RESTS_ON = say(
    "Medians and ranges that hold in 8 cases of 10, while the flame burns as so far. They join these readings to what "
    "small absorption cabinets usually do (bands of our own; of shaped ice, Plank's equation). Results so far are "
    "ranges of the readings."
)


def status_document(status: Status) -> dict[str, Any]:
    """Return a status as plain data."""
    return {
        "at": _stamp(status),
        "elapsed_h": _number(status.elapsed),
        "forecasts": {key: _forecast_document(one) for key, one in status.forecasts.items()},
        "alerts": [
            {"level": alert.level, "code": alert.code, "message": str(alert.message)} for alert in status.alerts
        ],
        "findings": [finding_document(finding) for finding in status.trial.findings],
        "look_at_h": _number(status.look_at),
        "past_runs": {
            "given": list(status.past),
            "of_cooling": list(status.given.usual.of_cooling),
            "of_ice": list(status.given.usual.of_ice),
        },
        "plan": None
        if status.plan is None
        else [{"key": one.key, "on_course": one.on_course, "message": str(one.verdict)} for one in status.plan],
    }


def _forecast_document(one: Forecast) -> dict[str, Any]:
    return {
        "value": _number(one.value),
        "interval_80": None if one.interval is None else [_number(end) for end in one.interval],
        "unit": one.unit,
        "reason": None if one.reason is None else str(one.reason),
        "happened": one.happened,
        "chance_passed_unseen": None if one.value is None or one.happened else _number(one.passed),
    }


def status_text(status: Status, width: int, age: float | None = None) -> str:
    """Return a status in plain lines of at most `width` characters, where words allow it; `age` [s] of its moment."""
    width = max(width, NARROWEST)
    parts = [_wrapped(str(_head(status, age)), width)]
    if status.alerts:
        lines = []
        for alert in status.alerts:
            lines.append(_wrapped(f"{alert.level.upper()}: {alert.message} [{alert.code}]", width, "! ", "  "))
        parts.append("\n".join(lines))
    else:
        parts.append(str(say("No alert. What nobody measures raises none.")))
    happened = {key: one for key, one in status.forecasts.items() if one.happened}
    ahead = {key: one for key, one in status.forecasts.items() if not one.happened and one.value is not None}
    withheld = {key: one for key, one in status.forecasts.items() if not one.happened and one.value is None}
    if happened:
        parts.append(_listed(say("Happened:"), [_line(status, key, one) for key, one in happened.items()], width))
    if ahead:
        parts.append(_listed(say("Likely next:"), [_line(status, key, one) for key, one in ahead.items()], width))
    if status.look_at is not None:
        parts.append(_wrapped(str(say("Look at the ice at {time}.", time=_clock(status, status.look_at))), width))
    if withheld:
        by_reason: dict[str, list[str]] = {}
        for key, one in withheld.items():
            by_reason.setdefault(str(one.reason), []).append(str(LABELS[key]))
        items = [f"{'; '.join(labels)}: {reason}" for reason, labels in by_reason.items()]
        parts.append(_listed(say("Withheld:"), items, width))
    if status.plan is not None:
        plan = [str(one.verdict) for one in status.plan] or [str(say("it holds nothing that can be compared"))]
        parts.append(_listed(say("Beside {plan}:", plan=PLAN_NAME), plan, width))
    if status.past:
        parts.append(_listed(say("Your past runs:"), [str(line) for line in _past_lines(status)], width))
    parts.append(_wrapped(str(_RESTS_ON), width))
    if not status.trial.burning or status.trial.end_recorded:
        parts.append(_listed(say("Before you light:"), list(lighting_texts()), width))
    parts.append(_wrapped(str(deference().text), width))
    return "\n\n".join(parts) + "\n"


def _head(status: Status, age: float | None) -> Message:
    if status.at is None:
        return say("Nothing is logged yet.")
    old = say(", {minutes} min ago", minutes=round(age / 60)) if age is not None and status.trial.dated else NOTHING
    if status.elapsed is None:
        return say("As of {at}{old}: when the burner was lit is not recorded.", at=_shown_stamp(status), old=old)
    burner = say("the burner is out") if status.trial.end_recorded else say("the burner counts as lit")
    return say(
        "As of {at}{old}, {elapsed} after lighting; {burner}.",
        at=_shown_stamp(status),
        old=old,
        elapsed=rounding.duration(status.elapsed),
        burner=burner,
    )


def _line(status: Status, key: str, one: Forecast) -> str:
    assert one.value is not None and one.interval is not None
    value, low, high = rounding.about(one.value, *one.interval)
    if one.unit != "h":
        missing = say("; below zero is what is missing") if one.interval[0] < 0 else NOTHING
        text = say("{what}: {value} L as read ({low} to {high})", what=LABELS[key], value=value, low=low, high=high)
        return f"{text}{missing}"
    likely = NOTHING
    if one.chance is not None and one.chance < 0.95:
        likely = say(", if it gets there (about {n} chances in 100)", n=5 * round(20 * one.chance))
    elif one.passed >= MAY_HAVE_PASSED:
        likely = say(", if it is not there yet (about {n} chances in 100 that it is)", n=5 * round(20 * one.passed))
    if not one.happened and status.elapsed is not None and one.interval[0] - status.elapsed < SOON:
        return str(
            say(
                "{what}: any time now, most likely by {clock}{high} h after lighting{likely}",
                what=LABELS[key],
                clock=f"{_clock(status, one.interval[1])}, " if status.trial.clocked else "",
                high=high,
                likely=likely,
            )
        )
    return str(
        say(
            "{what}: {clock}{value} h after lighting ({low} to {high} h){likely}",
            what=LABELS[key],
            clock=f"{_clock(status, one.value)}, " if status.trial.clocked else "",
            value=value,
            low=low,
            high=high,
            likely=likely,
        )
    )


def _past_lines(status: Status) -> list[Message]:
    """Return which past runs were used, and for what."""
    usual, lines = status.given.usual, []
    if usual.of_cooling:
        lines.append(say("how the cabinet cools: {runs}", runs=", ".join(usual.of_cooling)))
    if usual.of_ice:
        lines.append(say("how long the ice takes: {runs}", runs=", ".join(usual.of_ice)))
    if usual.of_ice and not status.trial.looks:
        lines.append(say("nobody looked at the ice in this trial yet, so its time rests on them alone"))
    if not lines:
        lines.append(say("none of them tells how a cabinet cooled, or how long ice took"))
    return lines


def _clock(status: Status, hours: float) -> str:
    """Return the clock time so many hours after lighting; hours where no clock time is known."""
    lit = status.trial.lit_at
    if lit is None or not status.trial.clocked:
        return str(say("{hours} h after lighting", hours=rounding.fixed(hours, 1)))
    moment = wall_clock(round((lit + 3600 * hours) / 60) * 60, status.trial.zone)
    return f"{moment:%H:%M}"


def _stamp(status: Status) -> str | None:
    if status.at is None or not status.trial.clocked:
        return None
    moment = wall_clock(status.at, status.trial.zone)
    return moment.isoformat(timespec="seconds") if status.trial.dated else f"{moment:%H:%M:%S}"


def _shown_stamp(status: Status) -> str:
    if status.at is None or not status.trial.clocked:
        return str(say("the last reading"))
    moment = wall_clock(status.at, status.trial.zone)
    return f"{moment:%Y-%m-%d %H:%M}" if status.trial.dated else f"{moment:%H:%M}"


def _number(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.{DIGITS}g}")


def _listed(head: Message, items: list[str], width: int) -> str:
    return "\n".join([str(head), *(_wrapped(item, width, "- ", "  ") for item in items)])


def _wrapped(text: str, width: int, first: str = "", rest: str = "") -> str:
    return textwrap.fill(
        text, width, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )


def alerts_table() -> str:
    """Return the table of all alerts as Markdown."""
    rows = [f"| `{name}` | {code.level} | {code.meaning} | {code.action} |" for name, code in ALERT_CODES.items()]
    return "\n".join(["| alert | level | what it means | what to do |", "| --- | --- | --- | --- |", *rows])
