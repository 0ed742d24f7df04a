"""The one list of the figures a report can give: key, unit, label, meaning, group, in the order of the page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Kind:
    """A kind of figure.

    Attributes
    ----------
    key, unit : str
        As in the results file.
    label : str
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
    label: str
    meaning: str
    group: str
    is_extra: bool = False


GROUPS = ("run", "gas", "cabinet", "ice", "chain", "waste")
KINDS = {
    kind.key: kind
    for kind in (
        Kind("run_time", "h", "Run time", "first lit to last out", "run"),
        Kind("burning_time", "h", "Burning time", "time with the burner lit", "run"),
        Kind(
            "gas_used_as_read", "L", "Gas used, as read", "drawn for the burner while lit, at holder conditions", "gas"
        ),
        Kind("gas_used", "L", "Gas used, standard dry", "the same at 0 °C, 101.325 kPa, without water vapour", "gas"),
        Kind("gas_per_hour_as_read", "L/h", "Gas per hour, as read", "gas used as read over burning time", "gas"),
        Kind("gas_per_hour", "L/h", "Gas per hour, standard dry", "gas used over burning time", "gas"),
        Kind("gas_rate_steadiness", "1", "Spread of the gas rate", "over windows of half an hour, relative", "gas"),
        Kind(
            "hours_per_cubic_metre_as_read",
            "h/m^3",
            "Hours per cubic metre, as read",
            "how long one cubic metre as read runs the burner",
            "gas",
        ),
        Kind(
            "holder_endurance",
            "h",
            "Gas left lasts",
            "from the content at the end down to the reserve, at this rate",
            "gas",
        ),
        Kind("idle_loss", "L/h", "Loss of the idle holder", "as read, with the burner out", "gas", True),
        Kind("methane_fraction", "1", "Methane fraction", "of the dry gas, used for the energy", "gas"),
        Kind("energy_used", "MJ", "Energy used", "net heating value of the methane in the gas used", "gas"),
        Kind("burner_power", "W", "Burner power", "mean while burning", "gas"),
        Kind("temperature_start", "degC", "Cabinet at the start", "when the burner was lit", "cabinet"),
        Kind(
            "temperature_lowest",
            "degC",
            "Lowest cabinet temperature",
            "lowest running median of three readings",
            "cabinet",
        ),
        Kind("ambient_mean", "degC", "Mean ambient", "time-weighted over the run", "cabinet"),
        Kind("cooling_rate_mean", "K/h", "Mean cooling rate", "fall over the time it took", "cabinet"),
        Kind("cooling_rate_peak", "K/h", "Fastest cooling", "steepest robust line over 15 minutes or more", "cabinet"),
        Kind("time_to_0", "h", "Time to 0 °C", "from first lit to a crossing that holds", "cabinet"),
        Kind("time_to_minus_6", "h", "Time to −6 °C", "from first lit to a crossing that holds", "cabinet"),
        Kind("time_to_minus_12", "h", "Time to −12 °C", "from first lit to a crossing that holds", "cabinet"),
        Kind("time_to_minus_18", "h", "Time to −18 °C", "from first lit to a crossing that holds", "cabinet"),
        Kind("cooling_delay", "h", "Cooling delay", "dead time of a first-order step response", "cabinet"),
        Kind("cooling_time_constant", "h", "Cooling time constant", "of a first-order step response", "cabinet"),
        Kind("temperature_floor", "degC", "Temperature floor", "where that response is heading", "cabinet"),
        Kind("hold_over_time", "h", "Hold-over time", "from last out until the cabinet is above 0 °C again", "cabinet"),
        Kind("water_mass", "kg", "Water put in", "mass of the water to be frozen", "ice"),
        Kind("ice_mass", "kg", "Ice made", "frozen at the end", "ice"),
        Kind("ice_making_time", "h", "Ice-making time", "first lit to solid", "ice"),
        Kind("freezing_time", "h", "Freezing time", "water placed to solid", "ice"),
        Kind(
            "ice_making_capacity",
            "kg/d",
            "Ice-making capacity",
            "ice per freezing time, for a day; extrapolated",
            "ice",
        ),
        Kind("heat_removed", "kJ", "Heat removed from the water", "to 0 °C, freezing, and sub-cooling", "ice"),
        Kind("cooling_power", "W", "Mean cooling power on the water", "heat removed over freezing time", "ice"),
        Kind("freezing_start", "h", "Freezing began", "by a probe in the water, from first lit", "ice", True),
        Kind("freezing_end", "h", "Freezing ended", "by a probe in the water, from first lit", "ice", True),
        Kind(
            "supercooling",
            "K",
            "Supercooling",
            "below 0 °C before freezing began, by a probe in the water",
            "ice",
            True,
        ),
        Kind(
            "freezing_time_predicted",
            "h",
            "Freezing time by Plank",
            "for the stated shape, still air to a cold plate",
            "ice",
            True,
        ),
        Kind("gas_per_ice_as_read", "L/kg", "Gas per kg of ice, as read", "gas used as read over ice mass", "chain"),
        Kind("gas_per_ice", "L/kg", "Gas per kg of ice, standard dry", "gas used over ice mass", "chain"),
        Kind("methane_per_ice", "L/kg", "Methane per kg of ice", "methane used over ice mass", "chain"),
        Kind("energy_per_ice", "MJ/kg", "Energy per kg of ice", "energy used over ice mass", "chain"),
        Kind("cop_ice", "1", "Thermal COP on the ice", "heat removed from the water over energy used", "chain"),
        Kind("heat_leaked", "kJ", "Heat leaked in", "through the cabinet's walls over the run", "chain", True),
        Kind(
            "cop_cabinet",
            "1",
            "Thermal COP with the leak",
            "heat removed and leaked in, over energy used",
            "chain",
            True,
        ),
        Kind(
            "cop_reversible",
            "1",
            "Reversible limit of the COP",
            "for mean boiler and ambient and lowest cabinet temperature",
            "chain",
        ),
        Kind("share_of_limit", "1", "Share of the reversible limit", "COP on the ice over that limit", "chain", True),
        Kind("waste_fed", "kg", "Waste fed", "fresh mass over the feed log", "waste"),
        Kind("gas_produced", "L", "Gas produced, standard dry", "logged production over the whole log", "waste"),
        Kind("gas_yield_fresh", "L/kg", "Gas per kg of waste", "gas produced over waste fed, totals", "waste"),
        Kind("gas_yield_vs", "L/kg", "Gas per kg of volatile solids", "the same per volatile solids", "waste"),
        Kind("methane_yield_vs", "L/kg", "Methane per kg of volatile solids", "methane in it", "waste"),
        Kind("gas_yield_model", "L/kg", "Gas per kg of waste, model", "first-order model of the feed log", "waste"),
        Kind(
            "theoretical_methane_yield",
            "L/kg",
            "Theoretical methane yield",
            "per volatile solids, from composition",
            "waste",
        ),
        Kind(
            "methane_yield_share",
            "1",
            "Share of the theoretical yield",
            "methane yield over the theoretical one",
            "waste",
            True,
        ),
        Kind("waste_for_run", "kg", "Waste behind the gas", "fresh waste equivalent of the gas used", "waste"),
        Kind("waste_to_ice", "kg/kg", "Waste per kg of ice", "waste behind the gas over ice mass", "waste"),
        Kind("loading_rate", "kg/(m^3 d)", "Loading rate", "volatile solids per digester volume and day", "waste"),
        Kind("retention_time", "d", "Retention time", "working volume over daily feed volume", "waste"),
    )
}
