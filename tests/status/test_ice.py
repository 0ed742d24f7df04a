"""When the ice will be solid, from looks of one eye: rounded, and off in the same direction from look to look."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.read.folder import read_trial
from reportgen.status import status_of

SHEET = """title = "Canteen ice"
date = 2026-03-14
time_zone = "Indian/Mauritius"
[burner]
lit = "09:00"
"""
UNTIL = 180


def widths(folder: Path, *looks: tuple[int, str]) -> float:
    """Return the width of the forecast of solid ice over the hours to its middle, by looks at minutes after 9:00."""
    rows = {minute: -14 + 41 * 2.718281828 ** (-max(minute - 20, 0) / 70) for minute in range(0, UNTIL + 1, 5)}
    cells = dict(looks)
    lines = [f"{9 + m // 60:02}:{m % 60:02},{value:.1f},{cells.get(m, '')}" for m, value in rows.items()]
    folder.mkdir()
    (folder / "trial.toml").write_text(SHEET, encoding="utf-8")
    (folder / "log.csv").write_text("\n".join(["time,cabinet_temperature [degC],ice", *lines]) + "\n", encoding="utf-8")
    ice = status_of(read_trial(folder)).forecasts["ice_making_time"]
    assert ice.value is not None and ice.interval is not None, ice.reason
    return (ice.interval[1] - ice.interval[0]) / (ice.value - UNTIL / 60)


def test_a_share_that_may_be_a_quarter_leaves_more_open_than_tenths(tmp_path: Path) -> None:
    quarters, tenths = widths(tmp_path / "q", (UNTIL, "50 %")), widths(tmp_path / "t", (UNTIL, "51 %"))
    assert quarters > 1.05 * tenths


def test_many_looks_of_one_eye_at_one_moment_do_not_make_it_sure(tmp_path: Path) -> None:
    one = widths(tmp_path / "one", (UNTIL, "60 %"))
    again = widths(tmp_path / "again", *((UNTIL - 5 * n, "60 %") for n in range(5)))
    assert 0.85 * one < again < 1.1 * one


@pytest.mark.parametrize(("share", "least"), [("60 %", 0.6), ("80 %", 1.0)])
def test_an_eye_leaves_open_what_ten_to_twenty_percent_of_the_whole_would(
    tmp_path: Path, share: str, least: float
) -> None:
    assert widths(tmp_path / "seen", (UNTIL, share)) > least
