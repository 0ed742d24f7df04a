"""Notes on the gas: what the holder held, what was lost, how much the burner drew, and how rich it was."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from reportgen.calc import series
from reportgen.figures import Results
from reportgen.figures.gas_readings import volume_readings
from reportgen.message import Message, say
from reportgen.safety.note import OURS, SafetyNote
from reportgen.trial import Trial, sources_of

HOUR, DAY = 3600.0, 86_400.0
#: A holder below the first share of its capacity is nearly empty, from the second on nearly full [1] (ours).
NEARLY_EMPTY, NEARLY_FULL = 0.10, 0.95
#: A reading so soon after the flame went out still tells the content while burning [s] (ours).
JUST_AFTER = 300.0
#: Gas lost with the flame off is looked for this long before lighting and after going out [s] (ours).
IDLE_WITHIN = 12 * HOUR
#: A loss counts beyond so many steps of the readings, which rounding alone cannot make, and beyond so many
#: standard deviations of their scatter (ours).
LOSS_STEPS, LOSS_SIGMAS = 1.5, 6.0
#: Mean gas rates outside these are no small cabinet's burner [L/min] (ours).
HIGH_RATE, LOW_RATE = 2.5, 0.3
#: Household systems stay below this [kPa] (ISO 23590:2020, scope).
HIGH_PRESSURE = 5.0
#: Volatile solids per digester volume and day that a small plant without a stirrer takes [kg/(m^3 d)] (from memory).
HIGH_LOADING = 2.0
#: Feed of the last day beyond the usual by more than this share [1], from so many days on (ours).
FEED_JUMP, FEWEST_FEEDS = 0.5, 4
#: Gas with less methane than this burns badly [%] (ours).
WEAK_GAS = 50.0


def gas_notes(trial: Trial, results: Results) -> list[SafetyNote]:
    """Return the notes that gas readings trigger."""
    return [
        *_holder(trial),
        *_lost_with_flame_off(trial),
        *_weak_gas(trial),
        *_pressure(trial),
        *_flame_may_be_out(results),
        *_gas_rate(trial, results),
        *_overfed(trial, results),
        *_gas_elsewhere(trial),
    ]


def _holder(trial: Trial) -> Iterator[SafetyNote]:
    volumes = volume_readings(trial)
    if trial.sheet.gas.kind != "holder" or isinstance(volumes, Message):
        return
    capacity, reserve = trial.sheet.gas.capacity, trial.sheet.gas.reserve
    limits = [0.0]
    if capacity is not None:
        limits.append(NEARLY_EMPTY * capacity.value)
    if reserve is not None:
        limits.append(reserve.value)
    burning = np.zeros(len(volumes), dtype=bool)
    for start, end in trial.burning:
        burning |= (volumes.at >= start) & (volumes.at <= end + JUST_AFTER)
    low = volumes.where(burning & ((volumes.values < max(limits)) | (volumes.values <= 0)))
    if len(low):
        yield SafetyNote(
            "holder-nearly-empty",
            "act",
            say(
                "A holder drawn nearly empty can suck in air, which makes the gas in it explosive and lets "
                "the flame run back. Stop burning before it is empty, and never press or pull on it to win "
                "the last of the gas."
            ),
            say(
                "the holder was down to {content} L with the burner lit; the limit taken is {limit} L",
                content=float(low.values.min()),
                limit=max(limits),
            ),
            low.sources,
            ("biogas-basics", OURS),
        )
    full = volumes.where(volumes.values >= NEARLY_FULL * capacity.value) if capacity is not None else None
    if capacity is not None and full is not None and len(full):
        most = float(full.values.max())
        yield SafetyNote(
            "holder-nearly-full",
            "act" if most > capacity.value else "know",
            say(
                "A full holder lets gas out or comes under pressure when more is made. Its overflow must "
                "lead outdoors, away from flames, and a drum or bag is no pressure vessel."
            ),
            say("the holder read {content} L of its {capacity} L", content=most, capacity=capacity.value),
            full.sources,
            ("common-precautions", OURS),
        )


def _pressure(trial: Trial) -> Iterator[SafetyNote]:
    logged, stated = trial.column("gas_pressure"), trial.sheet.gas.pressure
    found: list[float] = []
    places: list[str] = []
    if logged is not None:
        high = logged.where(logged.values >= HIGH_PRESSURE)
        if len(high):
            found.append(float(high.values.max()))
            places += high.sources
    if stated is not None and stated.value >= HIGH_PRESSURE:
        found.append(stated.value)
        places.append("trial.toml:gas.pressure")
    if found:
        yield SafetyNote(
            "gas-pressure-high",
            "act",
            say(
                "Drums and bags are no pressure vessels, and a head of half a metre of water is already too much. "
                "Lower the weight or the water, and have a water seal that blows off outdoors, away from flames."
            ),
            say(
                "the gas stood at {pressure} kPa, and household systems stay below {limit} kPa (ISO 23590, 2020)",
                pressure=max(found),
                limit=HIGH_PRESSURE,
            ),
            tuple(places),
            ("iso-23590", "common-precautions"),
        )


def _flame_may_be_out(results: Results) -> Iterator[SafetyNote]:
    seen = [finding for finding in results.findings if finding.code == "flame-out-not-logged"]
    if seen:
        yield SafetyNote(
            "flame-may-have-been-out",
            "act",
            say(
                "The flame may have been out while the log says lit. Nobody relights before the gas has cleared, and "
                "somebody stays within reach of the valve."
            ),
            say("hardly any gas left the holder for a while with the burner said to be lit"),
            tuple(dict.fromkeys(f"{f.file}:{f.row}" if f.row else f"{f.file or 'trial.toml'}" for f in seen)),
            ("gtz-animal-husbandry", OURS),
        )


def _overfed(trial: Trial, results: Results) -> Iterator[SafetyNote]:
    loading = results["loading_rate"]
    days: dict[int, float] = {}
    for feed in trial.feeds:
        day = int(feed.at // DAY)
        days[day] = days.get(day, 0.0) + feed.fresh_mass
    masses = [mass for _, mass in sorted(days.items())]
    # A jump is told from the usual feed, not from the day before, which may have been a small one.
    usual = float(np.median(masses[:-1])) if len(masses) >= FEWEST_FEEDS else None
    reason: Message | None = None
    if loading.is_given and loading.value > HIGH_LOADING:
        reason = say(
            "{rate} kg of volatile solids were fed per cubic metre and day, more than {limit}",
            rate=loading.value,
            limit=HIGH_LOADING,
        )
    elif usual and masses[-1] > (1 + FEED_JUMP) * usual:
        reason = say("{mass} kg were fed on the last day, and {usual} kg is usual", mass=masses[-1], usual=usual)
    if reason is not None:
        yield SafetyNote(
            "overfed",
            "know",
            say(
                "A digester that is fed too much, or suddenly more, turns sour and makes weak gas that goes out. Feed "
                "less until the gas burns by itself, and do not keep relighting."
            ),
            reason,
            loading.inputs or sources_of(*(f"{feed.file}:{feed.row}" for feed in trial.feeds[-1:])),
            ("harris-biogas-safety", OURS),
        )


def _idle_stretches(trial: Trial) -> list[tuple[float, float]]:
    """Return the stretches with the flame off [s]: before, between and, where the end is recorded, after."""
    spans = trial.burning
    if not spans:
        return []
    idle = [(spans[0][0] - IDLE_WITHIN, spans[0][0])]
    idle += [(before[1], after[0]) for before, after in pairwise(spans)]
    return [*idle, (spans[-1][1], spans[-1][1] + IDLE_WITHIN)] if trial.end_recorded else idle


def _lost_with_flame_off(trial: Trial) -> Iterator[SafetyNote]:
    volumes = volume_readings(trial)
    kind = trial.sheet.gas.kind
    if kind not in ("holder", "meter") or isinstance(volumes, Message):
        return
    elsewhere = trial.column("gas_elsewhere")
    stated = trial.sheet.gas.resolution
    step = stated.value if stated is not None else volumes.step
    least = max(LOSS_STEPS * step, LOSS_SIGMAS * series.scatter(volumes.values))
    greatest, hours = least, 0.0
    places: tuple[str, ...] = ()
    for start, end in _idle_stretches(trial):
        idle = volumes.between(start, end)
        if not len(idle):
            continue
        kept = idle.values.astype(float) * (1.0 if kind == "holder" else -1.0)
        if elsewhere is not None:  # what was used elsewhere was not lost
            totals = np.concatenate(([0.0], np.cumsum(elsewhere.values)))
            kept = kept + totals[np.searchsorted(elsewhere.at, idle.at, side="right")]
        losses = np.maximum.accumulate(kept) - kept
        last = int(np.argmax(losses))
        first = int(np.argmax(kept[: last + 1]))
        if losses[last] > greatest:
            greatest, hours = float(losses[last]), float(idle.at[last] - idle.at[first]) / HOUR
            places = idle.between(float(idle.at[first]), float(idle.at[last])).sources
    if not places:
        return
    lost = {"amount": greatest, "hours": hours}
    reason = (
        say("the holder fell by {amount} L in {hours} h with the flame off", **lost)
        if kind == "holder"
        else say("the meter ran on by {amount} L in {hours} h with the flame off", **lost)
    )
    yield SafetyNote(
        "gas-lost-flame-off",
        "act",
        say(
            "Gas left while no flame burnt: a leak, a tap left open or, in a holder, cooling gas. Until a "
            "leak is ruled out with soapy water, light nothing near holder, hoses and appliance."
        ),
        reason,
        places,
        ("gtz-animal-husbandry", OURS),
    )


def _gas_rate(trial: Trial, results: Results) -> Iterator[SafetyNote]:
    mean = results["gas_per_hour_as_read"]
    flow = trial.column("gas_flow")
    high = flow.where(flow.values > HIGH_RATE) if flow is not None else None
    reason: Message | None = None
    places: tuple[str, ...] = ()
    if mean.is_given and mean.value / 60 > HIGH_RATE:
        reason = say(
            "the burner drew {rate} L/min on average, more than {limit} L/min", rate=mean.value / 60, limit=HIGH_RATE
        )
        places = mean.inputs
    elif high is not None and len(high):
        reason = say(
            "a flow of {rate} L/min was read, more than {limit} L/min", rate=float(high.values.max()), limit=HIGH_RATE
        )
        places = high.sources
    if reason is not None:
        yield SafetyNote(
            "gas-rate-high",
            "act",
            say(
                "More gas than a small cabinet's burner is made for overheats boiler and flue and burns "
                "with more carbon monoxide. A gas fitter should look at burner and pressure before the next "
                "run."
            ),
            reason,
            places,
            ("cpsc-absorption-refrigerators", OURS),
        )
    if mean.is_given and mean.value / 60 < LOW_RATE:
        yield SafetyNote(
            "gas-rate-low",
            "know",
            say(
                "So small a flame goes out easily and may be out already while the log says lit. Look at "
                "the flame often; raw gas flows on when it is out."
            ),
            say(
                "the burner drew {rate} L/min on average, less than {limit} L/min", rate=mean.value / 60, limit=LOW_RATE
            ),
            mean.inputs,
            (OURS,),
        )


def _gas_elsewhere(trial: Trial) -> Iterator[SafetyNote]:
    elsewhere = trial.column("gas_elsewhere")
    amount = float(elsewhere.values.sum()) if elsewhere is not None else 0.0
    if elsewhere is not None and amount > 0:
        yield SafetyNote(
            "gas-elsewhere",
            "know",
            say(
                "Gas left by another way than this burner. Where it was vented unburnt it harms the climate "
                "and can catch fire: use it or burn it off, and match the feed to what is needed."
            ),
            say("{amount} L of gas were used elsewhere or let out", amount=amount),
            elsewhere.where(elsewhere.values > 0).sources,
            ("biogas-venting", "common-precautions"),
        )


def _weak_gas(trial: Trial) -> Iterator[SafetyNote]:
    logged, stated = trial.column("methane"), trial.sheet.gas.methane
    low = logged.where(logged.values < WEAK_GAS) if logged is not None else None
    found: list[float] = []
    places: list[str] = []
    if low is not None and len(low):
        found.append(float(low.values.min()))
        places += low.sources
    if stated is not None and stated.value < WEAK_GAS:
        found.append(stated.value)
        places.append("trial.toml:gas.methane")
    if found:
        yield SafetyNote(
            "weak-gas",
            "act",
            say(
                "Gas this weak lifts off the burner and goes out, and a digester that makes it may be "
                "turning sour. Do not keep relighting; feed less until the gas burns by itself."
            ),
            say("the gas held {methane} % methane, less than {limit} %", methane=min(found), limit=WEAK_GAS),
            tuple(places),
            ("harris-biogas-safety", OURS),
        )
