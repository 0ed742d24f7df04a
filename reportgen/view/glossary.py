"""Words of the trade in plain words, for the edition for a class: those that the figures of a trial need."""

from __future__ import annotations

from reportgen.figures import Results
from reportgen.message import Message, say

#: Term, meaning, and the figures that need it: one given is enough. No figures: always told.
TERMS: tuple[tuple[Message, Message, tuple[str, ...]], ...] = (
    (say("Absorption refrigerator"), say("a refrigerator that heat drives: a flame, not a motor"), ()),
    (say("Ambient"), say("the air around the appliance, and its temperature"), ("ambient_mean",)),
    (
        say("As read"),
        say("gas at the temperature and pressure that it had where it was measured"),
        ("gas_used_as_read",),
    ),
    (say("Basis"), say("how a figure is known: measured, calculated, or resting on an assumption"), ()),
    (say("Biogas"), say("methane and carbon dioxide that microbes make of wet waste where there is no air"), ()),
    (say("Boiler"), say("the part of the refrigerator that the flame heats"), ("energy_used",)),
    (
        say("Coefficient of performance (COP)"),
        say("heat taken from what is cooled over the heat that was put in to do it"),
        ("cop_ice",),
    ),
    (say("Digester"), say("the closed tank in which waste becomes gas"), ("waste_fed",)),
    (say("Feedstock"), say("what is fed to the digester: here food waste"), ("waste_fed",)),
    (say("Fresh mass"), say("the mass of waste as collected, wet, without added water"), ("waste_fed",)),
    (say("Gasholder"), say("a bell over water, or a bag, in which gas is kept"), ("holder_endurance",)),
    (say("Hold-over"), say("how long the cabinet stays cold after the flame is out"), ("hold_over_time",)),
    (
        say("Interval, 95 %"),
        say("where the true value is nineteen times in twenty, if nothing unknown went wrong"),
        (),
    ),
    (say("Kelvin (K)"), say("for a difference of temperature the same as a degree Celsius"), ("cooling_rate_mean",)),
    (
        say("Latent heat"),
        say("heat that water gives up to freeze, without becoming colder"),
        ("heat_removed",),
    ),
    (say("Methane"), say("the part of biogas that burns, CH₄"), ("methane_fraction",)),
    (
        say("Net heating value"),
        say("heat of burning a gas, without that of condensing the water that this makes"),
        ("energy_used",),
    ),
    (say("Pull-down"), say("cooling the warm cabinet after lighting"), ("cooling_rate_mean",)),
    (
        say("Standard dry"),
        say("gas turned to 0 °C and 101.325 kPa, without water vapour, so that places can be compared"),
        ("gas_used",),
    ),
    (
        say("Uncertainty"),
        say("how far off a figure may well be; no measurement is without it"),
        (),
    ),
    (
        say("Volatile solids"),
        say("the part of the dry waste that can rot: what is left when water and ash are taken off"),
        ("gas_yield_vs",),
    ),
    (say("Watt (W)"), say("a joule in every second"), ("burner_power", "cooling_power")),
    (say("Yield"), say("gas from a kilogram of waste"), ("gas_yield_fresh", "waste_to_ice")),
)


def glossary(results: Results) -> tuple[tuple[str, str], ...]:
    """Return the terms that the figures of a trial need, each with its meaning."""
    return tuple(
        (str(term), str(meaning))
        for term, meaning, keys in TERMS
        if not keys or any(results[key].is_given for key in keys)
    )
