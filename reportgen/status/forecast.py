"""What happened and what is likely next, each a median with an 80 % interval, or the reason why it is withheld."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from reportgen.figures.cabinet import cabinet_figures
from reportgen.figures.cabinet_log import Cabinet, cabinet_log
from reportgen.figures.crossings import THRESHOLDS
from reportgen.figures.figure import LIMITS, Figure
from reportgen.figures.gas_account import GasAccount, gas_account
from reportgen.figures.ice import ice_figures
from reportgen.message import Message, say
from reportgen.plan.past import PastRun
from reportgen.status.cooling import Cooling, Floats, cooling
from reportgen.status.gas import TOO_OLD, Gas, gas_now
from reportgen.status.ice import solid_at
from reportgen.status.usual import Usual, usual_of
from reportgen.trial import Trial

#: Level of every interval, and its coverage factor for a normal distribution.
LEVEL, NORMAL_80 = 0.8, 1.281552
NORMAL_95 = 1.959964
#: Something that fewer draws than this share ever reach is not forecast [1]; the others say when, if it comes (ours).
LIKELY = 0.5
#: An interval wider than the time to its middle by this factor tells nothing, unless it is this narrow [h]; the last is
#: the factor for ice, which is seen less well than a thermometer is read (ours).
WIDEST, NARROW, WIDEST_ICE = 1.8, 0.3, 2.05
#: Where fewer draws than this share are still ahead, it is there already, as far as anybody can tell [1] (ours).
STILL_AHEAD = 0.4
#: Draws within this of now are not ahead [h].
MOMENT = 1e-6
#: The keys of a status, with their units.
KEYS: Mapping[str, str] = {
    **dict.fromkeys(THRESHOLDS, "h"),
    "ice_making_time": "h",
    "gas_lasts_until": "h",
    "gas_left_when_solid": "L",
}
BURNER_OUT = say("the burner is out")


@dataclass(frozen=True)
class Forecast:
    """A forecast, or a result where it `happened`; `value` None where it is withheld, with a `reason`.

    Attributes
    ----------
    value : float or None
        Median, in `unit`: hours from burner lit, or litres as read.
    interval : (float, float) or None
        80 % interval.
    unit : str
    reason : Message or None
    happened : bool
    chance : float or None
        That it happens at all while the flame burns on, where that is not sure [1].
    passed : float
        Chance that it has happened unseen [1]; the forecast is for the case that it has not.
    """

    value: float | None
    interval: tuple[float, float] | None
    unit: str
    reason: Message | None = None
    happened: bool = False
    chance: float | None = None
    passed: float = 0.0


@dataclass(frozen=True)
class Forecasts:
    """The forecasts by key, and what they were drawn from, for alerts.

    Attributes
    ----------
    by_key : dict of str to Forecast
        By `KEYS`, in their order.
    now : float or None
        Hours from burner lit; None where lighting is not recorded.
    cabinet : Cabinet or Message
    account : GasAccount or Message
    gas : Gas or Message
    solid : array or Message
        Draws of when the ice is solid [h].
    usual : Usual
        What own past runs told.
    """

    by_key: Mapping[str, Forecast]
    now: float | None
    cabinet: Cabinet | Message
    account: GasAccount | Message
    gas: Gas | Message
    solid: Floats | Message
    usual: Usual


def forecasts(trial: Trial, at: float, past: Sequence[PastRun] = ()) -> Forecasts:
    """Return the forecasts of a trial that stands as `moment.until` left it at a moment [s], by own past runs too."""
    mass = trial.sheet.water.mass
    usual = usual_of(past, mass.value if mass is not None else None)
    if trial.lit_at is None or not trial.burning:
        why = trial.no_lighting
        every = {key: _withheld(key, why) for key in KEYS}
        return Forecasts(every, None, why, why, why, why, usual)
    now, lit = trial.hours(at), trial.hours(trial.burning[-1][0])
    is_out = trial.end_recorded
    cabinet = cabinet_log(trial)
    course: Cooling | Message = BURNER_OUT
    if not is_out:
        course = cabinet if isinstance(cabinet, Message) else cooling(cabinet, lit, now, usual)
    found: dict[str, Forecast] = {}
    cold = {figure.key: figure for figure in cabinet_figures(trial).figures}
    for key, threshold in THRESHOLDS.items():
        found[key] = _crossing(key, threshold, cold[key], cabinet, course, now)
    ice = {figure.key: figure for figure in ice_figures(trial, cold["temperature_lowest"]).figures}["ice_making_time"]
    account = gas_account(trial)
    gas: Gas | Message = BURNER_OUT if is_out else gas_now(trial, account, now)
    if isinstance(gas, Message) and not is_out and _is_stale(trial, at):
        gas = say("the gas was not read for more than an hour")
    solid: Floats | Message = BURNER_OUT
    if ice.is_given or ice.at_most is not None:
        solid = _seen_solid(ice)
        found["ice_making_time"] = _ice_seen(ice)
    else:
        if not is_out:
            solid = solid_at(
                trial,
                now,
                None if isinstance(cabinet, Message) else cabinet,
                None if isinstance(course, Message) else course,
                usual,
            )
        found["ice_making_time"] = _ahead("ice_making_time", solid, now, WIDEST_ICE)
    found["gas_lasts_until"] = _lasting(trial, account, gas)
    found["gas_left_when_solid"] = _left(trial, found["ice_making_time"], solid, gas, account)
    return Forecasts({key: found[key] for key in KEYS}, now, cabinet, account, gas, solid, usual)


def _is_stale(trial: Trial, at: float) -> bool:
    """Return whether there are gas readings, the last of them too old to tell of now."""
    logged = [part for name in ("gas_volume", "gas_level") if (part := trial.column(name)) is not None]
    return bool(logged) and at - max(float(part.at[-1]) for part in logged) > TOO_OLD * 3600


def _withheld(key: str, reason: Message) -> Forecast:
    return Forecast(None, None, KEYS[key], reason)


def _happened(figure: Figure) -> Forecast:
    """Return a figure of the trial so far as something that happened, its interval brought from 95 % to 80 %."""
    assert figure.interval is not None
    factor = LEVEL if figure.interval_kind == LIMITS else NORMAL_80 / NORMAL_95
    low, high = (figure.value + factor * (end - figure.value) for end in figure.interval)
    return Forecast(figure.value, (low, high), "h", happened=True)


def _crossing(
    key: str, threshold: float, figure: Figure, cabinet: Cabinet | Message, course: Cooling | Message, now: float
) -> Forecast:
    if figure.is_given:
        return _happened(figure)
    if isinstance(cabinet, Message):
        return _withheld(key, cabinet)
    if figure.at_least is None and figure.reason is not None:
        return _withheld(key, figure.reason)  # it started below, or fell below in a way that tells no time
    if isinstance(course, Message):
        return _withheld(key, course)
    return _ahead(key, course.reach(threshold), now)


def _ahead(key: str, draws: Floats | Message, now: float, widest: float = WIDEST) -> Forecast:
    """Return the forecast of something that lies ahead from draws of when it comes, infinite where it never does."""
    if isinstance(draws, Message):
        return _withheld(key, draws)
    comes = np.isfinite(draws)
    chance = float(np.mean(comes))
    if chance < LIKELY:
        return _withheld(key, say("the readings so far leave open whether it gets there"))
    left = draws[comes & (draws > now + MOMENT)]
    passed = 1 - len(left) / np.count_nonzero(comes)
    if 1 - passed < STILL_AHEAD:
        return replace(_withheld(key, say("most likely there by now: the next reading or look tells")), passed=passed)
    middle, (low, high) = float(np.median(left)), shortest(left)
    if high - low > max(widest * (middle - now), NARROW):
        return _withheld(key, say("the readings so far leave it open: from {low} h to {high} h", low=low, high=high))
    return Forecast(middle, (low, high), "h", chance=chance, passed=passed)


def shortest(draws: Floats) -> tuple[float, float]:
    """Return the shortest range that holds `LEVEL` of the draws; more than half, so their median is in it."""
    ordered = np.sort(draws)
    held = math.ceil(LEVEL * len(ordered))
    first = int(np.argmin(ordered[held - 1 :] - ordered[: len(ordered) - held + 1]))
    return float(ordered[first]), float(ordered[first + held - 1])


def _seen_solid(ice: Figure) -> Floats | Message:
    if not ice.is_given or ice.interval is None:
        return ice.reason or say("the ice was solid already")
    low, high = ice.interval
    return np.linspace(low, high, 101)


def _ice_seen(ice: Figure) -> Forecast:
    if ice.is_given:
        return _happened(ice)
    return Forecast(None, None, "h", ice.reason)


def _lasting(trial: Trial, account: GasAccount | Message, gas: Gas | Message) -> Forecast:
    key = "gas_lasts_until"
    reserve = trial.sheet.gas.reserve
    down = reached_reserve(trial, account)
    if down is not None and reserve is not None:
        return Forecast(sum(down) / 2, down, "h", happened=True)
    if isinstance(gas, Message):
        return _withheld(key, gas)
    return Forecast(float(np.median(gas.lasts_until)), shortest(gas.lasts_until), "h")


def reached_reserve(trial: Trial, account: GasAccount | Message) -> tuple[float, float] | None:
    """Return the hours between which a burning holder came down to its reserve, and stayed; None where it did not."""
    reserve = trial.sheet.gas.reserve
    if isinstance(account, Message) or account.kind != "holder" or reserve is None or not trial.burning:
        return None
    since = max([trial.burning[0][0], *(refill.end for refill in account.refills)])
    volumes = account.volumes.between(since, trial.burning[-1][1])
    if not len(volumes) or volumes.values[-1] > reserve.value:
        return None
    above = np.flatnonzero(volumes.values > reserve.value)
    first = int(above[-1]) + 1 if len(above) else 0
    hours = trial.hours_of(volumes.at)
    return float(hours[max(first - 1, 0)]), float(hours[first])


def _left(
    trial: Trial, ice: Forecast, solid: Floats | Message, gas: Gas | Message, account: GasAccount | Message
) -> Forecast:
    key = "gas_left_when_solid"
    if ice.happened and not isinstance(solid, Message):
        return _was_left(trial, solid, account)
    if ice.value is None:
        return _withheld(key, ice.reason or say("when the ice is solid is not known"))
    if isinstance(gas, Message) or isinstance(solid, Message):
        return _withheld(key, gas if isinstance(gas, Message) else say("when the ice is solid is not known"))
    left = gas.left_at(solid)[np.isfinite(solid) & (solid > gas.now + MOMENT)]
    return Forecast(float(np.median(left)), shortest(left), "L", passed=ice.passed)


def _was_left(trial: Trial, solid: Floats, account: GasAccount | Message) -> Forecast:
    """Return what was in the holder above its reserve while the ice became solid, between the looks on either side."""
    key = "gas_left_when_solid"
    if isinstance(account, Message):
        return _withheld(key, account)
    if account.kind != "holder":
        return _withheld(key, say("only a gasholder tells how much gas is left; a meter or flow log does not"))
    hours, values = trial.hours_of(account.volumes.at), account.volumes.values.astype(float)
    if hours[0] > solid[0] or hours[-1] < solid[-1]:
        return _withheld(key, say("the holder was not read at the time when the ice became solid"))
    reserve = trial.sheet.gas.reserve
    contents = np.interp(solid, hours, values) - (reserve.value if reserve is not None else 0.0)
    low, middle, high = (float(end) for end in np.quantile(contents, (0.1, 0.5, 0.9)))
    half = account.volumes.step / 2
    return Forecast(middle, (low - half, high + half), "L", happened=True)
