"""What a report shows, beyond its layout: reasons together, what to add next time, facts, clocks, digits."""

from __future__ import annotations

import csv
import dataclasses
import itertools
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import ROOT, SAMPLES, sample_folders

from reportgen import checklist
from reportgen.catalogue import KINDS
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.read.sheet import parse_sheet
from reportgen.render import render_html, render_markdown
from reportgen.view import ReportView, build_view
from reportgen.vocabulary import COLUMNS, column_named, split_header

#: What is taken out of a sample, to see what its report says without.
TAKEN_OUT = {
    "nothing": ((), ()),
    "mass": (("mass", "ice_mass"), ()),
    "lighting": (("lit", "out"), ("event",)),
    "looks": ((), ("ice",)),
    "gas": ((), ("gas_volume", "gas_level", "gas_produced")),
    "kind and methane": (("kind", "methane"), ()),
    "temperatures": (("temperature",), ("cabinet_temperature", "ambient_temperature")),
    "facts": (("site", "operator", "date", "time_zone", "altitude", "incidents", "licence", "signed_by"), ()),
}


def copy_without(sample: Path, folder: Path, keys: tuple[str, ...], columns: tuple[str, ...]) -> Path:
    """Copy a sample without these keys and columns."""
    folder.mkdir()
    for path in sample.iterdir():
        text = path.read_text(encoding="utf-8")
        if path.name == "trial.toml":
            text = "\n".join(line for line in text.splitlines() if line.split("=")[0].strip() not in keys)
        elif path.suffix == ".csv" and columns and not text.startswith("#"):
            rows = list(csv.reader(text.splitlines()))
            kept = [i for i, cell in enumerate(rows[0]) if column_named(split_header(cell)[0]) not in columns]
            text = "\n".join(",".join(f'"{row[i]}"' for i in kept if i < len(row)) for row in rows)
        (folder / path.name).write_text(text, encoding="utf-8")
    return folder


def view_of(folder: Path) -> ReportView:
    trial = read_trial(folder)
    return build_view(trial, compute(trial))


def small(folder: Path, sheet: str = "", log: str = "time,ice\n09:20,liquid\n13:00,solid\n") -> ReportView:
    """Return the view of a small trial."""
    folder.mkdir(exist_ok=True)
    (folder / "trial.toml").write_text(f'title = "Small"\n{sheet}', encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    return view_of(folder)


def words_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from words_in(item)
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            if field.name not in ("data_address", "svg"):
                yield from words_in(getattr(value, field.name))


@pytest.mark.parametrize("name", ["canteen-single-log", "canteen-hand-readings"])
@pytest.mark.parametrize("without", sorted(TAKEN_OUT))
def test_no_report_says_none(without: str, name: str, tmp_path: Path) -> None:
    view = view_of(copy_without(SAMPLES / name, tmp_path / "trial", *TAKEN_OUT[without]))
    pages = (render_html("report.html", view=view), render_markdown("report.md", view=view))
    for text in (*words_in(view), *(re.sub(r"base64,[^\"]*", "", page) for page in pages)):
        assert not re.search(r"\b(None|nan|Message)\b", text), text
    assert "{" not in pages[1]


def test_reasons_are_told_once_with_all_their_figures(tmp_path: Path) -> None:
    view = view_of(copy_without(SAMPLES / "canteen-single-log", tmp_path / "trial", *TAKEN_OUT["gas"]))
    reasons = [cause.reason for cause in view.causes]
    assert len(reasons) == len(set(reasons))
    gas = next(cause for cause in view.causes if cause.reason == "no gas readings are logged")
    for key in ("gas_used_as_read", "gas_per_hour", "energy_per_ice"):
        assert str(KINDS[key].label) in gas.figures.split("; ")
    given = sum(len(group.given) for group in view.groups)
    told = sum(len(cause.figures.split("; ")) for cause in view.causes)
    withheld = sum(kind.is_extra for kind in KINDS.values())
    assert len(KINDS) - withheld <= given + told <= len(KINDS)


def test_one_reason_in_two_wordings_is_one_line(tmp_path: Path) -> None:
    view = small(tmp_path / "trial", log="time,cabinet_temperature\n2026-03-14T09:20,20\n2026-03-14T13:00,-3\n")
    lit = [cause for cause in view.causes if cause.reason.startswith("when the burner was lit is not recorded")]
    assert len(lit) == 1
    assert "burner.lit" in lit[0].reason
    assert {str(KINDS[key].label) for key in ("run_time", "time_to_0")} <= set(lit[0].figures.split("; "))


def test_what_to_add_is_named_with_what_it_gives(tmp_path: Path) -> None:
    view = small(tmp_path / "trial", log="time,gas_volume [L]\n2026-03-14T09:20,400\n2026-03-14T13:00,200\n")
    added = {(item.kind, item.line): item.use for item in view.additions}
    assert ("trial.toml", '[burner] lit = "09:05"') in added
    assert "gas used, as read" in added["trial.toml", '[gas] kind = "holder"']
    assert ("column", "cabinet_temperature") in added
    assert len(view.additions) <= checklist.MOST_ADDITIONS


def test_adding_what_is_advised_gives_a_figure(tmp_path: Path) -> None:
    log = "time,ice\n2026-03-14T10:00,liquid\n2026-03-14T13:00,solid\n"
    sheet = '[water]\nmass = "1.2 kg"\n'
    before = small(tmp_path / "before", sheet, log)
    assert '[burner] lit = "09:05"' in [item.line for item in before.additions]
    after = small(tmp_path / "after", 'date = 2026-03-14\n[burner]\nlit = "09:05"\n' + sheet, log)
    assert '[burner] lit = "09:05"' not in [item.line for item in after.additions]
    label = str(KINDS["ice_making_time"].label)
    assert label in [figure.label for group in after.groups for figure in group.given]
    assert label not in [figure.label for group in before.groups for figure in group.given]


def test_nothing_is_advised_that_a_trial_records() -> None:
    for folder in sample_folders():
        trial = read_trial(folder)
        for item in checklist.additions(trial, compute(trial)):
            if item.is_column:
                assert trial.column(item.place) is None
            else:
                part: object = trial.sheet
                for name in item.place.split("."):
                    part = getattr(part, name)
                assert part in (None, "")
    hand = read_trial(SAMPLES / "canteen-hand-readings")
    assert checklist.additions(hand, compute(hand)) == []
    page = render_html("report.html", view=build_view(hand, compute(hand)))
    assert "What to add next time" not in page


@pytest.mark.parametrize("place", sorted(checklist.LINES))
def test_a_line_to_add_is_one_that_the_sheet_takes(place: str) -> None:
    line = checklist.LINES[place]
    section = re.match(r"\[(\w+)\] (.*)", line)
    body = f"[{section[1]}]\n{section[2]}" if section else line
    text = 'title = "x"\n' + body.replace(", methane_method", "\nmethane_method")
    part: object = parse_sheet(text.encode())
    for name in place.split("."):
        part = getattr(part, name)
    assert part not in (None, "")
    assert tomllib.loads(text)


def test_reasons_and_assumptions_that_are_advised_upon_exist() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "reportgen" / "figures").glob("*.py"))
    for start in itertools.chain(checklist.ABOUT, checklist.INSTEAD):
        assert f'"{start}' in source or f'source="{start}"' in source, start
    assert all(place in COLUMNS or place in checklist.LINES for place in checklist.ABOUT.values())
    assert all(place in checklist.LINES for place in checklist.INSTEAD.values())


def test_key_figures_are_short_and_the_table_has_all_digits() -> None:
    view = view_of(SAMPLES / "canteen-hand-readings")
    for figure in view.key_figures:
        assert len(figure.value.replace(".", "").lstrip("−0")) <= 3
    rows = {figure.label: figure for group in view.groups for figure in group.given}
    run = rows[str(KINDS["run_time"].label)]
    assert (run.value, run.uncertainty) == ("5.200", "0.007 h")
    for figure in rows.values():
        if figure.uncertainty:
            places = [len(text.split(" ")[0].partition(".")[2]) for text in (figure.value, figure.uncertainty)]
            assert places[0] == places[1], figure.label


def test_funder_facts_are_printed(tmp_path: Path) -> None:
    sheet = (
        'outcome = "aborted"\nreason = "rain"\nsigned_by = "A. Example"\nlicence = "CC0-1.0"\n'
        'incidents = "a burnt thumb"\n'
        "[water]\ncontainers = 3\n[audience]\nfish_sellers = 6\nmayor = true\n"
        '[costs]\ncurrency = "XTS"\ngas_meter = 610\njet = 3.5\n'
    )
    view = small(tmp_path / "trial", sheet)
    facts = dict(view.facts)
    assert facts["Outcome"] == "aborted"
    assert facts["People"] == "fish sellers 6; mayor yes"
    assert dict(view.setup)["Containers of water"] == "3"
    assert dict(view.means)["Spent in all"] == "gas meter 610; jet 3.5 (in XTS)"
    assert dict(view.means)["Spent on this trial"] == ""
    assert view.noted == (("Reason given", "rain"), ("Incidents", "a burnt thumb"))
    for page in (render_html("report.html", view=view), render_markdown("report.md", view=view)):
        assert "Incidents: a burnt thumb" in page
        assert "Licence of the data: CC0-1.0" in page
        assert page.index("Signed: A. Example") > page.index("Where this report comes from")


def test_what_is_not_given_leaves_no_empty_row(tmp_path: Path) -> None:
    view = small(tmp_path / "trial")
    assert {label for label, _ in view.facts} == {"Report"}
    assert view.noted == (("Incidents", "none recorded"),)
    page = render_markdown("report.md", view=view)
    assert "Licence of the data" not in page
    assert "To be cited as" not in page
    assert "Signed: not recorded" in page
    assert "- Not recorded: Paid by; Equipment from; Conflicts of interest" in page


def test_a_time_zone_nobody_stated_is_not_called_utc(tmp_path: Path) -> None:
    log = "time,ice\n2026-03-14T10:00,liquid\n2026-03-14T13:00,solid\n"
    burner = '[burner]\nlit = "2026-03-14 09:05"\nout = "2026-03-14 14:00"\n'
    unstated = dict(small(tmp_path / "a", burner, log).facts)["Date"]
    assert unstated == "2026-03-14, burner lit 09:05, out 14:00 (time zone not stated)"
    stated = dict(small(tmp_path / "b", 'time_zone = "UTC"\n' + burner, log).facts)["Date"]
    assert stated == "2026-03-14, burner lit 09:05, out 14:00 (UTC)"


def test_a_log_of_elapsed_time_shows_no_clock(tmp_path: Path) -> None:
    view = small(tmp_path / "trial", log="elapsed [min],ice\n60,partial\n120,solid\n")
    assert dict(view.facts)["Date"] == "times count from lighting"


def test_the_log_is_called_faultless_only_without_any_finding(tmp_path: Path) -> None:
    faultless = "Nothing in the logs had to be repaired, left out or doubted."
    for name, view in (
        ("noted", small(tmp_path / "noted", log="time,gas_volume\n2026-03-14T09:20,400\n")),
        ("none", view_of(SAMPLES / "canteen-hand-readings")),
    ):
        assert bool(view.findings) == (name == "noted")
        if name == "noted":
            assert "note" in {finding.level for finding in view.findings}
        for page in (render_html("report.html", view=view), render_markdown("report.md", view=view)):
            assert (faultless in page) != bool(view.findings)
