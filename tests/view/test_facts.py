"""Notes in the rows of logs: shown with time and place, harmless, and none of them in the anonymous edition."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.anonymous import anonymised
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.render import render_html, render_markdown
from reportgen.trial import Trial
from reportgen.view import ReportView, build_view
from reportgen.view.facts import MOST_LOG_NOTES, log_notes

SHEET = 'title = "t"\ndate = 2026-03-14\ntime_zone = "UTC"\n[burner]\nlit = "09:05"\nout = "12:40"\n'
LOG = (
    "time,cabinet_temperature [degC],event,remark\n"
    "09:00,26,,calm | *dry* <b>sea</b>\n"
    "09:05,26,burner lit,\n"
    "09:45,16,fan set up,\n"
    "soon,,,nobody knows when\n"
    "12:40,-6,burner out,all well\n"
)


def trial_of(folder: Path, log: str = LOG, sheet: str = SHEET) -> Trial:
    (folder / "trial.toml").write_text(sheet, encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    return read_trial(folder)


def view_of(trial: Trial) -> ReportView:
    return build_view(trial, compute(trial), draw=lambda *_: ())


def told(trial: Trial) -> list[tuple[str, str, str]]:
    return [(note.time, note.place, note.text) for note in log_notes(trial).shown]


def test_notes_and_events_in_own_words_are_told_in_order_of_time(tmp_path: Path) -> None:
    assert told(trial_of(tmp_path)) == [
        ("09:00", "log.csv, row 2", "calm | *dry* <b>sea</b>"),
        ("09:45", "log.csv, row 4", "fan set up"),
        ("12:40", "log.csv, row 6", "all well"),
        ("", "log.csv, row 5", "nobody knows when"),
    ]


def test_the_words_show_and_do_nothing(tmp_path: Path) -> None:
    view = view_of(trial_of(tmp_path))
    page, text = render_html("report.html", view=view), render_markdown("report.md", view=view)
    assert "calm | *dry* &lt;b&gt;sea&lt;/b&gt;" in page
    assert "| 09:00 | log.csv, row 2 | calm &#124; \\*dry\\* &lt;b\\>sea&lt;/b\\> |" in text
    for edition in ("funder", "class"):
        assert "log_notes" not in Path(__file__).parents[2].joinpath("templates", f"{edition}.md").read_text("utf-8")


def test_only_the_first_notes_are_shown_and_the_others_counted(tmp_path: Path) -> None:
    rows = "".join(f"10:{n % 60:02}:{n // 60:02},10,,note {n}\n" for n in range(MOST_LOG_NOTES + 2))
    trial = trial_of(tmp_path, LOG + rows + f"11:00,5,,{'x' * 1000}\n")
    view = view_of(trial)
    assert len(view.log_notes.shown) == MOST_LOG_NOTES
    assert view.log_notes.more == 7
    for text in (render_html("report.html", view=view), render_markdown("report.md", view=view)):
        assert "The logs hold 7 more notes." in text
    assert max(len(note.text) for note in log_notes(trial_of(tmp_path, LOG + f"11:00,5,,{'x' * 1000}\n")).shown) == 302


def test_a_trial_without_notes_has_no_table_of_them(tmp_path: Path) -> None:
    view = view_of(trial_of(tmp_path, "time,ice\n09:20,liquid\n12:30,solid\n"))
    assert "Notes in the logs" not in render_html("report.html", view=view)
    assert "Notes in the logs" not in render_markdown("report.md", view=view)


@pytest.mark.parametrize("keeps", [False, True])
def test_the_anonymous_edition_has_none_unless_texts_are_published(keeps: bool, tmp_path: Path) -> None:
    sheet = f'operator = "Oda Quay"\npublish_texts = {str(keeps).lower()}\n{SHEET}'
    found = told(anonymised(trial_of(tmp_path, LOG.replace("all well", "all well says Oda"), sheet)))
    if keeps:
        assert ("12:40", "log-1.csv, row 6", "all well says the operator") in found
    else:
        assert found == []


def test_times_that_count_from_lighting_and_days_are_told_as_such(tmp_path: Path) -> None:
    elapsed = "elapsed [min],cabinet_temperature [degC],note\n0,26,lit\n90,16,slow\n"
    assert told(trial_of(tmp_path, elapsed, 'title = "t"\n'))[1][0] == "1.50 h after lighting"
    days = "time,ice,note\n2026-03-14 09:20,liquid,\n2026-03-15 10:00,solid,next morning\n"
    assert told(trial_of(tmp_path, days))[0][0] == "10:00 on 2026-03-15"
    assert told(trial_of(tmp_path, days, 'title = "t"\n'))[0][0] == "10:00 on 2026-03-15"
    assert told(trial_of(tmp_path, "time,ice,note\n09:20,liquid,cold\n", 'title = "t"\n'))[0][0] == "09:20"


def test_a_run_that_nobody_noted_the_lighting_of_is_dated_by_its_cabinet(tmp_path: Path) -> None:
    trial = trial_of(tmp_path, LOG.replace("burner lit", ""), 'title = "t"\ndate = 2026-03-14\ntime_zone = "UTC"\n')
    assert trial.lit_at is None
    assert ("Date", "2026-03-14") in view_of(trial).facts
