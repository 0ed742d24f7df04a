"""The one list of the figures a report can give: key, unit, label, meaning, group, in the order of the page."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.message import Message, say


@dataclass(frozen=True)
class Kind:
    """A kind of figure.

    Attributes
    ----------
    key, unit : str
        As in the results file.
    label : Message
        For people.
    meaning : str
        One line for the documents.
    group : str
        Part of the report it stands in.
    is_extra : bool
        True for one that only some trials can give: the report leaves it out where it is not given.
    """

    key: str
    unit: str
    label: Message
    meaning: str
    group: str
    is_extra: bool = False


GROUPS = ("run", "gas", "cabinet", "ice", "chain", "waste")
KINDS = {
    kind.key: kind
    for kind in (
        Kind("run_time", "h", say("Run time"), "first lit to last out", "run"),
        Kind("burning_time", "h", say("Burning time"), "time with the burner lit", "run"),
        Kind(
            "gas_used_as_read",
            "L",
            say("Gas used, as read"),
            "drawn for the burner while lit, at holder conditions",
            "gas",
        ),
        Kind(
            "gas_used", "L", say("Gas used, standard dry"), "the same at 0 °C, 101.325 kPa, without water vapour", "gas"
        ),
        Kind("gas_per_hour_as_read", "L/h", say("Gas per hour, as read"), "gas used as read over burning time", "gas"),
        Kind("gas_per_hour", "L/h", say("Gas per hour, standard dry"), "gas used over burning time", "gas"),
        Kind(
            "gas_rate_steadiness", "1", say("Spread of the gas rate"), "over windows of half an hour, relative", "gas"
        ),
        Kind(
            "hours_per_cubic_metre_as_read",
            "h/m^3",
            say("Hours per cubic metre, as read"),
            "how long one cubic metre as read runs the burner",
            "gas",
        ),
        Kind(
            "holder_endurance",
            "h",
            say("Gas left lasts"),
            "from the content at the end down to the reserve, at this rate",
            "gas",
        ),
        Kind("idle_loss", "L/h", say("Loss of the idle holder"), "as read, with the burner out", "gas", True),
        Kind("methane_fraction", "1", say("Methane fraction"), "of the dry gas, used for the energy", "gas"),
        Kind("energy_used", "MJ", say("Energy used"), "net heating value of the methane in the gas used", "gas"),
        Kind("burner_power", "W", say("Burner power"), "mean while burning", "gas"),
        Kind("temperature_start", "degC", say("Cabinet at the start"), "when the burner was lit", "cabinet"),
        Kind(
            "temperature_lowest",
            "degC",
            say("Lowest cabinet temperature"),
            "lowest running median of three readings",
            "cabinet",
        ),
        Kind("ambient_mean", "degC", say("Mean ambient"), "time-weighted over the run", "cabinet"),
        Kind("cooling_rate_mean", "K/h", say("Mean cooling rate"), "fall over the time it took", "cabinet"),
        Kind(
            "cooling_rate_peak",
            "K/h",
            say("Fastest cooling"),
            "steepest robust line over 15 minutes or more",
            "cabinet",
        ),
        Kind("time_to_0", "h", say("Time to 0 °C"), "from first lit to a crossing that holds", "cabinet"),
        Kind("time_to_minus_6", "h", say("Time to −6 °C"), "from first lit to a crossing that holds", "cabinet"),
        Kind("time_to_minus_12", "h", say("Time to −12 °C"), "from first lit to a crossing that holds", "cabinet"),
        Kind("time_to_minus_18", "h", say("Time to −18 °C"), "from first lit to a crossing that holds", "cabinet"),
        Kind("cooling_delay", "h", say("Cooling delay"), "dead time of a first-order step response", "cabinet"),
        Kind("cooling_time_constant", "h", say("Cooling time constant"), "of a first-order step response", "cabinet"),
        Kind("temperature_floor", "degC", say("Temperature floor"), "where that response is heading", "cabinet"),
        Kind(
            "hold_over_time",
            "h",
            say("Hold-over time"),
            "from last out until the cabinet is above 0 °C again",
            "cabinet",
        ),
        Kind("water_mass", "kg", say("Water put in"), "mass of the water to be frozen", "ice"),
        Kind("ice_mass", "kg", say("Ice made"), "frozen at the end", "ice"),
        Kind("ice_making_time", "h", say("Ice-making time"), "first lit to solid", "ice"),
        Kind("freezing_time", "h", say("Freezing time"), "water placed to solid", "ice"),
        Kind(
            "ice_making_capacity",
            "kg/d",
            say("Ice-making capacity"),
            "ice per freezing time, for a day; extrapolated",
            "ice",
        ),
        Kind("heat_removed", "kJ", say("Heat removed from the water"), "to 0 °C, freezing, and sub-cooling", "ice"),
        Kind("cooling_power", "W", say("Mean cooling power on the water"), "heat removed over freezing time", "ice"),
        Kind("freezing_start", "h", say("Freezing began"), "by a probe in the water, from first lit", "ice", True),
        Kind("freezing_end", "h", say("Freezing ended"), "by a probe in the water, from first lit", "ice", True),
        Kind(
            "supercooling",
            "K",
            say("Supercooling"),
            "below 0 °C before freezing began, by a probe in the water",
            "ice",
            True,
        ),
        Kind(
            "freezing_time_predicted",
            "h",
            say("Freezing time by Plank"),
            "for the stated shape, still air to a cold plate",
            "ice",
            True,
        ),
        Kind(
            "gas_per_ice_as_read", "L/kg", say("Gas per kg of ice, as read"), "gas used as read over ice mass", "chain"
        ),
        Kind("gas_per_ice", "L/kg", say("Gas per kg of ice, standard dry"), "gas used over ice mass", "chain"),
        Kind("methane_per_ice", "L/kg", say("Methane per kg of ice"), "methane used over ice mass", "chain"),
        Kind("energy_per_ice", "MJ/kg", say("Energy per kg of ice"), "energy used over ice mass", "chain"),
        Kind("cop_ice", "1", say("Thermal COP on the ice"), "heat removed from the water over energy used", "chain"),
        Kind("heat_leaked", "kJ", say("Heat leaked in"), "through the cabinet's walls over the run", "chain", True),
        Kind(
            "cop_cabinet",
            "1",
            say("Thermal COP with the leak"),
            "heat removed and leaked in, over energy used",
            "chain",
            True,
        ),
        Kind(
            "cop_reversible",
            "1",
            say("Reversible limit of the COP"),
            "for mean boiler and ambient and lowest cabinet temperature",
            "chain",
        ),
        Kind(
            "share_of_limit", "1", say("Share of the reversible limit"), "COP on the ice over that limit", "chain", True
        ),
        Kind("waste_fed", "kg", say("Waste fed"), "fresh mass over the feed log", "waste"),
        Kind("gas_produced", "L", say("Gas produced, standard dry"), "logged production over the whole log", "waste"),
        Kind("gas_yield_fresh", "L/kg", say("Gas per kg of waste"), "gas produced over waste fed, totals", "waste"),
        Kind("gas_yield_vs", "L/kg", say("Gas per kg of volatile solids"), "the same per volatile solids", "waste"),
        Kind("methane_yield_vs", "L/kg", say("Methane per kg of volatile solids"), "methane in it", "waste"),
        Kind(
            "gas_yield_model", "L/kg", say("Gas per kg of waste, model"), "first-order model of the feed log", "waste"
        ),
        Kind(
            "theoretical_methane_yield",
            "L/kg",
            say("Theoretical methane yield"),
            "per volatile solids, from composition",
            "waste",
        ),
        Kind(
            "methane_yield_share",
            "1",
            say("Share of the theoretical yield"),
            "methane yield over the theoretical one",
            "waste",
            True,
        ),
        Kind("waste_for_run", "kg", say("Waste behind the gas"), "fresh waste equivalent of the gas used", "waste"),
        Kind("waste_to_ice", "kg/kg", say("Waste per kg of ice"), "waste behind the gas over ice mass", "waste"),
        Kind("loading_rate", "kg/(m^3 d)", say("Loading rate"), "volatile solids per digester volume and day", "waste"),
        Kind("retention_time", "d", say("Retention time"), "working volume over daily feed volume", "waste"),
    )
}
