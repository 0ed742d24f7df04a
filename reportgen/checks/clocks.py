"""Clocks that disagree: a temperature that answers to the flame before the flame was lit. Said, never corrected."""

from __future__ import annotations

import numpy as np

from reportgen.checks.marks import at_reading
from reportgen.message import say
from reportgen.trial import Finding, Trial

#: A cabinet that falls, or a boiler that rises, by so much within so long before lighting answered to a flame [K], [s]
#: (ours).
CABINET_FALL, BOILER_RISE, WITHIN = 4.0, 25.0, 3600.0
#: The clock is written to the minute, and lighting takes a few: what moves so near to lighting is no answer [s] (ours).
NEAR = 300.0
#: Fewest readings of the hour before lighting that tell (ours).
FEWEST = 3


def clock_findings(trial: Trial) -> list[Finding]:
    """Return a caution where cabinet or boiler answer to the flame before it was lit, by another file's clock."""
    if trial.lit_at is None or not trial.clocked:
        return []
    lit = next((event for event in trial.events if event.kind == "burner lit"), None)
    stated_in = lit.file if lit is not None and trial.sheet.burner.lit is None else "trial.toml"
    findings = []
    for name, sign, least, what in (
        ("cabinet_temperature", -1.0, CABINET_FALL, "fell"),
        ("boiler_temperature", 1.0, BOILER_RISE, "rose"),
    ):
        readings = trial.column(name)
        if readings is None:
            continue
        before = readings.between(trial.lit_at - WITHIN, trial.lit_at - NEAR)
        if len(before) < FEWEST or before.files[int(before.file_index[0])] == stated_in:
            continue
        moved = sign * before.values.astype(float)
        start = int(np.argmin(moved))
        change = float(moved[-1] - moved[start])
        # It moved one way to the last reading, and goes on after lighting: no door, no defrosting.
        if change < least or float(moved.max() - moved[-1]) > 0.1 * change:
            continue
        after = readings.between(trial.lit_at, trial.lit_at + WITHIN)
        if not len(after) or sign * float(after.values[-1]) <= moved[-1]:
            continue
        minutes = round((trial.lit_at - float(before.at[start])) / 60)
        values = {"change": change, "minutes": minutes, "file": stated_in}
        message = (
            say("the cabinet fell by {change} K in the {minutes} min before the burner was lit by {file}", **values)
            if what == "fell"
            else say("the boiler rose by {change} K in the {minutes} min before the burner was lit by {file}", **values)
        )
        effect = say(
            "is the clock of one of the two files off, or was the appliance running already? times are used as "
            "written; correct them, or burner.lit"
        )
        findings.append(at_reading("caution", "before-the-flame", message, before, start, effect))
    return findings
