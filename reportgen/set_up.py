"""What makes two trials alike, and what a trial's figures rest on: for those who compare results files."""

from __future__ import annotations

import unicodedata
from typing import Any

import numpy as np

from reportgen.figures import Results
from reportgen.figures.figure import MEASURED
from reportgen.trial import Trial

#: Readings further apart than this do not follow a run [h]: common practice, no source.
LONGEST_INTERVAL = 0.5
GAS_COLUMNS = ("gas_volume", "gas_level", "gas_flow")
RECORDED, ASSUMED, NOT_RECORDED = "recorded", "assumed", "not recorded"
#: Where a probe is, by the first of these words in what is said of it.
PROBES = {
    "air": "air",
    "plate": "plate",
    "evaporator": "plate",
    "coil": "plate",
    "water": "water",
    "bottle": "water",
    "ice": "water",
}


def set_up_document(trial: Trial) -> dict[str, Any]:
    """Return how a trial was set up, so far as it decides which other trials it may be compared with.

    Texts are as stated, or null; lengths are in mm. An anonymous trial has in their place `probe`, where the probe is
    in one word, and `words`, a sign that is the same where the words that are left out were the same.
    """
    sheet = trial.sheet
    size = sheet.water.thickness or sheet.water.diameter
    return {
        "probe_position": sheet.cabinet.probe_position or None,
        "thermostat": sheet.cabinet.thermostat or None,
        "end_point": sheet.water.end_point or None,
        "shape": sheet.water.shape,
        "thickness_mm": None if size is None else float(f"{size.value:.6g}"),
        "burner": sheet.burner.description or None,
        "methane_method": sheet.gas.methane_method or None,
        **({"probe": trial.set_up_words[0] or None, "words": trial.set_up_words[1]} if trial.set_up_words else {}),
    }


def plain(text: str) -> str:
    """Return a text as it is compared: its words, without marks, capitals and spaces, however its letters are coded."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    # Letters, the marks upon them (which in many scripts are vowels) and numbers; all else parts words.
    return " ".join("".join(sign if unicodedata.category(sign)[0] in "LMN" else " " for sign in folded).split())


def probe_place(text: str) -> str:
    """Return where a probe is, in one word: ``air``, ``plate``, ``water`` or ``other``; "" where nothing is said."""
    words = (word.strip(".,;:()").casefold() for word in text.split())
    return next((PROBES[word] for word in words if word in PROBES), "other" if text else "")


def evidence_document(trial: Trial, results: Results) -> dict[str, str]:
    """Return of each thing that good evidence needs whether it was recorded, assumed or neither.

    It looks at what went in alone, never at how good a figure came out.
    """
    sheet = trial.sheet
    return {
        "gas_shut_off": _gas_shut_off(trial),
        "gas_temperature": _either(trial, "gas_temperature", sheet.gas.temperature is not None),
        "gas_pressure": _either(trial, "gas_pressure", sheet.gas.pressure is not None),
        "methane": RECORDED if results["methane_fraction"].basis == MEASURED else ASSUMED,
        "ice_weighed": RECORDED if sheet.water.ice_mass is not None else NOT_RECORDED,
        "ambient": _either(trial, "ambient_temperature", False),
        "readings": _readings(trial),
    }


def _gas_shut_off(trial: Trial) -> str:
    if not any(trial.column(name) is not None for name in GAS_COLUMNS):
        return NOT_RECORDED
    if trial.sheet.gas.kind != "holder" or trial.sheet.gas.isolated:
        return RECORDED
    return ASSUMED


def _either(trial: Trial, column: str, is_stated: bool) -> str:
    return RECORDED if is_stated or trial.column(column) is not None else NOT_RECORDED


def _readings(trial: Trial) -> str:
    """Return whether cabinet and gas were read often enough to follow the run."""
    logged = [trial.column(name) for name in ("cabinet_temperature", *GAS_COLUMNS)]
    moments = [np.unique(readings.at) for readings in logged if readings is not None]
    apart = [float(np.median(np.diff(at))) for at in moments if len(at) > 1]
    if not apart:
        return NOT_RECORDED
    return RECORDED if max(apart) <= LONGEST_INTERVAL * 3600 else ASSUMED
