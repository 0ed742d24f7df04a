"""Freezing as a probe in the water shows it, and the time that Plank's equation gives for the shape of the water."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.calc import uncertainty, water
from reportgen.figures.cabinet_log import HOUR
from reportgen.figures.cabinet_mean import cabinet_mean
from reportgen.figures.figure import DERIVED, Assumption, Figure, Number, because_of, derived, given, not_given, stated
from reportgen.figures.freezing_probe import probe_figures
from reportgen.figures.ice import Bracket
from reportgen.message import say
from reportgen.trial import Finding, Trial

#: Surface coefficient between water and cabinet [W/(m² K)]: from still air, 5 (from memory: 5 to 10), to good contact
#: with a cold plate (ours). Trays on the plate freeze several times as fast as the same tray in the air.
SURFACE = (5.0, 50.0)
#: The same to a cold plate in good contact, at the most [W/(m2 K)] (ours).
GOOD_CONTACT = 100.0
#: Plank's equation in letters, heat per kilogram and temperature difference aside.
PLANK_TEXT = {
    "slab": "a / (2 h) + a² / (8 k)",
    "cylinder": "a / (4 h) + a² / (16 k)",
    "sphere": "a / (6 h) + a² / (24 k)",
}
#: What the water may be shaped like, by its name in trial.toml.
SHAPES = {"slab": say("slab"), "cylinder": say("cylinder"), "sphere": say("sphere")}


@dataclass(frozen=True)
class FreezingFigures:
    """The figures of this part, and findings."""

    figures: list[Figure]
    findings: tuple[Finding, ...]


def freezing_figures(
    trial: Trial,
    lowest: Figure,
    bracket: Bracket | None,
    freezing_time: Figure,
    heat_removed: Figure,
    ice_mass: Figure,
) -> FreezingFigures:
    """Return start and end of freezing and the supercooling by the probe, and the predicted freezing time."""
    by_probe, probe_findings = probe_figures(trial)
    predicted = _predicted(trial, lowest, bracket, heat_removed, ice_mass)
    too_fast = _faster_than_plank(trial, lowest, bracket, freezing_time)
    return FreezingFigures([*by_probe, predicted], (*probe_findings, *too_fast))


def _size(trial: Trial) -> Figure:
    """Return the thickness of a slab or the diameter of the others [m]."""
    shape = trial.sheet.water.shape
    if shape is None:
        return not_given("size", say("the shape of the water is not recorded (water.shape)"))
    name = "thickness" if shape == "slab" else "diameter"
    quantity = getattr(trial.sheet.water, name)
    if quantity is None:
        return not_given(
            "size",
            say("the size of the water is not recorded (water.{name} of a {shape})", name=name, shape=SHAPES[shape]),
        )
    return derived(
        "size",
        lambda a: a / 1000,
        stated(name, quantity, f"water.{name}", source="size of the water"),
        working=lambda r, a: say("{a} mm = {r} m", a=a, r=r),
    )


def _predicted(trial: Trial, lowest: Figure, bracket: Bracket | None, heat_removed: Figure, ice_mass: Figure) -> Figure:
    key = "freezing_time_predicted"
    size = _size(trial)
    if not size.is_given:
        return not_given(key, because_of(size))
    if trial.placed_at is None or not trial.burning:
        return not_given(
            key, say("when the water was put in or the burner was lit is not recorded (water.placed, burner.lit)")
        )
    look = (bracket.after or bracket.before) if bracket is not None else None
    end = look.at if look is not None else trial.burning[-1][1]
    mean = cabinet_mean(trial, trial.placed_at, end, [lowest])
    if not mean.is_given:
        return not_given(key, because_of(mean), inputs=mean.inputs)
    if uncertainty.normal_interval(mean.number)[1] >= 0:
        return not_given(
            key,
            say("the mean cabinet temperature, {t} °C, is not certainly below 0 °C", t=mean.number),
            inputs=mean.inputs,
        )
    heat = _heat_per_ice(trial, heat_removed, ice_mass)
    if not heat.is_given:
        # Plank's equation itself counts the heat of freezing only, and so is a lower bound for water put in warm.
        least = _plank(trial, size.number, mean.number, SURFACE[1], water.HEAT_OF_FUSION)
        return not_given(
            key, because_of(heat), at_least=uncertainty.nominal(least), inputs=[*size.inputs, *mean.inputs]
        )
    slow, fast = (_plank(trial, size.number, mean.number, surface, heat.number) for surface in SURFACE)
    latent = [uncertainty.nominal(_plank(trial, size.number, mean.number, h, water.HEAT_OF_FUSION)) for h in SURFACE]
    shape = trial.sheet.water.shape or ""
    working = say(
        "ρ L / (0 °C − T) × ({size_terms}) with ρ = {density} kg/m³, a = {size} m, T = {mean} °C, k = {conductivity} "
        "W/(m K) and, for L, all the heat that a kilogram gave up, {heat} kJ/kg: {fast} h at h = {high} W/(m² K), "
        "{slow} h at {low}; middle {middle} h. The equation itself counts the heat of freezing alone, "
        "{fusion} kJ/kg, which gives {latent_fast} to {latent_slow} h: a lower bound",
        size_terms=PLANK_TEXT[shape],
        fusion=water.HEAT_OF_FUSION,
        density=water.ICE_DENSITY,
        size=size.number,
        mean=mean.number,
        conductivity=water.ICE_CONDUCTIVITY,
        heat=heat.number,
        fast=fast,
        high=SURFACE[1],
        slow=slow,
        low=SURFACE[0],
        middle=(slow + fast) / 2,
        latent_fast=latent[1],
        latent_slow=latent[0],
    )
    return given(
        key,
        (slow + fast) / 2,
        inputs=[size.inputs, mean.inputs, heat.inputs, "trial.toml:water.shape"],
        working=working,
        method="Plank's equation with all the heat given up",
        ends=(fast, slow),
        assumptions=[*_plank_assumptions(shape), *size.assumptions, *mean.assumptions, *heat.assumptions],
        basis=DERIVED,
    )


def _plank_assumptions(shape: str) -> list[Assumption]:
    low, high = SURFACE
    taken = [
        Assumption(
            "surface coefficient",
            say("{low} to {high} W/(m² K): still air to contact with a cold plate", low=low, high=high),
            say(
                "it was not measured, and how the water met the cold decides the freezing time more than anything else"
            ),
        )
    ]
    if shape == "slab":
        taken.append(
            Assumption(
                "faces of the slab",
                say("cooled alike on both faces"),
                say(
                    "which faces met the cold is not recorded; cooled on one face only, it takes as long as a "
                    "slab of twice the thickness"
                ),
            )
        )
    return taken


def _heat_per_ice(trial: Trial, heat_removed: Figure, ice_mass: Figure) -> Figure:
    """Return the heat that a kilogram of the water gives up until it is solid [kJ/kg]."""
    mass = trial.sheet.water.mass
    # The heat of cooling belongs to all the water, also where only part of it froze.
    per_ice = mass.value / ice_mass.value if mass is not None and ice_mass.is_given else 1.0
    return derived(
        "heat_per_ice",
        lambda q, m: water.HEAT_OF_FUSION + (q / m - water.HEAT_OF_FUSION) / per_ice,
        heat_removed,
        ice_mass,
        working=lambda r, q, m: say("{q} kJ for {m} kg of ice: {r} kJ/kg", q=q, m=m, r=r),
    )


def _plank(trial: Trial, size: Number, temperature: Number, surface: float, heat: Number) -> Number:
    """Return Plank's freezing time [h]."""
    shape = trial.sheet.water.shape or ""
    return water.plank_freezing_time(shape, size, 0.0, temperature, surface, latent_heat=heat) / HOUR


def _faster_than_plank(
    trial: Trial, lowest: Figure, bracket: Bracket | None, freezing_time: Figure
) -> tuple[Finding, ...]:
    size = _size(trial)
    longest = freezing_time.interval[1] if freezing_time.interval is not None else freezing_time.at_most
    if longest is None or not size.is_given or not lowest.is_given or lowest.value >= 0:
        return ()
    least = _plank(trial, size.number, lowest.number, GOOD_CONTACT, water.HEAT_OF_FUSION)
    bound = uncertainty.normal_interval(least)[0]
    if longest >= bound:
        return ()
    look = bracket.after if bracket is not None else None
    return (
        Finding(
            "caution",
            "faster-than-plank",
            say(
                "solid within {longest} h, but a {shape} of {size} m needs {bound} h or more to freeze through at "
                "{t} °C, the lowest cabinet reading, even in good contact with a cold plate ({h} W/(m² K))",
                longest=longest,
                shape=SHAPES[str(trial.sheet.water.shape)],
                size=size.number,
                bound=bound,
                t=lowest.number,
                h=GOOD_CONTACT,
            ),
            look.file if look is not None else None,
            look.row if look is not None else None,
            say(
                "the size of the water, a time or a look at the ice is wrong, or the plate was far colder than the "
                "cabinet probe"
            ),
        ),
    )
