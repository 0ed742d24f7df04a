"""The results file of every sample keeps to the shipped JSON Schema and to what the format says in words."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from conftest import ROOT, sample_folders

from reportgen.catalogue import KINDS
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.results_file import results_document, results_schema, to_json

SHIPPED = json.loads((ROOT / "reportgen" / "results.schema.json").read_text(encoding="utf-8"))


def document(folder: Path) -> dict[str, Any]:
    trial = read_trial(folder)
    return json.loads(to_json(results_document(trial, compute(trial))))


def test_the_shipped_schema_is_the_one_of_the_code() -> None:
    jsonschema.Draft202012Validator.check_schema(SHIPPED)
    assert results_schema() == SHIPPED


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda path: path.name)
def test_results_of_a_sample_validate(folder: Path) -> None:
    found = document(folder)
    jsonschema.Draft202012Validator(SHIPPED).validate(found)
    assert list(found["results"]) == list(KINDS)
    for key, figure in found["results"].items():
        assert figure["unit"] == KINDS[key].unit
        if figure["value"] is None:
            assert figure["reason"]
            continue
        low, high = figure["interval_95"]
        assert low <= figure["value"] <= high, key
        assert "{" not in figure["working"]
        assert figure["working"], key
        named = {assumption["name"] for assumption in found["assumptions"]}
        assert set(figure["assumptions"]) <= named
        if figure["basis"] == "assumed":
            assert figure["assumptions"], key
    for key in ("ice_making_time", "freezing_time"):
        figure = found["results"][key]
        if figure["value"] is not None:
            low, high = figure["interval_95"]
            assert figure["interval_kind"] == "limits"
            assert figure["value"] == pytest.approx((low + high) / 2)
            assert figure["standard_uncertainty"] == pytest.approx((high - low) / 2 / math.sqrt(3))


@pytest.mark.parametrize("damage", ["unit", "value", "basis", "missing"])
def test_the_schema_refuses_a_damaged_file(damage: str) -> None:
    found = document(sample_folders()[0])
    figure = found["results"]["run_time"]
    if damage == "unit":
        figure["unit"] = "min"
    elif damage == "value":
        figure["value"] = "5.2"
    elif damage == "basis":
        figure["basis"] = "guessed"
    else:
        del found["results"]["gas_used"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SHIPPED).validate(found)
