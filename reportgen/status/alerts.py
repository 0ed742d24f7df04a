"""What is wrong as of one moment, worst first: what people breathe before all else."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from reportgen import rounding
from reportgen.calc import uncertainty
from reportgen.codes import ALERT_CODES, ALERT_LEVELS
from reportgen.figures.gas_account import GasAccount
from reportgen.message import Message, say, say_counted
from reportgen.safety.air import air_notes
from reportgen.safety.gas import HIGH_RATE, WEAK_GAS
from reportgen.safety.run import lasting_rise
from reportgen.status.cooling import fall_so_far
from reportgen.status.forecast import Forecasts, reached_reserve
from reportgen.status.gas import sinking
from reportgen.trial import FILE_NAME, Event, Trial, wall_clock
from reportgen.vocabulary import went_out_by_itself

HOUR = 3600.0
#: Gas that stands still tells of a dead flame from so long on [h], and from so many steps of the scale missing;
#: standing still is less than this share of what the run so far draws [1] (ours).
STILL_FOR, STILL_STEPS, STILL_SHARE = 0.25, 4, 0.2
#: The last stretch of so long [h] sinks too fast beyond this factor on the rate before it [1] (ours).
LATELY, FASTER = 0.4, 1.7
#: No cooling so long after lighting is worth a note, and a caution [h]; a fall below this counts as none [K] (ours; a
#: warm start is published as up to four hours).
SLOW_START, LONG_START, NO_FALL = 1.0, 2.0, 1.0
#: Chances that the gas is out before the ice is solid, by level [1] (ours).
SHORT = {"act now": 0.9, "caution": 0.5, "note": 0.2}
#: Nothing read for so long with the flame on [h] (ours).
UNWATCHED = 0.75


@dataclass(frozen=True)
class Alert:
    """Something wrong: its level, one of `ALERT_LEVELS`, its code, one of `ALERT_CODES`, and what to do."""

    level: str
    code: str
    message: Message

    def __post_init__(self) -> None:
        if self.code not in ALERT_CODES or self.level not in ALERT_CODES[self.code].levels:
            raise ValueError(f"{self.code} at level {self.level} is not in codes.ALERT_CODES")


def alerts(trial: Trial, given: Forecasts, last: float | None, at: float | None, *, is_over: bool) -> tuple[Alert, ...]:
    """Return the alerts of a trial as it stands, worst first.

    Parameters
    ----------
    trial : Trial
        As `moment.until` left it.
    given : Forecasts
    last : float or None
        When the last reading was written [h from lit].
    at : float or None
        The moment [s]; None where nothing is logged.
    is_over : bool
        True where trial.toml says that the run is over, so that its last flame-out asks nothing of anybody.
    """
    found = [*_air(trial), *_weak(trial)]
    if at is not None and not is_over:
        found += _out(trial, at)
    if given.now is not None and not trial.end_recorded:
        found += [
            *_flame(trial, given),
            *_reserve(trial, given),
            *_short(given),
            *_too_fast(trial, given),
            *_no_cooling(trial, given),
            *_warming(trial),
            *_unwatched(given.now, last),
        ]
    # The sort keeps the order above among equally urgent ones.
    return tuple(sorted(found, key=lambda alert: ALERT_LEVELS.index(alert.level)))


def _air(trial: Trial) -> Iterator[Alert]:
    """Yield what the safety notes of the report say of toxic gases, where a limit is passed."""
    for note in air_notes(trial):
        if note.severity == "know":
            continue
        message = say("{text} Seen: {reason}.", text=note.text, reason=note.reason)
        if note.code == "carbon-monoxide-reading":
            yield Alert("act now" if note.severity == "stop" else "caution", "carbon-monoxide-over-limit", message)
        elif note.code == "hydrogen-sulfide-reading":
            yield Alert("act now", "hydrogen-sulfide-over-limit", message)
        else:
            yield Alert("act now", "air-meter-unread", message)


def _weak(trial: Trial) -> Iterator[Alert]:
    methane = trial.column("methane")
    if methane is not None and methane.values[-1] < WEAK_GAS:
        yield Alert(
            "caution",
            "gas-weak",
            say(
                "The gas was last read at {methane} % methane, less than {limit} %: its flame goes out easily. Watch "
                "it, and do not keep relighting.",
                methane=float(methane.values[-1]),
                limit=WEAK_GAS,
            ),
        )


def last_of_flame(trial: Trial) -> Event | None:
    """Return the last row that says of the flame that it was lit or went out."""
    rows = [event for event in trial.events if event.kind in ("burner lit", "burner out")]
    return max(rows, key=lambda event: (event.at, event.kind == "burner lit"), default=None)


def _out(trial: Trial, at: float) -> Iterator[Alert]:
    """Yield that a flame-out is logged and no relighting; a burner put out once the ice is solid has done its work."""
    out = last_of_flame(trial)
    if out is None or out.kind == "burner lit" or (trial.burning and not trial.end_recorded):
        return
    values = {
        "time": _time(trial, out.at),
        "long": rounding.duration((at - out.at) / HOUR),
        "file": out.file,
        "row": out.row,
    }
    if went_out_by_itself(out.text):
        yield Alert(
            "act now",
            "flame-is-out",
            say(
                "The flame went out at {time} ({file}, row {row}), {long} ago, and no relighting is logged. Shut the "
                "gas valve, air the place, wait until the gas has cleared, and find out why it went out before you "
                "light again. Local rules come first.",
                **values,
            ),
        )
    elif (trial.burning or trial.lit_before) and not _is_solid(trial):
        yield Alert(
            "caution" if trial.looks else "note",  # without a look nobody can say that the work was left half done
            "flame-is-out",
            say(
                "The burner has been out since {time} ({file}, row {row}), for {long}, and no relighting is logged. "
                "See that its gas valve is shut, air the place, and wait until the gas has cleared before you light "
                "again. Local rules come first. If the run is over, write its outcome in {sheet}.",
                **values,
                sheet=FILE_NAME,
            ),
        )


def _time(trial: Trial, at: float) -> str | Message:
    """Return the clock time of a moment; hours after lighting where none is known."""
    if not trial.clocked:
        return say("{hours} h after lighting", hours=rounding.fixed(trial.hours(at), 1))
    return f"{wall_clock(at, trial.zone):%H:%M}"


def _is_solid(trial: Trial) -> bool:
    last = {look.container: look for look in trial.looks}
    return bool(last) and all(look.is_solid for look in last.values())


def _flame(trial: Trial, given: Forecasts) -> Iterator[Alert]:
    account = given.account
    if not isinstance(account, GasAccount):
        return
    still = _flow_is_nil(trial, account) if account.kind == "flow" else _still_for(trial, account)
    if still is not None:
        yield Alert(
            "act now",
            "flame-may-be-out",
            say(
                "Hardly any gas was drawn for {minutes} min though the burner counts as lit: the flame may be out. "
                "Shut the valve, let the gas clear, and look before you light again. If you put it out, log “burner "
                "out”.",
                minutes=round(60 * still),
            ),
        )


def _still_for(trial: Trial, account: GasAccount) -> float | None:
    """Return how long a holder or meter stood still up to its last reading [h], None where it moves or too short."""
    if account.kind == "holder":
        hours, values = sinking(trial, account)
    else:
        volumes = account.volumes.between(trial.burning[-1][0], trial.burning[-1][1])
        hours, values = trial.hours_of(volumes.at), -volumes.values.astype(float)
    step = max(account.volumes.step, 1e-6)
    if len(hours) < 3:
        return None
    for first in range(1, len(hours) - 1):
        # From the first reading after which nothing moved any more.
        length, before = float(hours[-1] - hours[first]), float(hours[first] - hours[0])
        if length < STILL_FOR:
            return None
        usual = float(values[0] - values[first]) / before if before > 0 else 0.0
        fell, expected = float(values[first] - values[-1]), usual * length
        if expected >= STILL_STEPS * step and fell < STILL_SHARE * expected:
            return length
    return None


def _flow_is_nil(trial: Trial, account: GasAccount) -> float | None:
    flow = account.volumes.between(trial.burning[-1][0], trial.burning[-1][1])
    usual = float(np.median(flow.values)) if len(flow) else 0.0
    running = np.flatnonzero(flow.values > STILL_SHARE * usual)
    if len(flow) < 3 or usual <= 0 or not len(running) or len(flow) - running[-1] < 3:
        return None
    return float(flow.at[-1] - flow.at[running[-1] + 1]) / HOUR


def _reserve(trial: Trial, given: Forecasts) -> Iterator[Alert]:
    if reached_reserve(trial, given.account) is None or not isinstance(given.account, GasAccount):
        return
    reserve = trial.sheet.gas.reserve
    yield Alert(
        "act now",
        "gas-at-reserve",
        say(
            "The holder was last read at {content} L, and its reserve is {reserve} L. Shut the burner: a holder drawn "
            "empty sucks in air. Refill only with the burner out.",
            content=float(given.account.volumes.values[-1]),
            reserve=reserve.value if reserve is not None else 0.0,
        ),
    )


def _short(given: Forecasts) -> Iterator[Alert]:
    ice = given.by_key["ice_making_time"]
    if ice.happened or ice.value is None or isinstance(given.gas, Message) or isinstance(given.solid, Message):
        return
    chance = float(np.mean(given.gas.lasts_until < given.solid))
    level = next((level for level, least in SHORT.items() if chance >= least), None)
    if level is not None:
        yield Alert(
            level,
            "gas-short",
            say_counted(
                round(100 * chance),
                "In {n} case of 100 the holder is down to its reserve before the ice is solid. Have gas ready; put "
                "the burner out before you refill.",
                "In {n} cases of 100 the holder is down to its reserve before the ice is solid. Have gas ready; put "
                "the burner out before you refill.",
            ),
        )


def _too_fast(trial: Trial, given: Forecasts) -> Iterator[Alert]:
    account = given.account
    if not isinstance(account, GasAccount) or account.kind != "holder":
        return
    hours, values = sinking(trial, account)
    lately = hours >= (hours[-1] - LATELY if len(hours) else 0.0)
    if np.count_nonzero(~lately) < 1 or np.count_nonzero(lately) < 2:
        return
    turn = int(np.argmax(lately))
    span, before = float(hours[-1] - hours[turn]), float(hours[turn] - hours[0])
    if span < LATELY / 2 or before < LATELY / 2:
        return
    now, then = float(values[turn] - values[-1]) / span, float(values[0] - values[turn]) / before
    error = 3 * 2**0.5 * uncertainty.rounding(account.volumes.step) / span
    if now - error > HIGH_RATE * 60:
        level, why = "act now", say("more than a small cabinet's burner takes ({limit} L/h)", limit=HIGH_RATE * 60)
    elif then > 0 and now - error > FASTER * then:
        level, why = "caution", say("before it was {rate} L/h", rate=round(then))
    else:
        return
    yield Alert(
        level,
        "holder-sinks-fast",
        say(
            "The holder sinks by {rate} L/h; {why}. Look for a leak, an open valve or another stove; where you smell "
            "gas, shut the valve and light nothing.",
            rate=round(now),
            why=why,
        ),
    )


def _no_cooling(trial: Trial, given: Forecasts) -> Iterator[Alert]:
    if isinstance(given.cabinet, Message) or given.now is None:
        return
    lit = trial.hours(trial.burning[-1][0])
    long, last = given.now - lit, float(given.cabinet.hours[-1])
    fall = fall_so_far(given.cabinet, lit)
    already_cold = float(given.cabinet.values[-1]) < 0
    if long < SLOW_START or last - lit < SLOW_START or fall >= NO_FALL or already_cold:
        return
    yield Alert(
        "caution" if long >= LONG_START else "note",
        "no-cooling",
        say(
            "{hours} h after lighting the cabinet has not cooled. Check the flame, that the appliance stands level, "
            "and its door; a warm start may take up to four hours.",
            hours=round(long, 1),
        ),
    )


def _warming(trial: Trial) -> Iterator[Alert]:
    cabinet = trial.column("cabinet_temperature")
    rise = lasting_rise(cabinet.between(*trial.burning[-1])) if cabinet is not None else None
    if cabinet is not None and rise is not None and rise[1] >= cabinet.at[-1] - HOUR / 2:
        yield Alert(
            "caution",
            "cabinet-warms",
            say(
                "The cabinet rose by {amount} K in {hours} h with the burner lit. Look whether the flame is out, the "
                "door open, or warm water was put in.",
                amount=round(rise[2], 1),
                hours=round((rise[1] - rise[0]) / HOUR, 1),
            ),
        )


def _unwatched(now: float, last: float | None) -> Iterator[Alert]:
    if last is not None and now - last > UNWATCHED:
        yield Alert(
            "caution",
            "not-watched",
            say(
                "Nothing was read for {hours} h with the burner lit. Look at the flame, and read holder and cabinet.",
                hours=round(now - last, 1),
            ),
        )
