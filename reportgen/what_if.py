"""What a trial may lack, each thing with how the trial would be with it: invented, but as such a trial is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from reportgen.checklist import LINES
from reportgen.message import say
from reportgen.read import clock
from reportgen.trial import Feed, Look, Numbers, Readings, Trial, wall_clock

#: Where an invented reading stands: it is in no file.
NOWHERE = "in thought"
HOUR, DAY = 3600.0, 86400.0
#: What a trial of this kind is like, for what is invented; no figure that is shown depends on it (ours).
USUAL_RUN = 4 * HOUR
USUAL_AMBIENT, USUAL_FLOOR = 25.0, -14.0
USUAL_RATE, USUAL_LEFT = 60.0, 50.0
USUAL_FEED, USUAL_YIELD, USUAL_DAYS = 5.0, 70.0, 20
USUAL_SOLIDS, USUAL_VOLATILE, USUAL_RETENTION = 20.0, 85.0, 30
USUAL_WATER = 1.0
READ_EVERY, FEWEST_READINGS, MOST_READINGS = 300.0, 9, 300
READ_ON_SAID = say("cabinet_temperature [degC] read on after the burner is out, until it is above 0 °C")
READ_ON = READ_ON_SAID.text
GAS_COLUMNS = ("gas_volume", "gas_level", "gas_flow")


@dataclass(frozen=True)
class Candidate:
    """Something that a trial may lack: what to write, whether it is lacking, and the trial with it."""

    line: str
    is_missing: Callable[[Trial], bool]
    add: Callable[[Trial], Trial]


def with_all(trial: Trial, lines: tuple[str, ...]) -> Trial | None:
    """Return the trial with all of these added, one after the other; None where it has one of them."""
    for line in lines:
        if not CANDIDATES[line].is_missing(trial):
            return None
        trial = CANDIDATES[line].add(trial)
    return trial


def _run(trial: Trial) -> tuple[float, float]:
    """Return from when to when the burner was lit; where that is not known, from the first to the last record [s]."""
    if trial.burning:
        return trial.burning[0][0], trial.burning[-1][1]
    if trial.lit_at is not None:
        return trial.lit_at, trial.lit_at + USUAL_RUN
    times = [time for name in ("cabinet_temperature", *GAS_COLUMNS) for time in _times(trial, name)]
    times += [look.at for look in trial.looks]
    first, last = (min(times), max(times)) if times else (0.0, 0.0)
    return first, last if last > first else first + USUAL_RUN


def _times(trial: Trial, name: str) -> list[float]:
    readings = trial.column(name)
    return [float(readings.at[0]), float(readings.at[-1])] if readings is not None else []


def _with_readings(trial: Trial, name: str, at: Numbers, values: Numbers, step: float) -> Trial:
    rows = np.arange(2, len(at) + 2)
    added = Readings(
        at, np.round(np.asarray(values) / step) * step, rows, (NOWHERE,), np.zeros(len(at), dtype=np.int64), step
    )
    trial = replace(trial, readings={**trial.readings, name: added})
    if trial.lit_at is not None and not trial.burning:
        trial = replace(trial, burning=(_run(trial),), out_at=_run(trial)[1])
    return trial


def _with_key(trial: Trial, place: str, value: Any) -> Trial:
    """Return the trial with a key of a section of its sheet, read as `trial.toml` is."""
    name, _, key = place.partition(".")
    section = getattr(trial.sheet, name)
    read = getattr(type(section).model_validate({key: value}), key)
    return replace(trial, sheet=trial.sheet.model_copy(update={name: section.model_copy(update={key: read})}))


def _instants(trial: Trial) -> Numbers:
    start, end = _run(trial)
    return np.linspace(start, end, min(max(int((end - start) / READ_EVERY), FEWEST_READINGS), MOST_READINGS))


def _burnt(trial: Trial, at: Numbers) -> Numbers:
    """Return how long the burner has been lit at each instant [h]."""
    spans = trial.burning or (_run(trial),)
    return np.asarray(sum((np.clip(at, lit, out) - lit for lit, out in spans), np.zeros(len(at))) / HOUR)


def _first(trial: Trial, name: str, default: float) -> float:
    """Return the first reading of the run, or the default where there is none."""
    readings = trial.column(name)
    inside = readings.between(*_run(trial)) if readings is not None else None
    return float(inside.values[0]) if inside is not None and len(inside) else default


def _cabinet(trial: Trial) -> Trial:
    at = _instants(trial)
    start = _first(trial, "ambient_temperature", USUAL_AMBIENT)
    pace = (at[-1] - at[0]) / 5
    values = USUAL_FLOOR + (start - USUAL_FLOOR) * np.exp(-(at - at[0]) / pace)
    return _with_readings(trial, "cabinet_temperature", at, values, 0.1)


def _read_on(trial: Trial) -> Trial:
    """Return the trial with the cabinet read on after the burner is out, until it is above 0 °C."""
    cabinet = trial.column("cabinet_temperature")
    assert cabinet is not None
    later = float(cabinet.at[-1]) + np.arange(1, 13) * READ_EVERY
    warming = np.linspace(float(cabinet.values[-1]), USUAL_AMBIENT / 2, len(later))
    at, values = np.append(cabinet.at, later), np.append(cabinet.values, warming)
    return _with_readings(trial, "cabinet_temperature", at, values, 0.1)


def _ambient(trial: Trial) -> Trial:
    at = _instants(trial)
    warm = max(_first(trial, "cabinet_temperature", USUAL_AMBIENT), USUAL_AMBIENT)
    return _with_readings(trial, "ambient_temperature", at, np.full(len(at), warm), 0.1)


def _probe(trial: Trial) -> Trial:
    """Return the trial with a probe in the water: down to 0 °C, a plateau, and down again."""
    start, end = _run(trial)
    start = trial.placed_at if trial.placed_at is not None and trial.placed_at < end else start
    solid = next((look.at for look in trial.looks if look.is_solid and start < look.at < end), (start + 2 * end) / 3)
    frozen = start + 0.9 * (solid - start)
    at = np.linspace(start, end, len(_instants(trial)))
    values = np.interp(
        at, (start, start + 0.3 * (frozen - start), frozen, end), (USUAL_AMBIENT, 0.0, 0.0, USUAL_FLOOR / 2)
    )
    return _with_readings(trial, "water_temperature", at, values, 0.1)


def _gas_volume(trial: Trial) -> Trial:
    at = _instants(trial)
    used = USUAL_RATE * _burnt(trial, at)
    if trial.sheet.gas.kind == "meter":
        return _with_readings(trial, "gas_volume", at, USUAL_LEFT + used, 1.0)
    reserve = trial.sheet.gas.reserve
    left = USUAL_LEFT + (reserve.value if reserve is not None else 0.0)
    return _with_readings(trial, "gas_volume", at, left + used[-1] - used, 1.0)


def _gas_flow(trial: Trial) -> Trial:
    at = _instants(trial)
    return _with_readings(trial, "gas_flow", at, np.full(len(at), USUAL_RATE / 60), 0.01)


def _gas_kind(trial: Trial) -> Trial:
    readings = trial.column("gas_volume") or trial.column("gas_level")
    rises = readings is not None and readings.values[-1] > readings.values[0]
    return _with_key(trial, "gas.kind", "meter" if rises else "holder")


def _lit(trial: Trial) -> Trial:
    """Return the trial with the burner lit: just before the water was put in, or at the first record."""
    first, last = _run(trial)
    lit = trial.placed_at if trial.placed_at is not None and trial.placed_at < last else first
    day = wall_clock(lit, trial.zone).date()
    stated = clock.parse_stated(trial.sheet.burner.out, trial.zone, day) if trial.sheet.burner.out else None
    logged = [event.at for event in trial.events if event.kind == "burner out"]
    out = max([moment for moment in (*logged, *(stated or ())[:1]) if moment > lit], default=last)
    return replace(trial, lit_at=lit, out_at=out, burning=((lit, out),), end_recorded=out != last)


def _out(trial: Trial) -> Trial:
    """Return the trial with the burner out when the cabinet was coldest, or at the last reading."""
    start, end = trial.burning[-1]
    cabinet = trial.column("cabinet_temperature")
    inside = cabinet.between(start, end) if cabinet is not None else None
    out = float(inside.at[int(np.argmin(inside.values))]) if inside is not None and len(inside) else end
    out = out if out > start else end
    return replace(trial, out_at=out, burning=(*trial.burning[:-1], (start, out)), end_recorded=True)


def _placed(trial: Trial) -> Trial:
    first = min((look.at for look in trial.looks), default=np.inf)
    return replace(trial, placed_at=min(_run(trial)[0] + READ_EVERY, first))


def _looks(trial: Trial) -> Trial:
    start, end = _run(trial)
    seen = ((0.3, 0.0), (0.7, None), (0.85, 1.0))
    looks = [Look(start + part * (end - start), "", share, NOWHERE, i) for i, (part, share) in enumerate(seen, 2)]
    return replace(trial, looks=tuple(looks))


def _water_mass(trial: Trial) -> Trial:
    weighed = trial.sheet.water.ice_mass
    return _with_key(trial, "water.mass", f"{weighed.value * 1.01 if weighed else USUAL_WATER:.6g} kg")


def _ice_mass(trial: Trial) -> Trial:
    water = trial.sheet.water.mass
    share = 0.99 if any(look.is_solid for look in trial.looks) else 0.6
    return _with_key(trial, "water.ice_mass", f"{share * (water.value if water else USUAL_WATER):.6g} kg")


def _days(trial: Trial) -> Numbers:
    """Return a moment of each day on which there was feed or gas, or of the days up to the run [s]."""
    times = [feed.at for feed in trial.feeds]
    produced = trial.column("gas_produced")
    if not times and produced is not None:
        times = [float(at) for at in produced.at]
    last = max(times, default=_run(trial)[0])
    first = min(times, default=last - (USUAL_DAYS - 1) * DAY)
    return np.arange(first, last + HOUR, DAY)


def _feeds(trial: Trial) -> Trial:
    days, produced = _days(trial), trial.column("gas_produced")
    mass = USUAL_FEED if produced is None else float(produced.values.sum()) / len(days) / USUAL_YIELD
    feeds = [Feed(float(at), "", mass, None, None, None, NOWHERE, i) for i, at in enumerate(days, 2)]
    return replace(trial, feeds=tuple(feeds))


def _produced(trial: Trial) -> Trial:
    days = _days(trial)
    fed = sum(feed.fresh_mass for feed in trial.feeds) / len(days) if trial.feeds else USUAL_FEED
    return _with_readings(trial, "gas_produced", days, np.full(len(days), fed * USUAL_YIELD), 1.0)


def _water_added(trial: Trial) -> Trial:
    at, mass = (np.array([getattr(feed, name) for feed in trial.feeds]) for name in ("at", "fresh_mass"))
    return _with_readings(trial, "water_added", at, mass, 0.1)


def _with_feed(**values: Any) -> Callable[[Trial], Trial]:
    return lambda trial: replace(trial, feeds=tuple(replace(feed, **values) for feed in trial.feeds))


def _working_volume(trial: Trial) -> Trial:
    fed = sum(feed.fresh_mass + (feed.water_added or 0.0) for feed in trial.feeds) / max(len(_days(trial)), 1)
    return _with_key(trial, "digester.working_volume", f"{max(fed, USUAL_FEED) * USUAL_RETENTION:.0f} L")


def _key(place: str, value: Any, applies: Callable[[Trial], bool] = bool) -> Candidate:
    """Return the candidate of a key that is added with this value."""
    name, _, key = place.partition(".")
    return Candidate(
        LINES[place],
        lambda trial: getattr(getattr(trial.sheet, name), key) is None and applies(trial),
        lambda trial: _with_key(trial, place, value),
    )


def _lacks(*names: str) -> Callable[[Trial], bool]:
    return lambda trial: all(trial.column(name) is None for name in names)


def _no_feed(name: str) -> Callable[[Trial], bool]:
    return lambda trial: bool(trial.feeds) and all(getattr(feed, name) is None for feed in trial.feeds)


def _ends_cold(trial: Trial) -> bool:
    cabinet = trial.column("cabinet_temperature")
    return trial.end_recorded and cabinet is not None and float(cabinet.values[-1]) <= 0


def _level_unknown(trial: Trial) -> bool:
    return trial.column("gas_level") is not None and trial.sheet.gas.level_table is None


#: What a trial may lack.
CANDIDATES = {
    candidate.line: candidate
    for candidate in (
        Candidate("cabinet_temperature [degC]", _lacks("cabinet_temperature"), _cabinet),
        Candidate(READ_ON, _ends_cold, _read_on),
        Candidate("ambient_temperature [degC]", _lacks("ambient_temperature"), _ambient),
        Candidate(
            "gas_volume [L]", lambda trial: _lacks(*GAS_COLUMNS)(trial) and trial.sheet.gas.kind != "flow", _gas_volume
        ),
        Candidate(
            "gas_flow [L/min]", lambda trial: _lacks(*GAS_COLUMNS)(trial) and trial.sheet.gas.kind == "flow", _gas_flow
        ),
        Candidate("ice", lambda trial: not trial.looks, _looks),
        Candidate("water_temperature [degC]", _lacks("water_temperature"), _probe),
        Candidate("fresh_mass [kg]", lambda trial: not trial.feeds, _feeds),
        Candidate("gas_produced [L]", _lacks("gas_produced"), _produced),
        Candidate("total_solids [%]", _no_feed("total_solids"), _with_feed(total_solids=USUAL_SOLIDS)),
        Candidate("volatile_solids [%]", _no_feed("volatile_solids"), _with_feed(volatile_solids=USUAL_VOLATILE)),
        Candidate("water_added [L]", lambda trial: bool(trial.feeds) and _lacks("water_added")(trial), _water_added),
        Candidate(LINES["burner.lit"], lambda trial: trial.lit_at is None, _lit),
        Candidate(LINES["burner.out"], lambda trial: bool(trial.burning) and not trial.end_recorded, _out),
        Candidate(LINES["gas.kind"], lambda trial: trial.sheet.gas.kind is None, _gas_kind),
        Candidate(LINES["water.placed"], lambda trial: trial.placed_at is None, _placed),
        Candidate(LINES["water.mass"], lambda trial: trial.sheet.water.mass is None, _water_mass),
        Candidate(LINES["water.ice_mass"], lambda trial: trial.sheet.water.ice_mass is None, _ice_mass),
        Candidate(
            LINES["digester.working_volume"], lambda trial: trial.sheet.digester.working_volume is None, _working_volume
        ),
        _key("water.temperature", f"{USUAL_AMBIENT} degC", _lacks("water_temperature")),
        _key("gas.level_area", "2400 cm^2", _level_unknown),
        _key("cabinet.heat_leak", "1 +/- 0.2 W/K"),
        Candidate(
            '[water] shape = "slab", thickness = "40 mm"',
            lambda trial: trial.sheet.water.shape is None,
            lambda trial: _with_key(_with_key(trial, "water.shape", "slab"), "water.thickness", "40 mm"),
        ),
        Candidate(
            '[digester.composition] carbohydrate = "60 %", protein = "20 %", lipid = "20 %"',
            lambda trial: trial.sheet.digester.composition is None and not trial.sheet.digester.formula,
            lambda trial: _with_key(
                trial, "digester.composition", {"carbohydrate": "60 %", "protein": "20 %", "lipid": "20 %"}
            ),
        ),
    )
}
#: What gives more together than apart, by the lines of `CANDIDATES`; a later one may be lacking only once an earlier
#: one is there.
TOGETHER = (
    ("fresh_mass [kg]", "gas_produced [L]"),
    ("fresh_mass [kg]", "total_solids [%]", "volatile_solids [%]"),
    ("total_solids [%]", "volatile_solids [%]"),
    ("cabinet_temperature [degC]", READ_ON),
    ("gas_volume [L]", LINES["gas.kind"]),
    ("ice", LINES["water.mass"]),
    ("ice", LINES["water.placed"]),
)
