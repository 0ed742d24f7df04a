"""What a comparison keeps of a trial: few numbers and words, taken from its results file."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from reportgen.anonymous import LEFT_OUT_HERE, WITHHELD
from reportgen.calc import water
from reportgen.catalogue import KINDS
from reportgen.figures.plausibility import COOLED_BEFORE
from reportgen.message import Message, say
from reportgen.results_reader import identity
from reportgen.set_up import ASSUMED, RECORDED, probe_place

#: Heat from 1 kg of water at 25 °C to ice at 0 °C [kJ/kg]: what standard ice takes.
STANDARD_ICE = float(water.water_enthalpy(25.0)) + water.HEAT_OF_FUSION
#: Sources of error that stay the same from trial to trial at one place, so that repeating does not take them away: the
#: scales of instruments and vessels, and stated values of what was not measured each time (ours).
SHARED_AT_A_SITE = frozenset(
    (
        "altitude",
        "ambient thermometer",
        "boiler temperature",
        "boiler thermometer",
        "cabinet thermometer",
        "feed scale",
        "first-order model of the digester",
        "gas pressure",
        "gas scale",
        "heat leak",
        "level area",
        "methane fraction",
        "net heating value of methane",
        "reserve",
        "solids of the feed",
        "state of the gas over the feed log",
        "volume of the feed",
        "working volume",
    )
)
#: Of them, those that are the same everywhere; an assumed methane fraction is one, too.
SHARED_EVERYWHERE = frozenset(("net heating value of methane",))
METHANE = "methane fraction"
#: Words of the set-up in which trials have to be alike, as the results file calls them.
WORDS = ("probe_position", "end_point", "thermostat")
#: Half the width of a 95 % interval over the standard uncertainty.
NORMAL_95 = 1.959964

#: What good evidence needs, as a reader knows it.
EVIDENCE = {
    "gas_shut_off": say("gas shut off from the digester"),
    "gas_temperature": say("gas temperature"),
    "gas_pressure": say("gas pressure"),
    "methane": say("methane measured"),
    "ice_weighed": say("ice weighed"),
    "ambient": say("ambient logged"),
    "readings": say("readings every 30 minutes or more often"),
}
#: Grade by how many of those are lacking, at most; beyond the last it is C, without any log D.
GRADES = ((0, "A"), (2, "B"))


@dataclass(frozen=True, slots=True)
class Compared:
    """A quantity that is compared: key, label, unit, and whether it is a time that may not have been reached."""

    key: str
    label: Message
    unit: str
    is_time: bool = False


def _kind(key: str, is_time: bool = False) -> Compared:
    return Compared(key, KINDS[key].label, KINDS[key].unit, is_time)


ENERGY, GAS = "energy_per_standard_ice", "gas_per_standard_ice"
#: In the order of the tables. Those of standard ice first: they allow for the water's temperature and nothing else.
QUANTITIES = (
    Compared(ENERGY, say("Energy per kg of standard ice"), "MJ/kg"),
    Compared(GAS, say("Gas per kg of standard ice, standard dry"), "L/kg"),
    _kind("energy_per_ice"),
    _kind("gas_per_ice"),
    _kind("cop_ice"),
    _kind("gas_per_hour"),
    _kind("cooling_rate_mean"),
    _kind("waste_to_ice"),
    _kind("ice_making_time", True),
    _kind("time_to_0", True),
    _kind("time_to_minus_12", True),
)
#: What a ratio has below its line: the figure over all trials is the sum above over the sum below.
BELOW = {
    ENERGY: "heat_removed",
    GAS: "heat_removed",
    "energy_per_ice": "ice_mass",
    "gas_per_ice": "ice_mass",
    "gas_per_hour": "burning_time",
    "waste_to_ice": "ice_mass",
}


@dataclass(frozen=True, slots=True)
class Value:
    """A quantity of one trial.

    Attributes
    ----------
    value : float or None
        None where it is not given.
    low, high : float
        Ends of its range; where it is not given, what is known of it, infinite on the open side.
    shared, everywhere : float
        Standard uncertainty that the trials of the site share, and that all sites share.
    below : float or None
        What the ratio has below its line.
    """

    value: float | None
    low: float
    high: float
    basis: str = ""
    shared: float = 0.0
    everywhere: float = 0.0
    below: float | None = None


@dataclass(frozen=True, slots=True)
class TrialRow:
    """What a comparison keeps of a trial; texts are as in its results file, "" where there is none.

    Of an anonymous trial the site is left out, and mostly the words of its set-up; `left_out` names these as in the
    results file. It is like others in them that have the same `only_with`: a sign of its region and these words, or
    where a file has none its series, or itself.
    """

    id: str
    title: str
    site: str
    series: str
    outcome: str
    reason: str
    started: str
    licence: str
    citation: str
    identity: str
    report: str
    amends: str
    grade: str
    lacking: tuple[str, ...]
    start: str
    methane: str
    ambient: float | None
    water: float | None
    thickness: float | None
    probe: str
    end_point: str
    thermostat: str
    burner: str
    values: Mapping[str, Value]
    link: str = ""
    is_anonymous: bool = False
    left_out: tuple[str, ...] = ()
    only_with: str = ""

    @property
    def name(self) -> str:
        """Its id, or its title where it has none."""
        return self.id or self.title

    @property
    def place(self) -> str:
        """The site, as a heading."""
        return self.site or str(say("site not stated"))

    @property
    def is_aborted(self) -> bool:
        """True where it was not brought to its end."""
        return self.outcome == "aborted"


def row_of(document: Mapping[str, Any], link: str = "") -> TrialRow:
    """Return what is kept of a results document that has been validated; `link` is the address of its report."""
    facts, report = document["trial"], document.get("report") or {}
    setup, figures = document.get("set_up") or {}, document["results"]
    grade, lacking = grade_of(document.get("evidence"))
    is_anonymous = bool(report.get("anonymous"))
    left_out = tuple(key for key in WORDS if setup.get(key) == WITHHELD)
    only_with = _text(setup, "words") or _text(facts, "series") or identity(document)
    ambient = _value(figures, "ambient_mean")
    return TrialRow(
        id=_text(facts, "id"),
        title=_text(facts, "title"),
        site=_text(facts, "site"),
        series=_text(facts, "series"),
        outcome=_text(facts, "outcome"),
        reason=str(LEFT_OUT_HERE) if facts.get("reason") == WITHHELD else _text(facts, "reason"),
        started=_text(facts, "started"),
        licence=_text(facts, "licence"),
        citation=_text(facts, "citation"),
        identity=identity(document),
        report=_text(report, "id"),
        amends=_text(report.get("amends") or {}, "id"),
        grade=grade,
        lacking=lacking,
        start=_start(_value(figures, "temperature_start"), ambient),
        methane=_methane(figures.get("methane_fraction") or {}),
        ambient=ambient,
        water=_value(figures, "water_mass"),
        thickness=_number(setup.get("thickness_mm")),
        probe=_text(setup, "probe") or probe_place(_text(setup, "probe_position")),
        end_point=_text(setup, "end_point"),
        thermostat=_text(setup, "thermostat"),
        burner=_text(setup, "burner"),
        values=_values(figures),
        link=link,
        is_anonymous=is_anonymous,
        left_out=left_out,
        only_with=only_with if is_anonymous and left_out else "",
    )


def grade_of(evidence: Mapping[str, str] | None) -> tuple[str, tuple[str, ...]]:
    """Return the grade of what a trial's figures rest on, and what is lacking; "" where the file does not tell.

    A: all was recorded; B: one or two things were not; C: more; D: nothing was logged. It looks at inputs alone.
    """
    if not evidence:
        return "", ()
    lacking = tuple(key for key in EVIDENCE if evidence.get(key) != RECORDED)
    if {"gas_shut_off", "ambient", "readings"} <= {key for key in lacking if evidence.get(key) != ASSUMED}:
        return "D", lacking
    return next((grade for most, grade in GRADES if len(lacking) <= most), "C"), lacking


def _text(facts: Mapping[str, Any], key: str) -> str:
    text = facts.get(key) or ""
    return "" if text == WITHHELD else " ".join(str(text).split())


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and math.isfinite(value) else None


def _value(figures: Mapping[str, Any], key: str) -> float | None:
    return _number((figures.get(key) or {}).get("value"))


def _start(cabinet: float | None, ambient: float | None) -> str:
    if cabinet is None or ambient is None:
        return ""
    return "cold" if ambient - cabinet > COOLED_BEFORE else "warm"


def _methane(figure: Mapping[str, Any]) -> str:
    basis = figure.get("basis")
    return "" if basis in (None, "not given") else "assumed" if basis == "assumed" else "measured"


def _values(figures: Mapping[str, Any]) -> dict[str, Value]:
    made = {ENERGY: _energy_per_standard_ice(figures), GAS: _gas_per_standard_ice(figures)}
    is_assumed = (figures.get("methane_fraction") or {}).get("basis") == "assumed"
    found = {}
    for quantity in QUANTITIES:
        figure = made.get(quantity.key) or figures.get(quantity.key) or {}
        value = _one(figure, is_assumed, _value(figures, BELOW.get(quantity.key, "")))
        if value is not None:
            found[quantity.key] = value
    return found


def _one(figure: Mapping[str, Any], methane_is_assumed: bool, below: float | None) -> Value | None:
    value = _number(figure.get("value"))
    if value is None:
        least, most = _number(figure.get("at_least")), _number(figure.get("at_most"))
        if least is None and most is None:
            return None
        return Value(None, -math.inf if least is None else least, math.inf if most is None else most, "not given")
    low, high = figure["interval_95"]
    everywhere = SHARED_EVERYWHERE | ({METHANE} if methane_is_assumed else set())
    spread, parts = float(figure["standard_uncertainty"]), figure.get("budget")
    return Value(
        value,
        float(low),
        float(high),
        figure["basis"],
        # Without a budget nobody can tell what averaging takes away, so none of it is taken away.
        spread * math.sqrt(_share(parts, SHARED_AT_A_SITE)) if parts is not None else spread,
        spread * math.sqrt(_share(parts, everywhere)) if parts is not None else 0.0,
        below,
    )


def _share(parts: Iterable[Mapping[str, Any]], sources: frozenset[str] | set[str]) -> float:
    return min(sum(float(part["share_of_variance"]) for part in parts if part["source"] in sources), 1.0)


def _energy_per_standard_ice(figures: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return the energy for each kilogram of standard ice that the heat removed would have made [MJ/kg].

    It is the heat of standard ice over the thermal COP on the ice, so that all the errors of that go with it.
    """
    cop = figures.get("cop_ice") or {}
    value = _number(cop.get("value"))
    if value is None or value <= 0:
        return None
    per = STANDARD_ICE / 1000
    low, high = cop["interval_95"]
    if low <= 0:
        return None
    spread = per / value * (cop["standard_uncertainty"] / value)
    return {
        "value": per / value,
        "standard_uncertainty": spread,
        "interval_95": (per / high, per / low),
        "basis": "assumed" if cop["basis"] == "assumed" else "derived",
        **({"budget": cop["budget"]} if "budget" in cop else {}),
    }


def _gas_per_standard_ice(figures: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return the gas for each kilogram of standard ice that the heat removed would have made [L/kg].

    Gas and heat share no error: the one comes from the gas log, the other from water and thermometer.
    """
    gas, heat = (figures.get(key) or {} for key in ("gas_used", "heat_removed"))
    volume, energy = _number(gas.get("value")), _number(heat.get("value"))
    if volume is None or energy is None or volume <= 0 or energy <= 0:
        return None
    value = volume * STANDARD_ICE / energy
    relative = [gas["standard_uncertainty"] / volume, heat["standard_uncertainty"] / energy]
    spread = value * math.hypot(*relative)
    variance = sum(part**2 for part in relative) or 1.0
    budgets = [figure.get("budget") for figure in (gas, heat)]
    parts = [
        {"source": part["source"], "share_of_variance": part["share_of_variance"] * own**2 / variance}
        for own, budget in zip(relative, budgets, strict=True)
        for part in budget or ()
    ]
    return {
        "value": value,
        "standard_uncertainty": spread,
        "interval_95": (value - NORMAL_95 * spread, value + NORMAL_95 * spread),
        "basis": "assumed" if "assumed" in (gas["basis"], heat["basis"]) else "derived",
        **({"budget": parts} if None not in budgets else {}),
    }
