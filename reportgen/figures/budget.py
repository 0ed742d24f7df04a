"""What makes a figure uncertain: how much each source of error contributes, and what measuring it better would buy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.calc import uncertainty
from reportgen.figures.figure import Figure
from reportgen.message import Message, say

#: Name of the range between two looks among the sources of error.
LOOKS = "time between two looks"
#: What would make a source of error smaller, in the order of the world: something a practitioner can do.
REMEDIES: dict[str, Message] = {
    "methane fraction": say("measure the methane at the burner, or measure it more finely"),
    "share frozen": say("weigh the ice"),
    "water mass": say("weigh the water on a finer scale"),
    "ice mass": say("weigh the ice on a finer scale"),
    "water temperature": say("take the water's temperature with a checked thermometer"),
    "ice temperature": say("take the temperature of the ice at the end"),
    LOOKS: say("look at the ice more often near the end"),
    "gas scale": say("calibrate the gas scale, by weighing displaced water for example"),
    "gas readings": say("read the gas on a finer scale, or run for longer"),
    "gas between readings": say("read the gas when the burner is lit and when it goes out"),
    "gas burnt during a refill": say("read the gas just before and just after a refill"),
    "gas beyond the readings": say("read the gas when the burner is lit and when it goes out"),
    "gas temperature": say("keep a thermometer in the gas"),
    "gas pressure": say("read the gas pressure on a water gauge"),
    "atmospheric pressure": say("write down a barometer reading"),
    "altitude": say("write down the altitude"),
    "production during the run": say("shut the holder off from the digester while the burner is lit"),
    "gas used elsewhere": say("use no gas elsewhere while the burner is lit"),
    "cabinet thermometer": say("check the cabinet thermometer in ice and water"),
    "cabinet readings": say("read the cabinet more often, or on a finer scale"),
    "ambient thermometer": say("check the ambient thermometer in ice and water"),
    "boiler temperature": say("log the boiler temperature"),
    "boiler thermometer": say("check the boiler thermometer"),
    "feed scale": say("check the feed scale with a known mass"),
    "solids of the feed": say("dry and burn a sample of the feed"),
    "ends of the feed and gas logs": say("log feed and gas for some weeks longer"),
    "first-order model of the digester": say("log feed and gas for some weeks longer, feeding the same each day"),
    "state of the gas over the feed log": say("log the gas temperature with the daily gas"),
    "specific yield": say("log feed and gas for three weeks"),
    "fit of the response": say("read the cabinet more often"),
    "heat leak": say("find the heat leak of the empty cabinet"),
    "clock": say("write times to the minute"),
}


@dataclass(frozen=True)
class Contribution:
    """A source of error, its share of the variance [1], and its standard uncertainty in the unit of the figure."""

    source: str
    share: float
    standard_uncertainty: float


@dataclass(frozen=True)
class Budget:
    """The uncertainty budget of a figure.

    Attributes
    ----------
    key : str
    contributions : tuple of Contribution
        Largest first.
    relative : float or None
        Standard uncertainty over value; None for a temperature or a value of nought.
    halved : float or None
        The same if the largest contribution were half as big.
    remedy : Message or None
        What would make the largest contribution smaller.
    """

    key: str
    contributions: tuple[Contribution, ...]
    relative: float | None
    halved: float | None
    remedy: Message | None


def budget_of(figure: Figure) -> Budget | None:
    """Return the budget of a figure; None where it is not given or carries no uncertainty.

    References
    ----------
    JCGM 100:2008, 5.1.3 and 7.2.7 (contributions u_i(y) = |c_i| u(x_i)).
    """
    if not figure.is_given or not figure.standard_uncertainty > 0:
        return None
    total = figure.standard_uncertainty**2
    linear = uncertainty.standard_uncertainty(figure.number) ** 2
    shares = {source: share * linear for source, share in uncertainty.variance_shares(figure.number).items()}
    if figure.ends is not None:
        low, high = (uncertainty.nominal(end) for end in figure.ends)
        shares[LOOKS] = ((high - low) / 2) ** 2 / 3
    whole = sum(shares.values())
    if not whole > 0:
        return None
    contributions = tuple(
        Contribution(source, variance / whole, (variance / whole * total) ** 0.5)
        for source, variance in sorted(shares.items(), key=lambda item: (-item[1], item[0]))
        if variance > 0
    )
    largest = contributions[0]
    relative = figure.standard_uncertainty / abs(figure.value) if figure.value and not _is_temperature(figure) else None
    halved = relative * (1 - 0.75 * largest.share) ** 0.5 if relative is not None else None
    return Budget(figure.key, contributions, relative, halved, REMEDIES.get(largest.source))


def budgets(figures: Mapping[str, Figure], keys: tuple[str, ...]) -> tuple[Budget, ...]:
    """Return the budgets of the figures of these keys that are given."""
    found = (budget_of(figures[key]) for key in keys)
    return tuple(budget for budget in found if budget is not None)


def _is_temperature(figure: Figure) -> bool:
    return figure.key.startswith("temperature_") or figure.key == "ambient_mean"
