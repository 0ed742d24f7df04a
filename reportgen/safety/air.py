"""Notes on what people may breathe, carbon monoxide and hydrogen sulphide, and on what was not checked."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reportgen.figures.gas_readings import volume_readings
from reportgen.message import Message, listed, say
from reportgen.safety.note import OURS, SafetyNote
from reportgen.trial import Numbers, Readings, Trial

HOUR = 3600.0
#: Ideal molar volume at 25 °C and 101.325 kPa [L/mol] (CODATA 2018); carbon monoxide [g/mol].
MOLAR_VOLUME, CARBON_MONOXIDE_MOLAR_MASS = 24.465, 28.010
#: WHO values for carbon monoxide: averaging time [s] -> mean [mg/m^3] (WHO 2010, and 2021 for a day; from memory).
WHO_CARBON_MONOXIDE = {HOUR / 4: 100.0, HOUR: 35.0, 8 * HOUR: 10.0, 24 * HOUR: 4.0}
WHO_YEARS = {HOUR / 4: 2010, HOUR: 2010, 8 * HOUR: 2010, 24 * HOUR: 2021}
#: Readings tell a mean where they lie no further apart than a share of the time, and this [1, s] (ours).
STEP_SHARE, LONGEST_STEP = 1 / 3, HOUR
#: Hydrogen sulphide in air [ppm]: NIOSH 10-minute ceiling, danger to life; OSHA ceiling (as tabled in 2017).
NIOSH_CEILING, NIOSH_DANGER, OSHA_CEILING = 10.0, 100.0, 20.0
#: Hydrogen sulphide in the gas above this calls for a filter [ppm] (ours).
MUCH_HYDROGEN_SULFIDE = 2000.0
#: Findings that say cells of a column were not used.
UNREAD = ("number-not-read", "sensor-failure", "not-possible")


def air_notes(trial: Trial) -> list[SafetyNote]:
    """Return the notes that readings of toxic gases trigger."""
    return [*_carbon_monoxide(trial), *_hydrogen_sulfide(trial), *_unread(trial)]


def carbon_monoxide_ppm(concentration: float) -> float:
    """Return carbon monoxide [ppm by volume, at 25 °C and 101.325 kPa] for a concentration [mg/m^3]."""
    return concentration * MOLAR_VOLUME / CARBON_MONOXIDE_MOLAR_MASS


def highest_mean(at: Numbers, values: Numbers, window: float) -> float | None:
    """Return the highest mean over a `window` [s] that starts or ends with a reading, None without any.

    Readings are joined by straight lines. A window counts where readings cover it without too long a step.
    """
    if len(at) < 2:
        return None
    time = at - at[0]
    area = np.concatenate(([0.0], np.cumsum(np.diff(time) * (values[1:] + values[:-1]) / 2)))
    too_long = np.concatenate(([0], np.cumsum(np.diff(time) > min(STEP_SHARE * window, LONGEST_STEP))))
    starts = np.unique(np.concatenate((time, time - window)))
    starts = starts[(starts >= 0) & (starts + window <= time[-1])]
    before = np.searchsorted(time, starts, side="right") - 1
    after = np.searchsorted(time, starts + window, side="left")
    starts = starts[too_long[after] == too_long[before]]
    if not len(starts):
        return None

    def area_until(instant: Numbers) -> Numbers:
        left = np.searchsorted(time, instant, side="right") - 1
        mean = (values[left] + np.interp(instant, time, values)) / 2
        total: Numbers = area[left] + (instant - time[left]) * mean
        return total

    return float(np.max(area_until(starts + window) - area_until(starts))) / window


def _carbon_monoxide(trial: Trial) -> Iterator[SafetyNote]:
    readings = trial.column("carbon_monoxide")
    if readings is None:
        return
    severity, limit, reason = _carbon_monoxide_reason(readings)
    places = readings.where(readings.values >= limit) if limit is not None else readings
    if severity == "stop":
        text = say(
            "Carbon monoxide reached a level that harms people. Shut the burner, get everybody into fresh "
            "air, and do not light it again until burner, flue and air supply have been put right by a "
            "fitter."
        )
    elif severity == "act":
        text = say(
            "Carbon monoxide was above what people should breathe for hours. Have burner and flue checked, "
            "let in more air, and keep a carbon monoxide alarm running."
        )
    else:
        text = say(
            "Carbon monoxide was measured where the meter stood and when it was read. What people breathed "
            "elsewhere, or between the readings, it does not tell."
        )
    sources = ("who-carbon-monoxide", "codata-2018", OURS)
    yield SafetyNote("carbon-monoxide-reading", severity, text, reason, places.sources, sources)


def _carbon_monoxide_reason(readings: Readings) -> tuple[str, float | None, Message]:
    """Return the severity, the limit that was passed [ppm], and the reason.

    A single reading above the one-hour value is taken as if it had lasted: nobody knows that it did not.
    """
    # Of readings at one time the highest counts.
    at, first = np.unique(readings.at, return_index=True)
    values = np.maximum.reduceat(readings.values.astype(float), first)
    highest = float(values.max())
    means = {window: highest_mean(at, values, window) for window in WHO_CARBON_MONOXIDE}
    limits = {window: carbon_monoxide_ppm(value) for window, value in WHO_CARBON_MONOXIDE.items()}
    severity = "stop" if highest >= limits[HOUR] else "act"
    passed = next((w for w in limits if _above(means[w], limits[w])), None)
    window = passed or next((w for w in limits if highest >= limits[w]), None)
    if window is None:
        return "know", None, say("the highest carbon monoxide reading was {highest} ppm", highest=highest)
    named = {
        "highest": highest,
        "mean": means[window],
        "minutes": round(window / 60),
        "limit": float(f"{limits[window]:.2g}"),
        "mass": WHO_CARBON_MONOXIDE[window],
        "year": WHO_YEARS[window],
    }
    if passed is not None:
        reason = say(
            "the mean over {minutes} min was {mean} ppm, not below the WHO value of {limit} ppm ({mass} mg/m³, {year}) "
            "for that "
            "time; the highest reading was {highest} ppm",
            **named,
        )
    elif means[window] is not None:
        reason = say(
            "a reading of {highest} ppm is not below the WHO value of {limit} ppm ({mass} mg/m³, {year}) for {minutes} "
            "min; the "
            "highest mean over that time was {mean} ppm",
            **named,
        )
    else:
        reason = say(
            "a reading of {highest} ppm is not below the WHO value of {limit} ppm ({mass} mg/m³, {year}) for {minutes} "
            "min; the "
            "readings do not tell the mean over that time",
            **named,
        )
    return severity, limits[window], reason


def _above(mean: float | None, limit: float) -> bool:
    return mean is not None and mean >= limit


def _hydrogen_sulfide(trial: Trial) -> Iterator[SafetyNote]:
    readings = trial.column("hydrogen_sulfide")
    if readings is None:
        return
    highest = float(readings.values.max())
    limits = {"ceiling": NIOSH_CEILING, "danger": NIOSH_DANGER, "osha": OSHA_CEILING}
    sources = ("niosh-hydrogen-sulfide", "osha-hydrogen-sulfide", OURS)
    if highest > NIOSH_DANGER:
        text = say(
            "This is in the gas, not in the air of the room; but one part of it in {parts} parts of air "
            "still makes {danger} ppm, which NIOSH holds for dangerous to life (its ceiling is {ceiling} "
            "ppm over 10 minutes, OSHA's {osha} ppm; as tabled in 2017). Never breathe or sniff the gas, "
            "and filter it before the burner.",
            parts=float(f"{highest / NIOSH_DANGER:.2g}"),
            **limits,
        )
    else:
        text = say(
            "This is in the gas, not in the air of the room. For air NIOSH sets a ceiling of {ceiling} ppm "
            "over 10 minutes and holds {danger} ppm for dangerous to life, and OSHA's ceiling is {osha} ppm "
            "(as tabled in 2017); it can "
            "rise with every change of feed, so never breathe or sniff the gas.",
            **limits,
        )
    if highest > MUCH_HYDROGEN_SULFIDE:
        high = readings.where(readings.values > MUCH_HYDROGEN_SULFIDE)
        reason = say(
            "{highest} ppm of hydrogen sulphide in the gas, more than {limit} ppm",
            highest=highest,
            limit=MUCH_HYDROGEN_SULFIDE,
        )
        yield SafetyNote("hydrogen-sulfide-reading", "act", text, reason, high.sources, sources)
    else:
        reason = say("up to {highest} ppm of hydrogen sulphide in the gas", highest=highest)
        yield SafetyNote("hydrogen-sulfide-reading", "know", text, reason, readings.sources, sources)


def _unread(trial: Trial) -> Iterator[SafetyNote]:
    labels = {"carbon_monoxide": "carbon-monoxide-unread", "hydrogen_sulfide": "hydrogen-sulfide-unread"}
    for column, code in labels.items():
        unread = [
            finding
            for finding in trial.findings
            if finding.code in UNREAD and finding.message.values.get("column") == column
        ]
        if unread:
            yield SafetyNote(
                code,
                "act",
                say(
                    "Cells of a column that watches a toxic gas hold no number that could be used; such "
                    "marks can mean more than the meter can show. Look at them before trusting the other "
                    "readings."
                ),
                say("{column}: some cells are no reading", column=column),
                tuple(f"{finding.file}:{finding.row}" for finding in unread),
                (OURS,),
            )


def not_checked(trial: Trial) -> list[SafetyNote]:
    """Return a note that says what nothing was recorded of, if there is such a thing."""
    sheet = trial.sheet.gas
    volumes = volume_readings(trial)
    missing = [
        text
        for text, is_missing in (
            (say("carbon monoxide in the room"), trial.column("carbon_monoxide") is None),
            (say("hydrogen sulphide in the gas"), trial.column("hydrogen_sulfide") is None),
            (say("methane in the gas"), trial.column("methane") is None and sheet.methane is None),
            (say("gas drawn and gas lost"), isinstance(volumes, Message)),
            (say("the holder's capacity"), sheet.kind == "holder" and sheet.capacity is None),
            (say("the cabinet's temperature"), trial.column("cabinet_temperature") is None),
            (say("when the flame was on"), not trial.burning),
        )
        if is_missing
    ]
    if not missing:
        return []
    return [
        SafetyNote(
            "not-checked",
            "know",
            say(
                "Some hazards could not be looked for, because nothing was recorded that would show them. That "
                "no note speaks of them means nothing."
            ),
            say("not recorded: {items}", items=listed(missing)),
            (),
            (OURS,),
        )
    ]
