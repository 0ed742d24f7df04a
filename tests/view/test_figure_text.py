"""A figure as text: reasons for those who do not keep the logs name no columns."""

from __future__ import annotations

import re

import pytest
from conftest import computed_sample

from reportgen.catalogue import KINDS
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.render import render_html
from reportgen.speech import Manner, load, speaking
from reportgen.view import EDITIONS, build_view, edition_values
from reportgen.view.figure_text import without_columns
from reportgen.vocabulary import COLUMNS


@pytest.mark.parametrize(
    ("reason", "shown"),
    [
        ("no gas production is logged (column gas_produced)", "no gas production is logged"),
        ("no feed is logged (column fresh_mass); it was fed", "no feed is logged; it was fed"),
        ("the cabinet (27 °C) stayed warm", "the cabinet (27 °C) stayed warm"),
    ],
)
def test_a_column_in_brackets_is_left_out_and_nothing_else(reason: str, shown: str) -> None:
    assert without_columns(reason) == shown


@pytest.mark.parametrize("tag", ["en", "ar"])
@pytest.mark.parametrize("edition", ["class", "funder"])
def test_no_key_shows_to_a_class_or_a_funder(edition: str, tag: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("bare")
    (folder / "trial.toml").write_text('title = "Bare"\ndate = 2026-03-14\n[gas]\nkind = "holder"\n', encoding="utf-8")
    (folder / "log.csv").write_text(
        "time,gas_volume [L],event\n09:00,180,burner lit\n10:00,120,\n11:00,70,burner out\n", encoding="utf-8"
    )
    bare = read_trial(folder)
    keys = re.compile("|".join(key for key in (*KINDS, *COLUMNS) if "_" in key))
    with speaking(load(Manner(tag))):
        for trial, results in ((bare, compute(bare)), computed_sample("canteen-aborted")):
            view = build_view(trial, results, draw=lambda *_: ())
            page = render_html(f"{EDITIONS[edition]}.html", **edition_values(edition, view, trial, results))
            assert keys.findall(re.sub(r"<style\b.*?</style>", "", page, flags=re.DOTALL)) == []
