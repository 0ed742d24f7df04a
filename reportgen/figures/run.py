"""How long the run was and how long the burner burnt."""

from __future__ import annotations

from reportgen.calc import uncertainty
from reportgen.figures.figure import Figure, given, not_given
from reportgen.message import PLUS, Written, listed, say
from reportgen.trial import Trial

#: A clock read to the minute: each recorded moment is good to half a minute either way, as limits [h].
CLOCK_HALF_STEP = 0.5 / 60


def run_figures(trial: Trial) -> list[Figure]:
    """Return run time and burning time."""
    if not trial.burning:
        reason = trial.no_lighting
        if trial.lit_before is None:
            reason = say("when the burner was lit is not recorded (event “burner lit”, or burner.lit in trial.toml)")
        return [not_given("run_time", reason), not_given("burning_time", reason)]
    ends = [event for event in trial.events if event.kind in ("burner lit", "burner out")]
    inputs = [
        *(ends or ()),
        *(f"trial.toml:burner.{key}" for key in ("lit", "out") if getattr(trial.sheet.burner, key)),
    ]
    each = uncertainty.rectangular(CLOCK_HALF_STEP)

    def duration(hours: float, moments: int) -> uncertainty.UFloat:
        return uncertainty.estimate(hours, each * moments**0.5, "clock")

    start, end = trial.burning[0][0], trial.burning[-1][1]
    run = duration((end - start) / 3600, 2)
    burnt = sum(b - a for a, b in trial.burning) / 3600
    burning = run if len(trial.burning) == 1 else duration(burnt, 2 * len(trial.burning))
    spans = listed(
        (
            say("({high} − {low})", high=Written(trial.hours(end), 2), low=Written(trial.hours(start), 2))
            for start, end in trial.burning
        ),
        PLUS,
    )
    return [
        given(
            "run_time",
            run,
            inputs=inputs,
            working=say("last out − first lit = {end} h − 0 h = {run} h", end=trial.hours(end), run=run),
        ),
        given(
            "burning_time",
            burning,
            inputs=inputs,
            working=say("sum of the spans with the burner lit = {spans} h = {burning} h", spans=spans, burning=burning),
        ),
    ]
