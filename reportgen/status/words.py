"""A status in words, for a terminal of 80 columns without colour, and as plain data."""

from __future__ import annotations

from typing import Any

from reportgen import rounding
from reportgen.lines import itemised, wrapped
from reportgen.message import COMMA, NOTHING, Message, listed, say, say_counted
from reportgen.plan.page import lighting_texts
from reportgen.results_file import finding_document
from reportgen.safety.fixed import deference
from reportgen.status.forecast import Forecast
from reportgen.status.state import PLAN_NAME, Status
from reportgen.trial import wall_clock

#: How urgent an alert is, as its line begins.
LEVELS = {"act now": say("ACT NOW"), "caution": say("CAUTION"), "note": say("NOTE")}
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
    parts = [wrapped(str(_head(status, age)), width)]
    if status.alerts:
        lines = []
        for alert in status.alerts:
            told = say("{level}: {message}", level=LEVELS[alert.level], message=alert.message)
            lines.append(wrapped(f"{told} [{alert.code}]", width, "! ", "  "))
        parts.append("\n".join(lines))
    else:
        parts.append(str(say("No alert. What nobody measures raises none.")))
    happened = {key: one for key, one in status.forecasts.items() if one.happened}
    ahead = {key: one for key, one in status.forecasts.items() if not one.happened and one.value is not None}
    withheld = {key: one for key, one in status.forecasts.items() if not one.happened and one.value is None}
    if happened:
        parts.append(itemised(str(say("Happened:")), [_line(status, key, one) for key, one in happened.items()], width))
    if ahead:
        parts.append(itemised(str(say("Likely next:")), [_line(status, key, one) for key, one in ahead.items()], width))
    if status.look_at is not None:
        parts.append(wrapped(str(say("Look at the ice at {time}.", time=_clock(status, status.look_at))), width))
    if withheld:
        by_reason: dict[str, list[str]] = {}
        for key, one in withheld.items():
            by_reason.setdefault(str(one.reason), []).append(str(LABELS[key]))
        items = [str(say("{labels}: {why}", labels=listed(labels), why=reason)) for reason, labels in by_reason.items()]
        parts.append(itemised(str(say("Withheld:")), items, width))
    if status.plan is not None:
        plan = [str(one.verdict) for one in status.plan] or [str(say("it holds nothing that can be compared"))]
        parts.append(itemised(str(say("Beside {plan}:", plan=PLAN_NAME)), plan, width))
    if status.past:
        parts.append(itemised(str(say("Your past runs:")), [str(line) for line in _past_lines(status)], width))
    parts.append(wrapped(str(_RESTS_ON), width))
    if not status.trial.burning or status.trial.end_recorded:
        parts.append(itemised(str(say("Before you light:")), lighting_texts(), width))
    parts.append(wrapped(str(deference().text), width))
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
        likely = say_counted(
            5 * round(20 * one.chance),
            ", if it gets there (about {n} chance in 100)",
            ", if it gets there (about {n} chances in 100)",
        )
    elif one.passed >= MAY_HAVE_PASSED:
        likely = say_counted(
            5 * round(20 * one.passed),
            ", if it is not there yet (about {n} chance in 100 that it is)",
            ", if it is not there yet (about {n} chances in 100 that it is)",
        )
    if not one.happened and status.elapsed is not None and one.interval[0] - status.elapsed < SOON:
        return str(
            say(
                "{what}: any time now, as likely as not by {middle}, most likely by {clock}{high} h after "
                "lighting{likely}",
                what=LABELS[key],
                middle=_clock(status, one.value),
                clock=_clock_before(status, one.interval[1]),
                high=high,
                likely=likely,
            )
        )
    return str(
        say(
            "{what}: {clock}{value} h after lighting ({low} to {high} h){likely}",
            what=LABELS[key],
            clock=_clock_before(status, one.value),
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
        lines.append(say("how the cabinet cools: {runs}", runs=listed(usual.of_cooling, COMMA)))
    if usual.of_ice:
        lines.append(say("how long the ice takes: {runs}", runs=listed(usual.of_ice, COMMA)))
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


def _clock_before(status: Status, hours: float) -> Message:
    """Return the clock time as it stands before the hours after lighting; nothing where none is known."""
    return say("{clock}, ", clock=_clock(status, hours)) if status.trial.clocked else NOTHING


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
