"""What describes the tables over many trials: columns, a Data Package, and a Dataset for machines that look for one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from reportgen.catalogue import KINDS
from reportgen.comparison import TrialRow

CSV_COLUMNS = (
    "trial",
    "site",
    "started",
    "quantity",
    "value",
    "unit",
    "standard_uncertainty",
    "low_95",
    "high_95",
    "basis",
)
TRIAL_COLUMNS = (
    "trial",
    "title",
    "site",
    "series",
    "started",
    "status",
    "outcome",
    "reason",
    "group",
    "evidence",
    "evidence_lacking",
    "licence",
    "citation",
    "report",
)
DICTIONARY_COLUMNS = ("quantity", "label", "unit", "meaning", "part")
INDEX, COMPARISON, COMPARISON_TEXT = "index.html", "comparison.html", "comparison.md"
RESULTS, TRIALS, DICTIONARY = "results.csv", "trials.csv", "data-dictionary.csv"
PACKAGE, SCHEMA = "datapackage.json", "results.schema.json"
WRITTEN, FAILED = "written", "failed"
#: Texts of the columns of both tables, by name.
_MEANINGS = {
    "trial": "id of the trial, as its results file has it; its name where it could not be read",
    "site": "where it was; the region in an anonymous edition",
    "started": "when the burner was first lit, ISO 8601 with the offset of its zone; empty where no date is known",
    "quantity": "key of the figure, as in data-dictionary.csv",
    "value": "best value; empty where the figure is not given",
    "unit": "unit of value, standard_uncertainty, low_95 and high_95",
    "standard_uncertainty": "combined standard uncertainty",
    "low_95": "lower end of the 95 % interval, or of the limits",
    "high_95": "upper end of the 95 % interval, or of the limits",
    "basis": "measured, derived (through a stated equation), assumed (rests on an assumption) or not given",
    "title": "title of the trial",
    "series": "repeats of one set-up share a series",
    "status": "written, or failed: it could not be read",
    "outcome": "completed or aborted, as stated; empty where it is not",
    "reason": "why it was aborted, or could not be read",
    "group": "number of its group of alike trials in comparison.html; empty where it is in none",
    "evidence": "grade of what was recorded: A, B, C or D; empty where the file does not tell",
    "evidence_lacking": "what good evidence needs and was not recorded",
    "licence": "licence of the data, as stated",
    "citation": "how the trial is to be cited, as stated",
    "report": "address of the report",
    "label": "name for people",
    "meaning": "what it is",
    "part": "part of the report it stands in",
}
_NUMBERS = frozenset(("value", "standard_uncertainty", "low_95", "high_95"))
_ENUMS = {"basis": ("measured", "derived", "assumed", "not given"), "status": (WRITTEN, FAILED)}
_LICENCE_NAME = re.compile(r"[-A-Za-z0-9._]+")
#: Sites that the description of the data names, at most (ours).
MOST_SITES = 50


def _licence(rows: Sequence[TrialRow]) -> str:
    """Return the licence that all trials state; "" where one states none, or another."""
    stated = {row.licence for row in rows}
    return stated.pop() if len(stated) == 1 else ""


def _citations(rows: Sequence[TrialRow]) -> list[str]:
    return list(dict.fromkeys(row.citation for row in rows if row.citation))


def _period(rows: Sequence[TrialRow]) -> str:
    days = sorted(row.started[:10] for row in rows if re.match(r"\d{4}-\d\d-\d\d", row.started))
    return f"{days[0]}/{days[-1]}" if days else ""


def dataset(title: str, rows: Sequence[TrialRow]) -> dict[str, Any]:
    """Return the description of the data by schema.org, for machines that look for data sets."""
    sites = list(dict.fromkeys(row.site for row in rows if row.site))[:MOST_SITES]
    licence, citations, period = _licence(rows), _citations(rows), _period(rows)
    return {
        "@context": "https://schema.org/",
        "@type": "Dataset",
        "name": title,
        "description": _description(rows),
        **({"license": _licence_of_data(licence)} if licence else {}),
        **({"citation": citations} if citations else {}),
        **({"temporalCoverage": period} if period else {}),
        **({"spatialCoverage": [{"@type": "Place", "name": site} for site in sites]} if sites else {}),
        "variableMeasured": [
            {"@type": "PropertyValue", "name": str(kind.label), "propertyID": kind.key, "unitText": kind.unit}
            for kind in KINDS.values()
        ],
        "distribution": [
            {"@type": "DataDownload", "name": name, "contentUrl": name, "encodingFormat": form}
            for name, form in ((RESULTS, "text/csv"), (TRIALS, "text/csv"), (PACKAGE, "application/json"))
        ],
    }


def _description(rows: Sequence[TrialRow]) -> str:
    return (
        f"Results of {len(rows)} trials in which biogas from waste drove an absorption refrigerator that made ice: "
        "figures with their standard uncertainty, 95 % interval and basis."
    )


def package(title: str, rows: Sequence[TrialRow]) -> dict[str, Any]:
    """Return the description of the tables as a Frictionless Data Package."""
    licence, citations = _licence(rows), _citations(rows)
    return {
        "profile": "data-package",
        "name": re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-") or "trials",
        "title": title,
        "description": " ".join(
            [
                _description(rows),
                f"The results file of one trial is described by {SCHEMA}.",
                *(f"To be cited as: {text}" for text in citations),
            ]
        ),
        **({"licenses": [_licence_entry(licence)]} if licence else {}),
        "resources": [
            _table("results", RESULTS, "Figures of all trials, one row each.", CSV_COLUMNS),
            _table("trials", TRIALS, "All trials, one row each.", TRIAL_COLUMNS),
            _table("data-dictionary", DICTIONARY, "What each quantity is.", DICTIONARY_COLUMNS),
        ],
    }


def _licence_of_data(licence: str) -> str | dict[str, str]:
    return licence if _is_address(licence) else {"@type": "CreativeWork", "name": licence}


def _is_address(licence: str) -> bool:
    return re.fullmatch(r"https?://\S+", licence) is not None


def _licence_entry(licence: str) -> dict[str, str]:
    if _is_address(licence):
        return {"path": licence}
    hyphened = licence.replace(" ", "-")
    # A name has few signs; a licence in somebody's own words is told by its title, and named as such.
    name = hyphened if _LICENCE_NAME.fullmatch(hyphened) else "as-stated"
    return {"name": name, "title": licence}


def _table(name: str, path: str, description: str, columns: Sequence[str]) -> dict[str, Any]:
    return {
        "name": name,
        "path": path,
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "description": description,
        "schema": {
            "fields": [
                {
                    "name": column,
                    "type": "number" if column in _NUMBERS else "string",
                    "description": _MEANINGS[column],
                    **({"constraints": {"enum": list(_ENUMS[column])}} if column in _ENUMS else {}),
                }
                for column in columns
            ],
            "missingValues": [""],
        },
    }
