"""Notes on the run: the flame, who watched it, the cabinet, the people around it, and what went wrong."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reportgen.calc import series
from reportgen.figures import Results
from reportgen.figures.gas_account import GasAccount
from reportgen.message import COMMA, Message, listed, say, say_counted
from reportgen.safety.note import OURS, SafetyNote
from reportgen.safety.words import audience_present, event_places, says_nothing
from reportgen.trial import Event, Look, Numbers, Readings, Trial, sources_of

HOUR = 3600.0
#: Longest time without a reading while the flame is on [s] (ours).
LONGEST_UNSEEN = HOUR
#: Rise of the cabinet above its lowest that must last for so long while the burner is lit [K, s] (ours).
WARMING, WARMING_FOR = 3.0, HOUR / 2
#: A long log is thinned to this many points before a lasting rise is looked for (ours).
WARMING_POINTS = 200
#: Food is warm above this [degC] (WHO, from memory), and spoilt after so long [s] (dietetic association, read).
WARM_FOOD, LONGEST_WARM = 5.0, 2 * HOUR
#: Findings that say the record of lighting and going out contradicts itself.
CONTRADICTIONS = ("lit-twice", "out-unlit")


def run_notes(trial: Trial, results: Results) -> list[SafetyNote]:
    """Return the notes that the course of the run and the facts stated about it trigger."""
    return [
        *_incident(trial),
        *_flame(trial),
        *_unattended(trial),
        *_warming(trial, results),
        *_food(trial),
        *_indoors(trial),
        *_audience(trial),
    ]


def _incident(trial: Trial) -> Iterator[SafetyNote]:
    if not says_nothing(trial.sheet.incidents):
        yield SafetyNote(
            "incident",
            "act",
            say("Something went wrong in this trial. Read what it was before repeating anything."),
            say("incidents are recorded"),
            ("trial.toml:incidents",),
            ("common-precautions",),
        )


def _flame(trial: Trial) -> Iterator[SafetyNote]:
    lightings = [event for event in trial.events if event.kind in ("burner lit", "burner out")]
    contradicted = any(finding.code in CONTRADICTIONS for finding in trial.findings)
    if len(trial.burning) > 1 or contradicted or trial.lit_before is not None:
        yield SafetyNote(
            "flame-outs",
            "act",
            say(
                "A flame that goes out leaves raw gas flowing. Find out why it did, and after each time let "
                "the gas clear before lighting again; keeping on relighting is no cure."
            ),
            say("the burner was lit again, and when it was lit first is not recorded")
            if trial.lit_before is not None
            else say("the rows that say when the burner was lit and out contradict each other")
            if contradicted
            else say_counted(len(trial.burning), "the burner was lit once", "the burner was lit {n} times"),
            event_places(lightings),
            ("gtz-animal-husbandry", "common-precautions"),
        )
    if trial.burning and not trial.end_recorded:
        yield SafetyNote(
            "end-not-recorded",
            "act",
            say(
                "Nobody wrote down when the flame went out, so it may have gone out by itself with gas "
                "flowing. Shutting the valve is an event of its own; write it down."
            ),
            say(
                "the last flame-out is not recorded; the last reading is {hours} h after lighting",
                hours=trial.hours(trial.burning[-1][1]),
            ),
            event_places(lightings[-1:]),
            ("gtz-animal-husbandry", "common-precautions"),
        )


def _unattended(trial: Trial) -> Iterator[SafetyNote]:
    columns = trial.readings.values()
    rows: list[Event | Look] = [*trial.looks, *trial.events, *trial.notes]
    at = np.unique(np.concatenate([*(readings.at for readings in columns), [row.at for row in rows]]))
    gaps: list[tuple[float, float]] = []
    for start, end in trial.burning:
        moments = np.concatenate(([start], at[(at > start) & (at < end)], [end]))
        gaps += [(float(moments[i]), float(moments[i + 1])) for i in np.flatnonzero(np.diff(moments) > LONGEST_UNSEEN)]
    if not gaps:
        return
    start, end = max(gaps, key=lambda gap: gap[1] - gap[0])
    places = [
        sources_of(
            *(readings.between(moment, moment) for readings in columns if moment in readings.at),
            *(row for row in rows if row.at == moment),
        )[:1]
        for moment in (start, end)
    ]
    yield SafetyNote(
        "unattended",
        "act",
        say(
            "For a long time nothing was read while the flame was on, so nobody can say that it burnt. "
            "Somebody stays within reach of the valve, or a flame-failure device shuts it."
        ),
        say(
            "no reading for {minutes} min, from {start} h to {end} h after lighting, with the flame on",
            minutes=round((end - start) / 60),
            start=trial.hours(start),
            end=trial.hours(end),
        ),
        sources_of(*places),
        ("gtz-animal-husbandry", OURS),
    )


def _warming(trial: Trial, results: Results) -> Iterator[SafetyNote]:
    cabinet = trial.column("cabinet_temperature")
    if cabinet is None:
        return
    for start, end in trial.burning:
        rise = lasting_rise(cabinet.between(start, end))
        if rise is None:
            continue
        since, until, amount = rise
        yield SafetyNote(
            "cabinet-warming",
            "act",
            say(
                "The cabinet grew warmer with the burner lit. Warm water, an open door or the thermostat do "
                "that; so do a unit out of level, a flame that is out and a cooling circuit that fails, so "
                "look before heating it further."
            ),
            _warming_reason(results, since, until, amount),
            cabinet.between(since, until).sources,
            ("level-operation", "cooling-unit-contents", OURS),
        )
        return


def _warming_reason(results: Results, since: float, until: float, amount: float) -> Message:
    account, hours = results.gas_account, (until - since) / HOUR
    if not isinstance(account, GasAccount):
        return say(
            "the cabinet rose by {amount} K in {hours} h with the burner lit; no gas reading tells whether "
            "gas was flowing",
            amount=amount,
            hours=hours,
        )
    starts, ends, drawn = account.intervals.T
    shared = np.clip(np.minimum(ends, until) - np.maximum(starts, since), 0.0, None)
    gas = float(np.sum(drawn * shared / np.where(ends > starts, ends - starts, 1.0)))
    if gas <= 0:
        return say(
            "the cabinet rose by {amount} K in {hours} h with the burner said to be lit but no gas drawn; "
            "the flame may "
            "have been out",
            amount=amount,
            hours=hours,
        )
    return say(
        "the cabinet rose by {amount} K in {hours} h with the burner lit and {gas} L of gas drawn",
        amount=amount,
        hours=hours,
        gas=gas,
    )


def lasting_rise(cabinet: Readings) -> tuple[float, float, float] | None:
    """Return since when, until when [s] and by how much [K] a cabinet stayed above its lowest, if it did."""
    if len(cabinet) < 3:
        return None
    at, value = series.thin(cabinet.at, series.running_median_of_three(cabinet.values), WARMING_POINTS)
    lowest: Numbers = np.minimum.accumulate(value)
    above = np.concatenate(([False], value - lowest >= WARMING, [False]))
    edges = np.flatnonzero(np.diff(above.astype(int)))
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        last = after - 1
        if at[last] - at[first] >= WARMING_FOR:
            bottom = int(np.flatnonzero(value[: first + 1] == lowest[first])[-1])
            return float(at[bottom]), float(at[last]), float(value[first : last + 1].max() - lowest[first])
    return None


def _food(trial: Trial) -> Iterator[SafetyNote]:
    if not trial.sheet.cabinet.food_inside:
        return
    cabinet = trial.column("cabinet_temperature")
    reason = say("food was inside, and nothing tells how cold it was")
    places: tuple[str, ...] = ("trial.toml:cabinet.food_inside",)
    if cabinet is not None:
        hours = _longest_warm(cabinet) / HOUR
        if hours <= LONGEST_WARM / HOUR:
            return
        reason = say(
            "food was inside, and for {hours} h the cabinet was above {limit} °C or not read",
            hours=hours,
            limit=WARM_FOOD,
        )
        places = (*places, *cabinet.where(cabinet.values > WARM_FOOD).sources)
    yield SafetyNote(
        "warm-food",
        "act",
        say(
            "Perishable food keeps at 4 °C or below; after two hours in the warm (one hour above 32 °C) it is thrown "
            "away. 5 °C is the limit of the WHO."
        ),
        reason,
        places,
        ("chilled-food",),
    )


def _longest_warm(cabinet: Readings) -> float:
    """Return the longest time [s] for which the cabinet read too warm for food, or was not read."""
    longest = start = 0.0
    is_warm = False
    for before, after, at, following in zip(
        cabinet.values[:-1], cabinet.values[1:], cabinet.at[:-1], cabinet.at[1:], strict=True
    ):
        if before > WARM_FOOD and not is_warm:
            is_warm, start = True, float(at)
        if following - at > LONGEST_WARM:
            longest = max(longest, float(following - at))
        if is_warm:
            longest = max(longest, float(following) - start)
            is_warm = bool(after > WARM_FOOD)
    return longest


def _indoors(trial: Trial) -> Iterator[SafetyNote]:
    if trial.sheet.cabinet.indoors:
        yield SafetyNote(
            "indoors",
            "act",
            say(
                "Under a roof, gas that leaks or that a dead flame lets through gathers unevenly and can "
                "become explosive in a corner long before the whole room would. Have openings high up and "
                "low down, and burn outdoors where that can be done."
            ),
            say("the appliance stood indoors"),
            ("trial.toml:cabinet.indoors",),
            ("methane-limits-us", "harris-biogas-safety"),
        )


def _audience(trial: Trial) -> Iterator[SafetyNote]:
    present = audience_present(trial.sheet)
    if present:
        counted = {key: value for key, value in present.items() if not isinstance(value, str | bool)}
        people = listed((f"{key.replace('_', ' ')} {value}" for key, value in counted.items()), COMMA)
        yield SafetyNote(
            "visitors",
            "act",
            say(
                "With visitors present, mark a line they stay behind, keep the way out clear and a fire "
                "blanket or extinguisher at hand, and let one trained person do nothing but stand by the "
                "gas valve."
            ),
            say("people came to see it: {people}", people=people) if people else say("people came to see it"),
            tuple(f"trial.toml:audience.{key}" for key in present),
            ("common-precautions",),
        )
        yield SafetyNote(
            "entrapment",
            "know",
            say(
                "An old cabinet with a latch can trap a child. While visitors are about, its door is tied shut or "
                "taken off, and it is never thrown away with its door on."
            ),
            say("people came to see it"),
            tuple(f"trial.toml:audience.{key}" for key in present),
            ("door-removal", "common-precautions"),
        )
