"""What a reader of a report looks for, and which of it this trial records. A missing item is named, never left blank."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.message import Message, say
from reportgen.trial import Trial


@dataclass(frozen=True)
class Item:
    """One thing a credible report says, and whether the trial records it."""

    label: Message
    recorded: bool


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
        (say("site"), bool(sheet.site), True),
        (say("region or altitude"), bool(sheet.region or sheet.altitude), True),
        (say("operator"), bool(sheet.operator), True),
        (say("who signed"), bool(sheet.signed_by), True),
        (say("date"), trial.dated, True),
        (say("time zone"), bool(sheet.time_zone), True),
        (say("when the burner was lit"), trial.lit_at is not None, True),
        (say("when the burner went out"), trial.end_recorded, True),
        (say("burner and flue"), bool(sheet.burner.description), True),
        (say("gas readings"), gas_logged, True),
        (
            say("whether the holder was isolated"),
            sheet.gas.isolated is not None,
            gas_logged and sheet.gas.kind == "holder",
        ),
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
        (say("ambient temperature"), logged("ambient_temperature"), True),
        (say("the appliance"), bool(sheet.cabinet.appliance), True),
        (say("thermostat setting"), bool(sheet.cabinet.thermostat), True),
        (say("indoors or outdoors"), sheet.cabinet.indoors is not None, True),
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
        (say("feed log"), bool(trial.feeds), True),
        (say("total and volatile solids"), any(f.total_solids is not None for f in trial.feeds), bool(trial.feeds)),
        (say("gas production"), logged("gas_produced"), bool(trial.feeds)),
        (say("working volume of the digester"), sheet.digester.working_volume is not None, bool(trial.feeds)),
        (say("outcome"), sheet.outcome is not None, True),
        (say("licence of the data"), bool(sheet.licence), True),
    ]
    return [Item(label, recorded) for label, recorded, applies in items if applies]
