"""The results file: what educators exchange and other programs read, and its JSON Schema."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from reportgen import __version__
from reportgen.calc import series
from reportgen.catalogue import KINDS
from reportgen.figures import Figure, Results
from reportgen.figures.budget import budget_of
from reportgen.set_up import ASSUMED, NOT_RECORDED, RECORDED, evidence_document, set_up_document
from reportgen.speech import ENGLISH, speaking
from reportgen.trial import LEVELS, Finding, Trial, wall_clock

FORMAT, VERSION = "trial-results", 1
#: Readings of a run kept in the results file, at most, as blocks' extremes.
MOST_SERIES_POINTS = 240
SERIES = ("cabinet_temperature", "ambient_temperature", "water_temperature", "gas_volume", "gas_level", "gas_flow")
#: Numbers are written to this many significant digits: beyond any reading, below any difference of machines.
DIGITS = 10
#: Shares of a variance need fewer.
SHARE_DIGITS = 4


@speaking(ENGLISH)
def results_document(trial: Trial, results: Results) -> dict[str, Any]:
    """Return the results of a trial as plain data, per the results format."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "software": {"name": "reportgen", "version": __version__},
        "trial": _trial(trial),
        "set_up": set_up_document(trial),
        "evidence": evidence_document(trial, results),
        "results": {key: _figure(key, figure) for key, figure in results.figures.items()},
        "series": {**_series(trial), **_gas_rate(trial, results)},
        "assumptions": [
            {
                "name": effect.assumption.name,
                "value": str(effect.assumption.value),
                "why": str(effect.assumption.why),
                "affects": list(effect.affects),
                "share_of_variance": None if effect.share_of_variance is None else _number(effect.share_of_variance),
                "share_of": effect.share_of,
            }
            for effect in results.assumptions
        ],
        "findings": [finding_document(finding) for finding in results.findings],
        "inputs": inputs_document(trial),
    }


def finding_document(finding: Finding) -> dict[str, Any]:
    """Return a finding as plain data."""
    return {
        "level": finding.level,
        "code": finding.code,
        "message": str(finding.message),
        "file": finding.file,
        "row": finding.row,
        "effect": None if finding.effect is None else str(finding.effect),
    }


def inputs_document(trial: Trial) -> list[dict[str, Any]]:
    """Return the files a trial was read from, with their SHA-256."""
    return [{"file": source.file, "sha256": source.sha256, "rows": source.rows} for source in trial.inputs]


def to_json(document: Mapping[str, Any]) -> str:
    """Return a document as JSON text, the same for the same document."""
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def started(trial: Trial) -> str | None:
    """Return when the burner was first lit, with the offset of its zone; None where no date or no clock is known."""
    if trial.lit_at is None or not trial.dated or not trial.clocked:
        return None
    return wall_clock(trial.lit_at, trial.zone).isoformat(timespec="seconds")


def _trial(trial: Trial) -> dict[str, Any]:
    sheet = trial.sheet
    return {
        "id": sheet.id or trial.folder,
        "title": sheet.title,
        "site": sheet.site or None,
        "region": sheet.region or None,
        "series": sheet.series or None,
        "outcome": sheet.outcome,
        "reason": sheet.reason or None,
        "licence": sheet.licence or None,
        "citation": sheet.citation or None,
        "started": started(trial),
        "time_zone": sheet.time_zone,
        "folder": trial.folder,
    }


def _figure(key: str, figure: Figure) -> dict[str, Any]:
    kind = KINDS[key]
    if not figure.is_given:
        return {
            "value": None,
            "unit": kind.unit,
            "basis": figure.basis,
            "label": str(kind.label),
            "reason": str(figure.reason),
            **({"at_least": _number(figure.at_least)} if figure.at_least is not None else {}),
            **({"at_most": _number(figure.at_most)} if figure.at_most is not None else {}),
            "inputs": list(figure.inputs),
        }
    assert figure.interval is not None
    return {
        "value": _number(figure.value),
        "unit": kind.unit,
        "standard_uncertainty": _number(figure.standard_uncertainty),
        "interval_95": [_number(end) for end in figure.interval],
        "interval_kind": figure.interval_kind,
        "basis": figure.basis,
        "label": str(kind.label),
        **({"method": figure.method} if figure.method else {}),
        "inputs": list(figure.inputs),
        "working": str(figure.working) if figure.working else "",
        "assumptions": [assumption.name for assumption in figure.assumptions],
        "budget": _budget(figure),
    }


def _budget(figure: Figure) -> list[dict[str, Any]]:
    budget = budget_of(figure)
    return [
        {"source": part.source, "share_of_variance": _number(part.share, SHARE_DIGITS)}
        for part in (budget.contributions if budget is not None else ())
    ]


def _series(trial: Trial) -> dict[str, Any]:
    """Return the readings of the run, thinned so that every extreme stays, in hours since the burner was lit."""
    if trial.lit_at is None:
        return {}
    found = {}
    for name in SERIES:
        readings = trial.column(name)
        if readings is None:
            continue
        hours, values = (readings.at - trial.lit_at) / 3600, readings.values.astype(float)
        if len(hours) > MOST_SERIES_POINTS:
            hours, values = series.thin_extremes(hours, values, MOST_SERIES_POINTS // 2)
        found[name] = {
            "hours": [_number(hour, 6) for hour in hours],
            "values": [_number(value, 6) for value in values],
        }
    return found


def _gas_rate(trial: Trial, results: Results) -> dict[str, Any]:
    """Return the gas rate over windows of half an hour or more, at their middles [L/h as read]."""
    windows = results.gas_course.windows
    if not windows:
        return {}
    return {
        "gas_rate": {
            "hours": [_number(trial.hours((window.start + window.end) / 2), 6) for window in windows],
            "values": [_number(window.rate, 6) for window in windows],
        }
    }


def _number(value: float, digits: int = DIGITS) -> float:
    value = float(value)
    if value == 0 or not math.isfinite(value):
        return 0.0
    return float(np.format_float_positional(value, precision=digits, fractional=False, trim="0"))


def _report_schema() -> dict[str, Any]:
    """Return the schema of what is said of the report itself: its id, how it was issued, what it amends."""
    text, maybe_text, maybe_number = {"type": "string"}, {"type": ["string", "null"]}, {"type": ["number", "null"]}
    state = {
        "type": ["object", "null"],
        "required": ["value"],
        "properties": {
            "value": maybe_number,
            "interval_95": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
            "at_least": {"type": "number"},
            "at_most": {"type": "number"},
        },
    }
    replaced = {"type": "object", "required": ["id", "reason"], "properties": {"id": text, "reason": text}}
    return {
        "type": "object",
        "required": ["id", "issued", "anonymous", "amends"],
        "properties": {
            "id": text,
            "issued": maybe_text,
            "edition": maybe_text,
            "anonymous": {"type": "boolean"},
            "amends": {
                "type": ["object", "null"],
                "required": ["id", "reason", "moved", "earlier"],
                "properties": {
                    "id": text,
                    "reason": text,
                    "moved": {
                        "type": ["array", "null"],
                        "items": {
                            "type": "object",
                            "required": ["key", "unit", "before", "now"],
                            "properties": {"key": text, "unit": text, "before": state, "now": state},
                        },
                    },
                    "earlier": {"type": "array", "items": replaced},
                },
            },
        },
    }


def results_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the results file; more keys are allowed everywhere, fewer nowhere."""
    text, number, whole = {"type": "string"}, {"type": "number"}, {"type": "integer"}
    maybe_text = {"type": ["string", "null"]}
    given = {
        "required": ["standard_uncertainty", "interval_95", "interval_kind", "label", "inputs", "working"],
        "properties": {
            "value": number,
            "standard_uncertainty": {"type": "number", "minimum": 0},
            "interval_95": {"type": "array", "items": number, "minItems": 2, "maxItems": 2},
            "interval_kind": {"enum": ["normal", "simulated", "limits"]},
            "basis": {"enum": ["measured", "derived", "assumed"]},
            "method": text,
            "inputs": {"type": "array", "items": text},
            "working": text,
            "budget": {
                "type": "array",
                "items": {
                    "type": "object",
                    "required": ["source", "share_of_variance"],
                    "properties": {"source": text, "share_of_variance": {"type": "number", "minimum": 0, "maximum": 1}},
                },
            },
        },
    }
    not_given = {
        "required": ["reason"],
        "properties": {
            "value": {"type": "null"},
            "basis": {"const": "not given"},
            "reason": text,
            "at_least": number,
            "at_most": number,
        },
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Results of one biogas-to-ice trial",
        "type": "object",
        "required": ["format", "version", "software", "trial", "results", "assumptions", "findings", "inputs"],
        "properties": {
            "format": {"const": FORMAT},
            "version": {"type": "integer", "minimum": 1},
            "software": {
                "type": "object",
                "required": ["name", "version"],
                "properties": {"name": text, "version": text},
            },
            "trial": {
                "type": "object",
                "required": ["id", "title", "started", "folder"],
                "properties": {
                    "id": text,
                    "title": text,
                    "site": maybe_text,
                    "region": maybe_text,
                    "series": maybe_text,
                    "outcome": {"enum": ["completed", "aborted", None]},
                    "reason": maybe_text,
                    "licence": maybe_text,
                    "citation": maybe_text,
                    "started": maybe_text,
                    "time_zone": maybe_text,
                    "folder": text,
                },
            },
            "report": _report_schema(),
            "set_up": {
                "type": "object",
                "properties": {
                    **dict.fromkeys(
                        (
                            "probe_position",
                            "thermostat",
                            "end_point",
                            "shape",
                            "burner",
                            "methane_method",
                            "probe",
                            "words",
                        ),
                        maybe_text,
                    ),
                    "thickness_mm": {"type": ["number", "null"]},
                },
            },
            "evidence": {"type": "object", "additionalProperties": {"enum": [RECORDED, ASSUMED, NOT_RECORDED]}},
            "results": {
                "type": "object",
                "required": list(KINDS),
                "properties": {
                    key: {
                        "$ref": "#/$defs/figure",
                        "title": str(kind.label),
                        "description": kind.meaning,
                        "properties": {"unit": {"const": kind.unit}},
                    }
                    for key, kind in KINDS.items()
                },
                "additionalProperties": {"$ref": "#/$defs/figure"},
            },
            "series": {
                "type": "object",
                "additionalProperties": {
                    "type": "object",
                    "required": ["hours", "values"],
                    "properties": {
                        "hours": {"type": "array", "items": number},
                        "values": {"type": "array", "items": number},
                    },
                },
            },
            "assumptions": {
                "type": "array",
                "items": {
                    "type": "object",
                    "required": ["name", "value", "why", "affects", "share_of_variance"],
                    "properties": {
                        "name": text,
                        "value": text,
                        "why": text,
                        "affects": {"type": "array", "items": text},
                        "share_of_variance": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
                        "share_of": maybe_text,
                    },
                },
            },
            "findings": {
                "type": "array",
                "items": {
                    "type": "object",
                    "required": ["level", "code", "message", "file", "row", "effect"],
                    "properties": {
                        "level": {"enum": list(LEVELS)},
                        "code": text,
                        "message": text,
                        "file": maybe_text,
                        "row": {"type": ["integer", "null"]},
                        "effect": maybe_text,
                    },
                },
            },
            "inputs": {
                "type": "array",
                "items": {
                    "type": "object",
                    "required": ["file", "sha256", "rows"],
                    "properties": {
                        "file": text,
                        "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
                        "rows": whole,
                    },
                },
            },
        },
        "$defs": {
            "figure": {
                "type": "object",
                "required": ["value", "unit", "basis"],
                "properties": {"unit": text, "label": text},
                "if": {"properties": {"value": {"type": "null"}}},
                "then": not_given,
                "else": given,
            }
        },
    }
