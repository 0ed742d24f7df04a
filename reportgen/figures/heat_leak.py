"""Heat that leaked into the cabinet over the run, and the thermal COP on all the heat the cabinet took out."""

from __future__ import annotations

from reportgen.calc import uncertainty
from reportgen.figures.cabinet import AMBIENT_WITHIN
from reportgen.figures.cabinet_log import HOUR
from reportgen.figures.cabinet_mean import LEAST_COVERAGE, cabinet_mean, covered_span
from reportgen.figures.chain import possible
from reportgen.figures.crossings import signed
from reportgen.figures.figure import Figure, because_of, derived, given, not_given, stated
from reportgen.figures.run import CLOCK_HALF_STEP
from reportgen.message import Message, say
from reportgen.trial import Trial

#: One watt for one hour [kJ].
KJ_PER_WATT_HOUR = 3.6


def heat_leak_figures(
    trial: Trial, ambient: Figure, heat_removed: Figure, energy_used: Figure, limit: Figure
) -> list[Figure]:
    """Return the heat leaked into the cabinet and the COP that counts it.

    Parameters
    ----------
    ambient, heat_removed, energy_used, limit
        The figures ambient_mean [degC], heat_removed [kJ], energy_used [MJ] and cop_reversible [1].
    """
    leaked = _leaked(trial, ambient, (limit, heat_removed))
    cop = derived(
        "cop_cabinet",
        lambda q, leak, e: (q + leak) / e / 1000,
        heat_removed,
        leaked,
        energy_used,
        working=lambda r, q, leak, e: say(
            "(heat removed from the water + heat leaked in) / energy used = ({q} + {leak}) kJ / ({e} MJ × 1000) = {r}; "
            "what cooled the cabinet itself is not counted",
            q=q,
            leak=leak,
            e=e,
            r=r,
        ),
    )
    return [leaked, possible(cop, limit, say("the heat leak, a mass, a gas reading or a temperature"))]


def _leaked(trial: Trial, ambient: Figure, shares_with: tuple[Figure, ...]) -> Figure:
    """Return heat leak × (mean ambient − mean cabinet) × time of the run, which is the integral of the product."""
    key = "heat_leaked"
    quantity = trial.sheet.cabinet.heat_leak
    if quantity is None:
        return not_given(key, _no_leak(trial))
    if not trial.burning:
        return not_given(key, trial.no_lighting)
    if not ambient.is_given:
        return not_given(key, because_of(ambient))
    start, end = trial.burning[0][0], trial.burning[-1][1]
    readings = trial.column("ambient_temperature")
    if readings is not None:
        near = readings.between(start - AMBIENT_WITHIN * HOUR, end + AMBIENT_WITHIN * HOUR)
        share = covered_span(near.at, start, end)
        if share < LEAST_COVERAGE:
            return not_given(
                key,
                say(
                    "ambient readings span only {percent} % of the run; {least} % are needed",
                    percent=round(100 * share),
                    least=round(100 * LEAST_COVERAGE),
                ),
                inputs=ambient.inputs,
            )
    cabinet = cabinet_mean(trial, start, end, shares_with)
    if cabinet.is_given and cabinet.value >= ambient.value:
        return not_given(
            key,
            say(
                "the cabinet ({c} °C) was not colder than ambient ({a} °C) on the mean",
                c=cabinet.number,
                a=ambient.number,
            ),
            inputs=[*cabinet.inputs, *ambient.inputs],
        )
    moments = 2**0.5 * uncertainty.rectangular(CLOCK_HALF_STEP)
    hours = given("run_time", uncertainty.estimate((end - start) / HOUR, moments, "clock"))
    return derived(
        key,
        lambda u, a, c, t: u * (a - c) * t * KJ_PER_WATT_HOUR,
        stated("heat_leak", quantity, "cabinet.heat_leak"),
        ambient,
        cabinet,
        hours,
        working=lambda r, u, a, c, t: say(
            "heat leak × (mean ambient − mean cabinet) × run time = {u} W/K × ({a} − {c}) K × {t} h × 3.6 kJ/(W h) = "
            "{r} kJ",
            u=u,
            a=a,
            c=signed(c),
            t=t,
            r=r,
        ),
    )


def _no_leak(trial: Trial) -> Message:
    """Return why no heat leak is known; a hold-over of an empty cabinet looks as if it could tell."""
    readings = trial.column("cabinet_temperature")
    end = trial.burning[-1][1] if trial.burning and trial.end_recorded else None
    held = readings is not None and end is not None and bool((readings.at > end).any())
    if held and trial.sheet.water.mass is None and not trial.looks:
        return say(
            "the heat leak is not stated (cabinet.heat_leak); the hold-over gives only how fast the cabinet warmed, "
            "and a leak needs the heat capacity of what is in it, which nobody recorded"
        )
    return say("the heat leak of the cabinet is not stated (cabinet.heat_leak)")
