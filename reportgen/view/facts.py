"""What the trial sheet states, as labelled text: who and when, the set-up, money, and what others need to repeat it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from reportgen import speech, wording
from reportgen.anonymous import LEFT_OUT_HERE, WITHHELD
from reportgen.message import NOTHING, Message, Written, listed, say
from reportgen.read.sheet import PER_TRIAL
from reportgen.trial import Trial, wall_clock
from reportgen.view.parts import LogNotesView, LogNoteView

#: Stands where a report asks for a thing that the trial does not record.
NOT_RECORDED = say("not recorded")
#: At most so many notes of the logs are shown, each with so many letters (ours).
MOST_LOG_NOTES, LONGEST_LOG_NOTE = 40, 300


def facts(trial: Trial, report_id: str) -> tuple[tuple[str, str], ...]:
    """Return who, where and when; without what is not recorded."""
    sheet = trial.sheet
    return _labelled(
        (say("Report"), report_id),
        (say("Site"), sheet.site),
        (say("Region"), sheet.region if sheet.region != sheet.site else ""),
        (say("Date"), when(trial)),
        (say("Outcome"), str(wording.OUTCOMES[sheet.outcome]) if sheet.outcome else ""),
        (say("Operator"), sheet.operator),
        (say("Organisation"), sheet.organisation),
        (say("Contact"), sheet.contact),
        (say("Series"), sheet.series),
        (say("Purpose"), sheet.purpose),
        (say("People"), people(trial)),
    )


def setup(trial: Trial) -> tuple[tuple[str, str], ...]:
    """Return what was used and how it stood, with "" for what a peer looks for and is not recorded."""
    sheet = trial.sheet
    asked = (
        (say("Appliance"), sheet.cabinet.appliance),
        (say("Thermostat"), sheet.cabinet.thermostat),
        (say("Level checked"), _yes(sheet.cabinet.level_checked)),
        (say("Indoors"), _yes(sheet.cabinet.indoors)),
        (say("Burner"), sheet.burner.description),
        (say("Flame"), sheet.burner.flame),
        (say("Thermometer in the cabinet"), sheet.cabinet.probe_position),
        (say("Its check"), sheet.cabinet.probe_check),
        (say("How methane was found"), sheet.gas.methane_method),
        (say("Seal water"), sheet.gas.seal_water),
        (say("Containers of water"), _containers(trial)),
        (say("How solid was judged"), sheet.water.end_point),
        (say("Digester"), sheet.digester.description),
        (say("Preparation of the waste"), sheet.digester.preparation),
        (say("Sun and wind"), sheet.weather),
        (say("Deviations"), sheet.deviations),
    )
    needs_seal = sheet.gas.kind in ("holder", None)
    return tuple((str(label), told(value)) for label, value in asked if needs_seal or str(label) != "Seal water")


def steps(trial: Trial) -> tuple[str, ...]:
    """Return the steps of the method as the operator wrote them, one a line."""
    return tuple(line.strip(" \t-*") for line in told(trial.sheet.steps).splitlines() if line.strip(" \t-*"))


def means(trial: Trial) -> tuple[tuple[str, str], ...]:
    """Return who paid, who supplied, and what was spent, with "" for what is not recorded."""
    sheet = trial.sheet
    asked = (
        (say("Paid by"), sheet.paid_by),
        (say("Equipment from"), sheet.equipment_from),
        (say("Conflicts of interest"), sheet.conflicts),
        (say("Spent in all"), costs(trial)),
        (say("Spent on this trial"), costs(trial, of_trial=True)),
        (say("What would be used instead"), sheet.baseline),
    )
    return tuple((str(label), told(value)) for label, value in asked)


def replication(trial: Trial) -> tuple[tuple[str, str], ...]:
    """Return what somebody needs who wants to do the same, where it is recorded."""
    stated = trial.sheet.replication
    parts = str(listed(line.strip(" \t-*") for line in told(stated.parts).splitlines() if line.strip(" \t-*")))
    return _labelled(
        (say("Parts"), parts),
        (say("Skills"), stated.skills),
        (say("Permissions"), stated.permissions),
    )


def noted(trial: Trial) -> tuple[tuple[str, str], ...]:
    """Return what the operator wrote of the course of the trial, with its labels."""
    sheet = trial.sheet
    return _labelled(
        (say("Reason given"), sheet.reason),
        (say("Incidents"), sheet.incidents.strip() or str(say("none recorded"))),
    )


def log_notes(trial: Trial) -> LogNotesView:
    """Return what people wrote in the rows of the logs in order of time: notes, and events of no known kind."""
    rows = [row for row in (*trial.notes, *trial.events) if row.kind in ("note", "other") and row.text.strip()]
    rows.sort(key=lambda row: (math.isnan(row.at), row.at if math.isfinite(row.at) else 0.0, row.file, row.row))
    shown = []
    for row in rows[:MOST_LOG_NOTES]:
        text = " ".join(row.text[: LONGEST_LOG_NOTE + 1].split())
        text = text if len(row.text) <= LONGEST_LOG_NOTE else f"{text[:LONGEST_LOG_NOTE]} …"
        shown.append(
            LogNoteView(_moment(trial, row.at), str(say("{file}, row {row}", file=row.file, row=row.row)), text)
        )
    return LogNotesView(tuple(shown), len(rows) - len(shown))


def _moment(trial: Trial, at: float) -> str:
    """Return when a row was written; "" where no time of it can be read."""
    if not math.isfinite(at):
        return ""
    if not trial.clocked:
        return (
            str(say("{hours} h after lighting", hours=Written(trial.hours(at), 2))) if trial.lit_at is not None else ""
        )
    if trial.lit_at is not None:
        return str(wording.clock(trial, at))
    moment = wall_clock(at, trial.zone)
    day = say(" on {date}", date=moment.date()) if trial.dated else NOTHING
    return str(say("{time}{day}", time=f"{moment:%H:%M}", day=day))


def told(text: str) -> str:
    """Return a text of the sheet as it is shown: one that this edition does not tell is said to be left out."""
    return str(LEFT_OUT_HERE) if text == WITHHELD else text.strip()


def told_within(message: Message) -> Message:
    """Return a sentence in which what this edition does not tell is said to be left out."""
    return message.filled(
        **{name: LEFT_OUT_HERE if value == WITHHELD else value for name, value in message.values.items()}
    )


def people(trial: Trial) -> str:
    """Return who was there: ``visitors 14; fish sellers 6``; "" where nobody was counted."""
    return str(listed(_named(trial.sheet.audience)))


def costs(trial: Trial, *, of_trial: bool = False) -> str:
    """Return the costs under free names, or those of this trial alone; "" where none are stated."""
    stated = trial.sheet.costs
    currency = f"{stated.get('currency', '')}".strip()
    per_trial = stated.get(PER_TRIAL, {})
    chosen: Mapping[str, object] = (
        (per_trial if isinstance(per_trial, dict) else {})
        if of_trial
        else {name: amount for name, amount in stated.items() if name not in ("currency", PER_TRIAL)}
    )
    named = str(listed(_named(chosen)))
    return str(say("{costs} (in {currency})", costs=named, currency=currency)) if currency and named else named


def when(trial: Trial) -> str:
    """Return date and times of the run; only the date where the logs count from the lighting, or nobody noted it."""
    day = date(trial)
    if trial.lit_at is None:
        return day
    lit = str(wording.clock(trial, trial.lit_at))
    if not lit:
        counted = say("times count from lighting")
        return str(say("{day} ({counted})", day=day, counted=counted) if day else counted)
    zone = trial.sheet.time_zone or say("time zone not stated")
    times = say("burner lit {lit}", lit=lit)
    if trial.out_at is not None:
        times = say("burner lit {lit}, out {out}", lit=lit, out=wording.clock(trial, trial.out_at))
    if not day:
        return str(say("{times} ({zone})", times=times, zone=zone))
    return str(say("{day}, {times} ({zone})", day=day, times=times, zone=zone))


def date(trial: Trial) -> str:
    """Return the day on which the burner was lit, or else the cabinet first read; "" where neither is known."""
    cabinet = trial.column("cabinet_temperature")
    at = float(cabinet.at[0]) if trial.lit_at is None and cabinet is not None else trial.lit_at
    if at is None or not trial.dated:
        return ""
    return speech.current().date(wall_clock(at, trial.zone).date())


def _labelled(*pairs: tuple[Message, str]) -> tuple[tuple[str, str], ...]:
    return tuple((str(label), told(value)) for label, value in pairs if value.strip())


def _containers(trial: Trial) -> str:
    count, kind = trial.sheet.water.containers, trial.sheet.water.container
    if count and kind and kind != WITHHELD:
        return str(say("{n}: {kind}", n=count, kind=kind))
    return str(count or kind)


def _yes(stated: bool | None) -> str:
    if stated is None:
        return ""
    return str(say("yes") if stated else say("no"))


def _named(amounts: Mapping[str, object]) -> list[Message]:
    """Return free names with their amounts: ``fish sellers 6``."""
    said: dict[bool, Message] = {True: say("yes"), False: say("no")}
    return [
        say(
            "{name} {amount}",
            name=name.replace("_", " "),
            amount=said[amount] if isinstance(amount, bool) else f"{amount}",
        )
        for name, amount in amounts.items()
    ]
