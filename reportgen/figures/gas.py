"""The gas figures: used, per hour, energy, power, endurance, production."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reportgen.calc import gas as gas_calc
from reportgen.calc import uncertainty
from reportgen.figures.figure import DERIVED, MEASURED, Assumption, Figure, derived, given, not_given, stated
from reportgen.figures.gas_account import SCALE_LIMITS, GasAccount, gas_account
from reportgen.figures.gas_readings import overlap_with_burning, volume_readings
from reportgen.figures.gas_state import GasState
from reportgen.message import PLUS, Message, Written, listed, say
from reportgen.trial import Finding, Readings, Trial

HOUR = 3600.0
DAY = 86400.0
#: Standard uncertainty of the digester's production during the run against its logged mean, relative (ours).
PRODUCTION_VARIES = 0.2
#: A rise of an idle holder counts as production beyond this many steps of its scale (ours).
IDLE_RISE_STEPS = 2


@dataclass(frozen=True)
class GasFigures:
    """The figures of this part and the account they rest on (or the reason why there is none)."""

    figures: list[Figure]
    account: GasAccount | Message
    findings: tuple[Finding, ...]


def gas_figures(trial: Trial, burning_time: Figure, methane: Figure, state: GasState) -> GasFigures:
    """Return all gas figures of the run."""
    account = gas_account(trial)
    scale = _scale(trial)
    produced_as_read = _produced_as_read(trial, scale)
    if isinstance(account, Message):
        used = not_given("gas_used_as_read", account)
    else:
        used = _used(trial, account, scale, produced_as_read)
    standard = derived(
        "gas_used",
        lambda v, f: v * f,
        used,
        state.factor,
        working=lambda r, v, f: say("gas as read × factor to standard dry = {v} L × {f} = {r} L", v=v, f=f, r=r),
    )
    energy = _energy(standard, methane)
    produced = derived(
        "gas_produced",
        lambda v, f: v * f,
        produced_as_read,
        state.factor_over_log,
        working=lambda r, v, f: say(
            "gas produced as read × factor to standard dry = {v} L × {f} = {r} L", v=v, f=f, r=r
        ),
    )
    per_hour = derived(
        "gas_per_hour_as_read",
        lambda v, t: v / t,
        used,
        burning_time,
        working=lambda r, v, t: say("gas used as read / burning time = {v} L / {t} h = {r} L/h", v=v, t=t, r=r),
    )
    if used.basis == MEASURED and per_hour.is_given:
        per_hour = per_hour.renamed(per_hour.key, basis=MEASURED)  # two readings and a clock, differenced directly
    figures = [
        used,
        standard,
        per_hour,
        derived(
            "gas_per_hour",
            lambda v, t: v / t,
            standard,
            burning_time,
            working=lambda r, v, t: say("gas used / burning time = {v} L / {t} h = {r} L/h", v=v, t=t, r=r),
        ),
        derived(
            "hours_per_cubic_metre_as_read",
            lambda rate: 1000 / rate,
            per_hour,
            working=lambda r, rate: say("1000 L / gas per hour as read = 1000 / {rate} = {r} h/m³", rate=rate, r=r),
        ),
        _endurance(trial, account, scale, per_hour),
        energy,
        derived(
            "burner_power",
            gas_calc.burner_power,
            energy,
            burning_time,
            working=lambda r, e, t: say(
                "energy used / burning time = {e} MJ × 10⁶ / ({t} h × 3600 s) = {r} W", e=e, t=t, r=r
            ),
        ),
        produced,
    ]
    if not isinstance(account, Message):
        findings = account.findings
    elif any(trial.column(name) is not None for name in ("gas_volume", "gas_level", "gas_flow")):
        findings = (
            Finding("caution", "gas-not-used", say("the gas readings give no gas used: {reason}", reason=account)),
        )
    else:
        findings = ()
    return GasFigures(figures, account, findings)


def _scale(trial: Trial) -> Figure:
    """Return the correction of the gas scale: one, uncertain by its accuracy; every gas reading shares it."""
    sheet = trial.sheet.gas
    terms, assumptions = 0.0, []
    inputs: list[str] = []
    # Limits in litres are those of the zero, which differences are free of; `_endurance` counts them.
    if sheet.accuracy is not None and sheet.accuracy.unit == "%":
        terms += (sheet.accuracy.value / 100) ** 2
        inputs.append("trial.toml:gas.accuracy")
    elif sheet.accuracy is None or sheet.kind == "flow":
        terms += uncertainty.rectangular(SCALE_LIMITS) ** 2
        assumptions.append(
            Assumption(
                "gas scale",
                say("right to {percent} %, as limits", percent=SCALE_LIMITS * 100),
                say("the accuracy of the gas scale is not recorded (gas.accuracy)"),
                of_value=False,
            )
        )
    by_area = trial.column("gas_level") is not None and trial.column("gas_volume") is None and sheet.level_table is None
    if sheet.level_area is not None and by_area:
        area = stated("level_area", sheet.level_area, "gas.level_area")
        terms += (area.standard_uncertainty / area.value) ** 2
        inputs += area.inputs
        assumptions += area.assumptions
    return given(
        "gas_scale", uncertainty.estimate(1.0, terms**0.5, "gas scale"), inputs=inputs, assumptions=assumptions
    )


def _used(trial: Trial, account: GasAccount, scale: Figure, produced: Figure) -> Figure:
    sheet = trial.sheet.gas
    number, terms = account.used, [*account.terms]
    assumptions = [*account.assumptions, *scale.assumptions]
    inputs: list[object] = [account.volumes, *scale.inputs]
    if account.kind == "holder" and sheet.isolated is None:
        assumptions.append(
            Assumption(
                "holder isolated",
                say("the holder was shut off from the digester while the burner was lit"),
                say("gas.isolated is not stated; gas coming in meanwhile would make the use look smaller"),
            )
        )
    if account.kind == "holder" and sheet.isolated is False:
        rate = _production_rate(trial)
        if rate is None or not produced.is_given:
            return not_given(
                "gas_used_as_read",
                say(
                    "the holder was open to the digester and no daily production is logged (gas_produced), so what "
                    "came in while the burner was lit is unknown"
                ),
            )
        hours = sum(b - a for a, b in trial.burning) / HOUR
        amount = rate * hours
        number += uncertainty.estimate(amount, PRODUCTION_VARIES * amount, "production during the run")
        terms.append(say("{amount} produced meanwhile", amount=Written(amount, 1)))
        inputs += produced.inputs
        assumptions.append(
            Assumption(
                "production during the run",
                say("{rate} L/h, the logged mean", rate=rate),
                say("the holder was open to the digester, so production is added to the falls"),
                of_value=True,
            )
        )
    elsewhere = trial.column("gas_elsewhere")
    amount, spread = overlap_with_burning(trial, elsewhere) if elsewhere is not None else (0.0, 0.0)
    if amount > 0:
        number -= uncertainty.estimate(amount, spread, "gas used elsewhere")
        terms[-1] = say("{terms} − {amount} used elsewhere", terms=terms[-1], amount=Written(amount, 1))
        inputs.append(elsewhere)
    number = number * scale.number
    if uncertainty.nominal(number) <= 0:
        return not_given(
            "gas_used_as_read",
            say(
                "the readings show no gas used ({terms} = {number} L); is gas.kind right?",
                terms=listed(terms, PLUS),
                number=number,
            ),
            inputs=inputs,
            impossible=True,
        )
    working = say("sum of what left = {terms} L = {number} L", terms=listed(terms, PLUS), number=number)
    basis = DERIVED if account.refills else MEASURED
    return given("gas_used_as_read", number, basis=basis, inputs=inputs, working=working, assumptions=assumptions)


def _energy(standard: Figure, methane: Figure) -> Figure:
    spread = gas_calc.METHANE_NET_HEATING_VALUE * uncertainty.rectangular(
        gas_calc.METHANE_NET_HEATING_VALUE_RELATIVE_LIMIT
    )
    heating_value = given(
        "net_heating_value",
        uncertainty.estimate(gas_calc.METHANE_NET_HEATING_VALUE, spread, "net heating value of methane"),
    )
    return derived(
        "energy_used",
        lambda v, x, h: v * x * h / 1000,
        standard,
        methane,
        heating_value,
        working=lambda r, v, x, h: say(
            "gas used × methane fraction × net heating value = {v} L × {x} × {h} MJ/m³ / 1000 = {r} MJ",
            v=v,
            x=x,
            h=h,
            r=r,
        ),
    )


def _endurance(trial: Trial, account: GasAccount | Message, scale: Figure, per_hour: Figure) -> Figure:
    if isinstance(account, Message):
        return not_given("holder_endurance", account)
    if account.content_end is None:
        return not_given("holder_endurance", say("the gas was not read at a gasholder"))
    reserve = trial.sheet.gas.reserve
    assumptions, inputs = [*scale.assumptions], [account.volumes, *scale.inputs]
    if reserve is None:
        kept = uncertainty.estimate(0.0, 0.0, "reserve")
        assumptions.append(
            Assumption(
                "reserve",
                say("none: down to an empty holder"),
                say("gas.reserve is not stated; a holder must not be run empty, so less can be drawn"),
            )
        )
    else:
        stated_reserve = stated("reserve", reserve, "gas.reserve")
        kept = stated_reserve.number
        assumptions += stated_reserve.assumptions
        inputs += stated_reserve.inputs
    left = account.content_end * scale.number - kept
    accuracy = trial.sheet.gas.accuracy
    if accuracy is not None and accuracy.unit == "L":
        left += uncertainty.estimate(0.0, accuracy.value, "gas scale")
        inputs.append("trial.toml:gas.accuracy")
    if uncertainty.nominal(left) <= 0:
        return not_given(
            "holder_endurance", say("at the end the holder was at or below its reserve ({left} L)", left=left)
        )
    content = given("content_left", left, inputs=inputs, assumptions=assumptions)
    return derived(
        "holder_endurance",
        lambda volume, rate: volume / rate,
        content,
        per_hour,
        working=lambda r, volume, rate: say(
            "(content at the end − reserve) / gas per hour as read = {volume} L / {rate} L/h = {r} h",
            volume=volume,
            rate=rate,
            r=r,
        ),
    )


def _produced_as_read(trial: Trial, scale: Figure) -> Figure:
    """Return the production over the log [L as read]: the logged amounts, or the rises of an idle holder."""
    amounts = trial.column("gas_produced")
    if amounts is not None:
        total = float(amounts.values.sum())
        spread = uncertainty.rounding(amounts.step) * len(amounts) ** 0.5
        source, inputs = "sum of the logged production", amounts
    else:
        found = _idle_rises(trial)
        if found is None:
            return not_given("gas_produced_as_read", say("no gas production is logged (column gas_produced)"))
        total, spread, inputs = found
        source = "sum of the rises of the idle holder"
    if total <= 0:
        return not_given("gas_produced_as_read", say("the logged gas production is nought"), inputs=[inputs])
    number = uncertainty.estimate(total, spread, "production readings") * scale.number
    working = say("{source} = {number} L", source=source, number=number)
    return given("gas_produced_as_read", number, inputs=[inputs], working=working, assumptions=scale.assumptions)


def _idle_rises(trial: Trial) -> tuple[float, float, Readings] | None:
    volumes = volume_readings(trial)
    if trial.sheet.gas.kind != "holder" or isinstance(volumes, Message) or len(volumes) < 2:
        return None
    steps = np.diff(volumes.values)
    idle = np.ones(len(steps), dtype=bool)
    for start, end in trial.burning:
        idle &= (volumes.at[1:] <= start) | (volumes.at[:-1] >= end)
    for event in trial.events:
        if event.kind == "refill":
            idle &= (event.at < volumes.at[:-1]) | (event.at > volumes.at[1:])
    rises = idle & (steps > IDLE_RISE_STEPS * volumes.step)
    if not rises.any():
        return None
    chosen = np.zeros(len(volumes), dtype=bool)
    chosen[:-1] |= rises
    chosen[1:] |= rises
    return (
        float(steps[rises].sum()),
        uncertainty.rounding(volumes.step) * (2 * rises.sum()) ** 0.5,
        volumes.where(chosen),
    )


def _production_rate(trial: Trial) -> float | None:
    """Return the logged mean production [L/h as read]; the first row counts for one typical interval."""
    amounts = trial.column("gas_produced")
    if amounts is None or len(amounts) < 2:
        return None
    span = float(amounts.at[-1] - amounts.at[0])
    return float(amounts.values.sum()) / (span * len(amounts) / (len(amounts) - 1)) * HOUR if span > 0 else None
