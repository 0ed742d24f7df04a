"""Results documents made up for comparisons."""

from __future__ import annotations

import functools
import json
import random
from pathlib import Path
from typing import Any

from conftest import SAMPLES

from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.results_file import results_document, to_json


@functools.cache
def _sample(name: str) -> str:
    trial = read_trial(SAMPLES / name)
    return to_json(results_document(trial, compute(trial)))


def document(
    n: int = 1,
    *,
    site: str = "Harbour market canteen",
    series: str = "dry season",
    cop: float | None = None,
    ambient: float = 26.0,
    sample: str = "canteen-single-log",
    **facts: Any,
) -> dict[str, Any]:
    """Return the results of a made-up trial: those of a sample with another name, place and thermal COP."""
    made: dict[str, Any] = json.loads(_sample(sample))
    started = f"2026-05-{1 + n % 28:02}T08:{n // 28:02}:00+03:00"
    made["trial"] |= {"id": f"T-{n}", "site": site, "series": series, "started": started, **facts}
    made["results"]["ambient_mean"] |= {"value": ambient, "interval_95": [ambient - 1, ambient + 1]}
    made["results"]["temperature_start"] |= {"value": ambient - 1, "interval_95": [ambient - 2, ambient]}
    if cop is not None:
        figure = made["results"]["cop_ice"]
        figure |= {"value": cop, "interval_95": [0.9 * cop, 1.1 * cop], "standard_uncertainty": 0.05 * cop}
    return made


def season(sites: int = 3, repeats: int = 5) -> list[dict[str, Any]]:
    """Return trials at several sites that scatter about a value of their site."""
    draw = random.Random(7)
    return [
        document(site * repeats + i, site=f"site {site}", cop=0.07 * (1 + 0.1 * site) * draw.gauss(1, 0.03))
        for site in range(sites)
        for i in range(repeats)
    ]


def write_results(folder: Path, *documents: Any) -> Path:
    """Write results files, each in a folder of its own, below a folder."""
    for n, found in enumerate(documents):
        place = folder / f"trial-{n:03}"
        place.mkdir(parents=True, exist_ok=True)
        text = found if isinstance(found, str) else json.dumps(found)
        (place / "results.json").write_text(text, encoding="utf-8")
    return folder
