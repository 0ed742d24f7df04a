"""What a reader of a report looks for, which of it a trial records, and what to write down next time."""

from __future__ import annotations

import re
from dataclasses import dataclass

from reportgen.catalogue import KINDS
from reportgen.figures import Figure, Results
from reportgen.message import Message, say
from reportgen.read.sheet import Sheet
from reportgen.speech import ENGLISH, speaking
from reportgen.trial import Trial
from reportgen.vocabulary import COLUMNS

#: What to write for a fact or a column that is missing, by its place; the values are examples.
LINES = {
    "burner.lit": '[burner] lit = "09:05"',
    "burner.out": '[burner] out = "14:20"',
    "gas.kind": '[gas] kind = "holder"',
    "gas.isolated": "[gas] isolated = true",
    "gas.level_area": '[gas] level_area = "2400 cm^2"',
    "gas.methane": '[gas] methane = "61 +/- 3 %", methane_method = "analyser"',
    "gas.methane_method": '[gas] methane_method = "analyser"',
    "gas.temperature": '[gas] temperature = "27 +/- 1 degC"',
    "gas.pressure": '[gas] pressure = "9 +/- 0.5 mbar"',
    "gas.reserve": '[gas] reserve = "20 L"',
    "altitude": 'altitude = "40 m"',
    "boiler.temperature": '[boiler] temperature = "180 +/- 10 degC"',
    "cabinet.heat_leak": '[cabinet] heat_leak = "1.1 +/- 0.2 W/K"',
    "water.mass": '[water] mass = "1.20 +/- 0.01 kg"',
    "water.placed": '[water] placed = "09:10"',
    "water.temperature": '[water] temperature = "24 +/- 0.5 degC"',
    "water.ice_mass": '[water] ice_mass = "1.15 +/- 0.01 kg"',
    "water.ice_temperature": '[water] ice_temperature = "-6 +/- 1 degC"',
    "digester.solids_source": '[digester] solids_source = "measured"',
    "digester.working_volume": '[digester] working_volume = "900 L"',
}
#: Reasons that name no place -> the place that they are about. Each is the beginning of a reason of `figures`.
ABOUT = {
    "no gas readings are logged": "gas_volume",
    "when the burner was lit is not recorded": "burner.lit",
    "when the burner went out is not recorded": "burner.out",
    "the ice was not weighed": "water.ice_mass",
    "the ice was partly frozen; how much of it was not recorded": "water.ice_mass",
    "total and volatile solids of the feed are not recorded": "total_solids",
}
#: Assumptions of a value -> the place that would make it a recorded one.
INSTEAD = {
    "methane fraction": "gas.methane",
    "share frozen": "water.ice_mass",
    "gas temperature": "gas.temperature",
    "atmospheric pressure": "altitude",
    "gas pressure": "gas.pressure",
    "holder isolated": "gas.isolated",
    "ice temperature": "water.ice_temperature",
    "boiler temperature": "boiler.temperature",
    "reserve": "gas.reserve",
    "solids of the feed": "digester.solids_source",
}
#: More things to add than these are too much for one more trial.
MOST_ADDITIONS = 6
_PLACE = re.compile(
    r"\b(?:burner|gas|cabinet|boiler|water|digester)\.[a-z_]+\b|\b[a-z]+(?:_[a-z]+)+\b|(?<=column )ice\b"
)


@dataclass(frozen=True)
class Item:
    """One thing a credible report says, and whether the trial records it; `is_further` where it can do without."""

    label: Message
    recorded: bool
    is_further: bool = False


def completeness(trial: Trial) -> list[Item]:
    """Return the checklist of a trial.

    The items follow what test reports ask (ISO/IEC 17025:2017, 7.8.2) and what biogas and cooling practice needs; an
    item counts only where the trial could have it: no gas items for a trial without gas readings.
    """
    sheet = trial.sheet
    gas_logged = any(trial.column(name) is not None for name in ("gas_volume", "gas_level", "gas_flow"))
    any_water = sheet.water.mass is not None or bool(trial.looks)

    def logged(name: str) -> bool:
        return trial.column(name) is not None

    items: list[tuple[Message, bool, bool]] = [
        (say("site"), bool(sheet.site) or "site" in trial.left_out, True),
        (say("region or altitude"), bool(sheet.region or sheet.altitude), True),
        (say("operator"), bool(sheet.operator), True),
        (say("organisation"), bool(sheet.organisation), True),
        (say("contact"), bool(sheet.contact), True),
        (say("who signed"), bool(sheet.signed_by), True),
        (say("date"), trial.dated, True),
        (say("time zone"), bool(sheet.time_zone), True),
        (say("when the burner was lit"), trial.lit_at is not None, True),
        (say("when the burner went out"), trial.end_recorded, True),
        (say("burner and flue"), bool(sheet.burner.description), True),
        (say("steps of the method"), bool(sheet.steps), True),
        (say("deviations from the method"), bool(sheet.deviations), True),
        (say("gas readings"), gas_logged, True),
        (
            say("whether the holder was isolated"),
            sheet.gas.isolated is not None,
            gas_logged and sheet.gas.kind == "holder",
        ),
        (say("seal water of the holder"), bool(sheet.gas.seal_water), gas_logged and sheet.gas.kind == "holder"),
        (say("accuracy of the gas scale"), sheet.gas.accuracy is not None, gas_logged),
        (say("gas temperature"), sheet.gas.temperature is not None or logged("gas_temperature"), gas_logged),
        (say("gas pressure"), sheet.gas.pressure is not None or logged("gas_pressure"), gas_logged),
        (
            say("barometer or altitude"),
            bool(sheet.gas.atmospheric or sheet.altitude) or logged("atmospheric_pressure"),
            gas_logged,
        ),
        (
            say("methane content and how it was found"),
            logged("methane") or (sheet.gas.methane is not None and bool(sheet.gas.methane_method)),
            gas_logged,
        ),
        (say("cabinet temperature"), logged("cabinet_temperature"), True),
        (say("where the cabinet thermometer was"), bool(sheet.cabinet.probe_position), logged("cabinet_temperature")),
        (say("accuracy of the cabinet thermometer"), sheet.cabinet.accuracy is not None, logged("cabinet_temperature")),
        (
            say("check of the thermometer in ice and water"),
            bool(sheet.cabinet.probe_check),
            logged("cabinet_temperature"),
        ),
        (say("ambient temperature"), logged("ambient_temperature"), True),
        (say("the appliance"), bool(sheet.cabinet.appliance), True),
        (say("thermostat setting"), bool(sheet.cabinet.thermostat), True),
        (say("indoors or outdoors"), sheet.cabinet.indoors is not None, True),
        (say("whether the appliance stood level"), sheet.cabinet.level_checked is not None, True),
        (say("water put in"), sheet.water.mass is not None, True),
        (
            say("start temperature of the water"),
            sheet.water.temperature is not None or logged("water_temperature"),
            any_water,
        ),
        (say("when the water was put in"), trial.placed_at is not None, any_water),
        (say("looks at the ice"), bool(trial.looks), True),
        (say("how solid was judged"), bool(sheet.water.end_point), any_water),
        (say("the ice weighed"), sheet.water.ice_mass is not None, any_water),
        (say("containers of the water"), bool(sheet.water.container), any_water),
        (say("feed log"), bool(trial.feeds), True),
        (say("total and volatile solids"), any(f.total_solids is not None for f in trial.feeds), bool(trial.feeds)),
        (say("gas production"), logged("gas_produced"), bool(trial.feeds)),
        (say("working volume of the digester"), sheet.digester.working_volume is not None, bool(trial.feeds)),
        (say("outcome"), sheet.outcome is not None, True),
        (say("incidents, or that there were none"), bool(sheet.incidents.strip()), True),
        (say("licence of the data"), bool(sheet.licence) or "licence" in trial.left_out, True),
    ]
    further: list[tuple[Message, bool]] = [
        (say("colour of the flame"), bool(sheet.burner.flame)),
        (say("sun and wind"), bool(sheet.weather)),
        (say("a photo of the set-up"), bool(sheet.photos or trial.photos) or "photos" in trial.left_out),
        (say("the digester"), bool(sheet.digester.description)),
        (say("how the waste was prepared"), bool(sheet.digester.preparation)),
        (say("people present"), bool(sheet.audience)),
        (say("costs"), bool(sheet.costs)),
        (say("what would be used instead"), bool(sheet.baseline)),
        (say("parts list"), bool(sheet.replication.parts)),
        (say("skills needed"), bool(sheet.replication.skills)),
        (say("permissions needed"), bool(sheet.replication.permissions)),
        (say("who paid"), bool(sheet.paid_by)),
        (say("who supplied the equipment"), bool(sheet.equipment_from)),
        (say("conflicts of interest"), bool(sheet.conflicts)),
        (say("how to cite it"), bool(sheet.citation)),
    ]
    return [
        *(Item(label, recorded) for label, recorded, applies in items if applies),
        *(Item(label, recorded, is_further=True) for label, recorded in further),
    ]


@dataclass(frozen=True)
class Addition:
    """Something to write down next time.

    Attributes
    ----------
    place : str
        A key of `trial.toml` with its table, or a column.
    gives : tuple of str
        Keys of the figures that are not given for want of it.
    firms : tuple of str
        Keys of the figures that would no longer rest on an assumption about it.
    """

    place: str
    gives: tuple[str, ...]
    firms: tuple[str, ...] = ()

    @property
    def is_column(self) -> bool:
        """True for a column of a log."""
        return self.place in COLUMNS

    @property
    def line(self) -> str:
        """What to write: the name of a column, or a line of `trial.toml`."""
        return LINES.get(self.place, self.place)


def first_cause(figure: Figure) -> Message:
    """Return why a figure is not given; for one that lacks another figure, why that is not given."""
    reason = figure.reason or say("the logs do not support it")
    inner = reason.values.get("reason")
    return inner if reason.values.get("needs") and isinstance(inner, Message) else reason


def additions(trial: Trial, results: Results) -> list[Addition]:
    """Return what to add next time: what the most figures lack comes first, then what assumptions stand in for."""
    lacking: dict[str, list[str]] = {}
    for key, figure in results.figures.items():
        if figure.is_given or KINDS[key].is_extra or figure.is_impossible:
            continue
        place = place_of(first_cause(figure), trial)
        if place is not None:
            lacking.setdefault(place, []).append(key)
    assumed: dict[str, tuple[str, ...]] = {}
    for effect in sorted(results.assumptions, key=lambda effect: -(effect.share_of_variance or 0.0)):
        place = INSTEAD.get(effect.assumption.name) if effect.assumption.of_value else None
        if place is not None and not _is_recorded(place, trial):
            assumed.setdefault(place, effect.affects)
    # A place that gives figures may also firm up others; it is named once.
    found = [Addition(place, tuple(keys)) for place, keys in sorted(lacking.items(), key=lambda item: -len(item[1]))]
    found += [Addition(place, (), firms) for place, firms in assumed.items() if place not in lacking]
    return found[:MOST_ADDITIONS]


def place_of(cause: Message, trial: Trial) -> str | None:
    """Return the first key or column that a reason names and the trial does not record; None where there is none."""
    with speaking(ENGLISH):
        reason = str(cause)
    named = [place for start, place in ABOUT.items() if reason.startswith(start)] + _PLACE.findall(reason)
    return next(
        (place for place in named if (place in LINES or place in COLUMNS) and not _is_recorded(place, trial)), None
    )


def _is_recorded(place: str, trial: Trial) -> bool:
    if place in COLUMNS:
        return trial.column(place) is not None
    part: Sheet | object = trial.sheet
    for name in place.split("."):
        part = getattr(part, name)
    return part is not None and part != ""
