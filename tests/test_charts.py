"""The charts: what is drawn, that it can be read, and that equal trials give equal pictures."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import os
import re
import subprocess
import sys
import time
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import charts, rounding
from reportgen.charts import hours as chart_hours
from reportgen.charts import style as chart_style
from reportgen.charts.cabinet import WIDEST_NAME
from reportgen.charts.chart import MOST_ROWS, Chart
from reportgen.figures import Results, compute
from reportgen.message import Message
from reportgen.read.folder import read_trial
from reportgen.speech import END_ISOLATE, ISOLATE, LEFT_TO_RIGHT, RIGHT_TO_LEFT, Manner, load, speaking
from reportgen.trial import Event, Readings, Trial
from reportgen.vocabulary import COLUMNS

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = sorted(path.parent for path in (ROOT / "sample_trials").glob("*/trial.toml"))
SVG = "{http://www.w3.org/2000/svg}"
START = 1_773_478_800.0
DIRECTIONS = ISOLATE + LEFT_TO_RIGHT + RIGHT_TO_LEFT + END_ISOLATE


@functools.cache
def sample(name: str) -> tuple[Trial, Results, dict[str, Chart]]:
    trial = read_trial(ROOT / "sample_trials" / name)
    results = compute(trial)
    return trial, results, {chart.name: chart for chart in charts.build_charts(trial, results)}


def texts(svg: str) -> list[str]:
    return ["".join(node.itertext()).strip() for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def words(svg: str) -> str:
    return " ".join(texts(svg))


def readings(at: list[float], values: list[float], step: float = 0.1) -> Readings:
    count = len(at)
    return Readings(
        START + np.array(at, dtype=float),
        np.array(values, dtype=float),
        np.arange(2, count + 2),
        ("log.csv",),
        np.zeros(count, dtype=np.int64),
        step,
    )


def trial_of(tmp_path: Path, sheet: str, **logs: str) -> tuple[Trial, Results, dict[str, Chart]]:
    (tmp_path / "trial.toml").write_text('title = "Trial"\n' + sheet, encoding="utf-8")
    for name, text in logs.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    trial = read_trial(tmp_path)
    results = compute(trial)
    return trial, results, {chart.name: chart for chart in charts.build_charts(trial, results)}


def cooling(at: float) -> float:
    return 25.0 if at < 0.3 else -16 + 41 * 2.718281828 ** (-(at - 0.3) / 1.1)


def log_of(minutes: list[int], header: str = "cabinet_temperature [degC]") -> str:
    rows = [f"2026-03-14T{9 + m // 60:02d}:{m % 60:02d},{cooling(m / 60):.1f}" for m in minutes]
    return "\n".join([f"time,{header}", *rows, ""])


DATED = 'date = 2026-03-14\n[burner]\nlit = "09:00"\nout = "13:00"\n'


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda path: path.name)
class TestSamples:
    """What holds for every sample trial."""

    def test_all_four_are_drawn_in_order(self, folder: Path) -> None:
        assert list(sample(folder.name)[2]) == ["cabinet", "gas", "feed", "chain"]

    def test_each_is_an_svg_with_text_of_readable_size(self, folder: Path) -> None:
        for chart in sample(folder.name)[2].values():
            root = ElementTree.fromstring(chart.svg)
            assert root.tag == f"{SVG}svg"
            assert len(texts(chart.svg)) > 5
            assert min(map(size_of, root.iter(f"{SVG}text"))) >= 8
            assert "DejaVu Sans" in chart.svg
            assert "<metadata" not in chart.svg
            assert len(chart.svg) < 100_000

    def test_titles_and_sentences_have_no_open_gaps(self, folder: Path) -> None:
        for chart in sample(folder.name)[2].values():
            for text in (str(chart.title), str(chart.alt), words(chart.svg), str(chart.table)):
                assert not re.search(r"[{}]|\bnan\b|None", text)
            assert str(chart.alt).endswith(".")
            assert "\n" not in str(chart.alt)

    def test_tables_are_whole_and_short(self, folder: Path) -> None:
        for chart in sample(folder.name)[2].values():
            assert 2 <= len(chart.table) <= MOST_ROWS + 1
            assert {len(row) for row in chart.table} == {len(chart.table[0])}

    def test_text_stays_within_the_picture(self, folder: Path) -> None:
        for chart in sample(folder.name)[2].values():
            root = ElementTree.fromstring(chart.svg)
            width, height = (float(part) for part in root.attrib["viewBox"].split()[2:])
            for node in root.iter(f"{SVG}text"):
                place = re.search(r"translate\(([-\d.]+) ([-\d.]+)\)", node.attrib["transform"])
                text = "".join(node.itertext())
                if "rotate(-90" in node.attrib["transform"]:
                    continue
                x, y = (float(place[i]) if place else float(node.attrib["xy"[i - 1]]) for i in (1, 2))
                long = chart_style.width_of(text, size_of(node)) * 72
                anchor = re.search(r"text-anchor: (\w+)", node.attrib["style"])
                before = {"middle": long / 2, "end": long}.get(anchor[1] if anchor else "start", 0.0)
                assert x - before > -4, text
                assert x - before + long < width + 8, text
                assert 0 < y < height, text


def size_of(node: ElementTree.Element) -> float:
    match = re.search(r"font(?:-size)?: (?:\w+ )*([\d.]+)px", node.attrib["style"])
    assert match is not None
    return float(match[1])


def test_equal_trials_give_equal_bytes_in_two_processes() -> None:
    code = (
        "import hashlib, sys; from pathlib import Path; from reportgen.read.folder import read_trial; "
        "from reportgen.figures import compute; from reportgen.charts import build_charts; "
        "trial = read_trial(Path(sys.argv[1])); "
        "print(*(hashlib.sha256(c.svg.encode()).hexdigest() for c in build_charts(trial, compute(trial))))"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code, "sample_trials/canteen-refill-not-solid"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONHASHSEED": "7", "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.stderr == ""
    drawn = sample("canteen-refill-not-solid")[2].values()
    assert done.stdout.split() == [hashlib.sha256(chart.svg.encode()).hexdigest() for chart in drawn]


def luminance(colour: str) -> float:
    """Return the relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colour", chart_style.MARKS)
def test_marks_stand_out_from_the_paper(colour: str) -> None:
    assert contrast(colour, chart_style.PAPER) >= 3


@pytest.mark.parametrize("colour", chart_style.TEXTS)
def test_text_can_be_read_on_the_paper_and_on_the_tint(colour: str) -> None:
    assert contrast(colour, chart_style.PAPER) >= 4.5
    assert contrast(colour, chart_style.TINT) >= 4.5


def test_text_in_the_bar_of_burning_can_be_read() -> None:
    assert contrast(chart_style.PAPER, chart_style.BURNING) >= 4.5


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (chart_style.CABINET, chart_style.AMBIENT),
        (chart_style.CABINET, chart_style.FITTED),
        (chart_style.GAS, chart_style.INK),
        (chart_style.HEAT, chart_style.LOST),
        (chart_style.HEAT, chart_style.COLD),
        (chart_style.FEEDSTOCK, chart_style.PRODUCED),
    ],
)
def test_neighbours_differ_in_grey(one: str, other: str) -> None:
    assert contrast(one, other) >= 1.4


def test_all_colours_drawn_are_of_the_palette() -> None:
    palette = {*chart_style.MARKS, *chart_style.TEXTS, chart_style.PAPER, chart_style.TINT, chart_style.GRID}
    for folder in SAMPLES:
        for chart in sample(folder.name)[2].values():
            assert set(re.findall(r"#[0-9a-f]{6}\b", chart.svg)) - {"#000000"} <= palette


def test_a_gap_breaks_the_line() -> None:
    at = np.array([0.0, 600, 1200, 1800, 9000, 9600, 10200])
    x, y = chart_style.course(at, np.arange(7.0))
    assert np.flatnonzero(np.isnan(x)).tolist() == [4]
    assert np.isnan(y[4])
    assert x[~np.isnan(x)].tolist() == at.tolist()


def test_even_readings_have_no_break() -> None:
    x, _ = chart_style.course(np.arange(0.0, 6000, 60), np.zeros(100))
    assert not np.any(np.isnan(x))


def test_a_gap_is_a_gap_in_the_picture(tmp_path: Path) -> None:
    minutes = [m for m in range(240) if not 100 <= m < 160]
    chart = trial_of(tmp_path, DATED, log=log_of(minutes))[2]["cabinet"]
    whole = trial_of(tmp_path, DATED, log=log_of(list(range(240))))[2]["cabinet"]
    assert moves_of_line(chart.svg) == 2
    assert moves_of_line(whole.svg) == 1


def moves_of_line(svg: str) -> int:
    """Return how many pieces the line of the cabinet has."""
    root = ElementTree.fromstring(svg)
    paths = [
        node.attrib for node in root.iter(f"{SVG}path") if f"stroke: {chart_style.CABINET}" in node.get("style", "")
    ]
    return max(attributes["d"].count("M") for attributes in paths)


@given(st.lists(st.floats(-60, 60), min_size=1, max_size=400), st.integers(1, 20), st.integers(0, 399))
def test_thinning_keeps_the_extremes(values: list[float], bins: int, gap: int) -> None:
    at = np.arange(len(values)) * 60.0
    at[gap:] += 7200
    x, y = chart_style.course(at, np.array(values), bins)
    assert np.nanmin(y) == min(values)
    assert np.nanmax(y) == max(values)
    assert (x[0], x[-1]) == (at[0], at[-1])
    assert np.array_equal(np.isnan(x), np.isnan(y))
    assert np.count_nonzero(~np.isnan(x)) <= 2 * bins + 2
    assert np.any(np.isnan(x)) == (0 < gap < len(values))


def test_readings_between_two_gaps_are_found() -> None:
    nan = np.nan
    assert chart_style.alone(np.array([1, nan, 2, nan, 3, 4.0])).tolist() == [
        True,
        False,
        True,
        False,
        False,
        False,
    ]


def test_a_hundred_thousand_readings_are_small_and_quick(tmp_path: Path) -> None:
    trial, results, _ = trial_of(tmp_path, DATED, log=log_of(list(range(0, 240, 10))))
    seconds = list(range(100_000))
    noisy = 0.5 * np.sin(np.arange(100_000) * 12.9898)
    dense = {
        "cabinet_temperature": readings(seconds, [cooling(s / 3600) + e for s, e in zip(seconds, noisy, strict=True)]),
        "ambient_temperature": readings(seconds, (29 + noisy).tolist()),
    }
    trial = dataclasses.replace(trial, readings=dense, burning=((START, START + 100_000),), out_at=START + 100_000)
    (chart,) = charts.build_charts(trial, results)
    assert chart.name == "cabinet"
    assert len(chart.svg) < 100_000
    assert len(chart.table) <= MOST_ROWS + 1
    column = [float(row[1].replace("\N{MINUS SIGN}", "-")) for row in chart.table[1:] if row[1]]
    assert min(column) == pytest.approx(dense["cabinet_temperature"].values.min(), abs=0.05)
    fastest = min(timed(trial, results) for _ in range(3))
    assert fastest < 0.3  # a third of it on a machine that does nothing else


def timed(trial: Trial, results: Results) -> float:
    before = time.process_time()
    charts.build_charts(trial, results)
    return time.process_time() - before


def test_the_sentence_of_the_cabinet_says_the_finding() -> None:
    alt = str(sample("canteen-hand-readings")[2]["cabinet"].alt)
    assert alt == (
        "Cabinet temperature fell from 27 °C to −14 °C in 4.3 h while ambient stayed near 28 °C; "
        "the ice became solid between 4.5 h and 4.9 h."
    )


def test_the_cabinet_shows_thresholds_events_fit_and_ice() -> None:
    text = words(sample("canteen-single-log")[2]["cabinet"].svg)
    for label in (
        "0 °C",
        "−6 °C",
        "−12 °C",
        "water placed",
        "door opened",
        "burner lit",
        "Cabinet",
        "Ambient",
        "fitted response, 95 % band",
        "ice solid between",
        "5.9 and 6.3 h",
        "hours since the burner was lit",
    ):
        assert label in text
    assert "−18 °C" not in text


def test_ice_that_never_became_solid_is_said_so() -> None:
    chart = sample("canteen-refill-not-solid")[2]["cabinet"]
    assert "ice not solid" in words(chart.svg)
    assert "the ice was not solid at 4.9 h." in str(chart.alt)


def test_without_a_fit_none_is_drawn() -> None:
    _, results, drawn = sample("canteen-aborted")
    assert results.response is None
    assert "fitted" not in words(drawn["cabinet"].svg)


def test_the_gas_shows_refill_reserve_and_what_was_read() -> None:
    chart = sample("canteen-refill-not-solid")[2]["gas"]
    text = words(chart.svg)
    assert "refill, about 150 L" in text
    assert "reserve 20 L" in text
    assert "content of the holder, L as read" in text
    assert "one refill" in str(chart.alt)


def test_a_meter_is_a_meter_with_all_its_digits() -> None:
    chart = sample("canteen-running-meter")[2]["gas"]
    assert "total of the meter, L as read" in words(chart.svg)
    assert "184326 L to 184628 L" in str(chart.alt)
    assert chart.table[1][1] == "184326"


def test_feed_and_gas_share_the_days_before_the_run() -> None:
    trial, _, drawn = sample("canteen-hand-readings")
    chart = drawn["feed"]
    assert "days before the run" in words(chart.svg)
    assert [chart.table[1][0], chart.table[-1][0]] == ["24", "0"]
    assert sum(float(row[1]) for row in chart.table[1:]) == pytest.approx(sum(f.fresh_mass for f in trial.feeds))


def corners(svg: str, colour: str) -> np.ndarray:
    """Return the corners of the one shape of this colour, in points to the right and down."""
    (shape,) = (
        node.attrib["d"]
        for node in ElementTree.fromstring(svg).iter(f"{SVG}path")
        if f"fill: {colour}" in node.get("style", "")
    )
    return np.array(re.findall(r"[ML] ([-\d.]+) ([-\d.]+)", shape), dtype=float).round(3)


def test_flows_of_heat_have_one_scale_and_join() -> None:
    _, results, drawn = sample("canteen-logger-and-hand")
    svg = drawn["chain"].svg
    heat, cold, lost = (corners(svg, c) for c in (chart_style.HEAT, chart_style.COLD, chart_style.LOST))
    energy, removed = results["energy_used"].value, results["heat_removed"].value / 1000
    flame = float(np.ptp(heat[:, 1]))
    # The flow from the water comes down and turns left: its two lowest levels are its two sides.
    _, upper, lower = np.unique(cold[:, 1])
    assert (lower - upper) / flame == pytest.approx(removed / energy, rel=0.01)
    assert np.ptp(lost[:, 0]) / flame == pytest.approx(1 + removed / energy, rel=0.01)
    assert lost[:, 0].max() == pytest.approx(cold[:, 0].min())
    assert re.search(r"flame \+ water: [\d.]+ MJ", words(svg))


def test_one_link_is_no_chain(tmp_path: Path) -> None:
    sheet = DATED + '[water]\nmass = "1.0 kg"\nice_mass = "0.9 kg"\n'
    log = "time,cabinet_temperature [degC]\n2026-03-14T09:00,20\n2026-03-14T10:00,10\n2026-03-14T11:00,-5\n"
    _, results, drawn = trial_of(tmp_path, sheet, log=log)
    assert results["ice_mass"].is_given
    assert "chain" not in drawn


def test_missing_links_are_dashed_and_say_so(tmp_path: Path) -> None:
    log = "time,gas_volume [L]\n2026-03-14T09:00,400\n2026-03-14T11:00,300\n2026-03-14T13:00,200\n"
    _, results, drawn = trial_of(tmp_path, DATED + '[gas]\nkind = "holder"\n', log=log)
    assert list(drawn) == ["gas", "chain"]
    assert results["gas_used"].is_given
    text = words(drawn["chain"].svg)
    assert text.count("not recorded") == 3
    assert "stroke-dasharray" in drawn["chain"].svg
    assert drawn["chain"].table[1][1] == "not recorded"
    assert "ice made not recorded" in str(drawn["chain"].alt)


def test_what_is_known_to_one_side_is_shown() -> None:
    text = words(sample("canteen-aborted")[2]["chain"].svg)
    assert "at most 0.99 kg" in text
    assert "not given" in text  # the heat taken: looked at, but not enough to tell


def test_hours_count_from_the_first_reading_where_lighting_is_unknown(tmp_path: Path) -> None:
    trial, _, drawn = trial_of(tmp_path, "date = 2026-03-14\n", log=log_of(list(range(0, 240, 10))))
    assert trial.lit_at is None
    assert list(drawn) == ["cabinet"]
    label = "hours since the first reading (when the burner was lit is not recorded)"
    assert label in words(drawn["cabinet"].svg)
    assert drawn["cabinet"].table[0][0] == label
    assert drawn["cabinet"].table[1][0] == "0.00"


def test_an_undated_trial_is_drawn(tmp_path: Path) -> None:
    log = log_of(list(range(0, 240, 10))).replace("2026-03-14T", "")
    _, _, drawn = trial_of(tmp_path, '[burner]\nlit = "09:00"\nout = "13:00"\n', log=log)
    assert drawn["cabinet"].table[1][0] == "0.00"


def test_nothing_logged_gives_no_chart(tmp_path: Path) -> None:
    assert trial_of(tmp_path, "", log="time,note\n2026-03-14T09:00,hello\n")[2] == {}


def test_thresholds_are_named_where_no_reading_is_in_the_way(tmp_path: Path) -> None:
    rows = [(m, cooling(m / 60) if m < 120 else -7 + (m - 120) * 0.005) for m in range(0, 1800, 10)]
    log = "elapsed [min],cabinet_temperature [degC]\n" + "".join(f"{m},{value:.1f}\n" for m, value in rows)
    _, _, drawn = trial_of(tmp_path, DATED.replace("13:00", "11:00"), log=log)
    assert place_of(drawn["cabinet"].svg, "0 °C") > 90
    assert place_of(sample("canteen-single-log")[2]["cabinet"].svg, "0 °C") < 60
    assert "burner lit" in words(drawn["cabinet"].svg)


def place_of(svg: str, text: str) -> float:
    nodes = ElementTree.fromstring(svg).iter(f"{SVG}text")
    return float(next(node.attrib["x"] for node in nodes if node.text == text))


def test_excluded_readings_are_crosses_at_the_edge(tmp_path: Path) -> None:
    log = log_of(list(range(0, 240, 10)))
    plain = trial_of(tmp_path, DATED, log=log)[2]["cabinet"]
    wild = trial_of(tmp_path, DATED, log=log.replace("T10:00,", "T10:00,9"))
    assert len(wild[0].excluded["cabinet_temperature"]) == 1
    assert "not used (95.7)" in words(wild[2]["cabinet"].svg)
    assert axis_labels(wild[2]["cabinet"].svg) == axis_labels(plain.svg)


@functools.cache
def spoken_sample(tag: str, name: str) -> dict[str, Chart]:
    trial, results, _ = sample(name)
    with speaking(load(Manner(tag))):
        return {chart.name: chart for chart in charts.build_charts(trial, results)}


@pytest.mark.parametrize("tag", ["en", "fr", "es", "sw", "ar"])
def test_names_of_lines_end_before_the_picture_does(tag: str) -> None:
    with speaking(load(Manner(tag))):
        labels = [str(COLUMNS[name].label) for name in ("cabinet_temperature", "ambient_temperature")]
    lines = [line for label in labels for line in chart_style.in_lines(label, WIDEST_NAME).split("\n")]
    width = chart_style.WIDTH * chart_style.POINTS
    svg = spoken_sample(tag, "canteen-hand-readings")["cabinet"].svg
    placed = [(left_of(node), text.strip(DIRECTIONS)) for node, text in texts_with_nodes(svg)]
    found = [(x, text) for x, text in placed if text in lines and x > 0.6 * width]
    assert sorted(text for _, text in found) == sorted(lines)
    for x, text in found:
        assert x + chart_style.width_of(text, chart_style.TEXT_SIZE) * chart_style.POINTS <= width + 1


def left_of(node: ElementTree.Element) -> float:
    """Return where a text stands from the left [pt]; lines of one text are moved to their places."""
    moved = re.match(r"translate\(([\d.]+)", node.get("transform") or "")
    return float(node.get("x") or (moved[1] if moved else 0))


def test_a_long_name_is_broken_at_a_blank_alone() -> None:
    assert chart_style.in_lines("Temperatura ambiente", WIDEST_NAME) == "Temperatura\nambiente"
    assert chart_style.in_lines("Ambient", WIDEST_NAME) == "Ambient"
    assert chart_style.in_lines("Umgebungstemperatur", WIDEST_NAME) == "Umgebungstemperatur"


def test_the_feed_is_named_above_its_axes_in_one_line() -> None:
    nodes = list(ElementTree.fromstring(sample("canteen-hand-readings")[2]["feed"].svg).iter(f"{SVG}text"))
    named = [node for node in nodes if "per day" in "".join(node.itertext())]
    assert ["".join(node.itertext()) for node in named] == [
        "fresh mass fed, kg per day",
        "gas produced, L per day as read",
    ]
    assert not any("rotate(-90" in (node.get("transform") or "") for node in nodes)


def test_the_chain_runs_as_the_language_is_written() -> None:
    def first_and_last(tag: str) -> tuple[float, float]:
        svg = spoken_sample(tag, "canteen-hand-readings")["chain"].svg
        amounts = {text: left_of(node) for node, text in texts_with_nodes(svg)}
        return amounts["1.93 kg"], amounts["0.79 kg"]

    waste, ice = first_and_last("en")
    assert waste < ice
    mirrored = tuple(chart_style.WIDTH * chart_style.POINTS - x for x in first_and_last("ar"))
    assert mirrored == pytest.approx((waste, ice), abs=0.1)


def texts_with_nodes(svg: str) -> list[tuple[ElementTree.Element, str]]:
    nodes = ElementTree.fromstring(svg).iter(f"{SVG}text")
    return [(node, "".join(node.itertext()).strip()) for node in nodes]


def axis_labels(svg: str) -> list[str]:
    return [text for text in texts(svg) if re.fullmatch(r"−?\d+", text)]


def test_a_longer_log_is_cut_and_said_so(tmp_path: Path) -> None:
    rows = "".join(f"{m},{cooling(m / 60):.1f}\n" for m in range(0, 3000, 10))
    _, _, drawn = trial_of(tmp_path, DATED, log="elapsed [min],cabinet_temperature [degC]\n" + rows)
    assert "the log goes on beyond this chart" in words(drawn["cabinet"].svg)
    assert float(drawn["cabinet"].table[-1][0]) <= 8.1


@pytest.mark.parametrize("text", ["$x^2$ and $", "<b>&\x07\n", "नमस्ते", "a" * 200, "  "])
def test_any_text_of_an_event_can_be_drawn(text: str) -> None:
    trial, results, _ = sample("canteen-single-log")
    assert trial.lit_at is not None
    strange = Event(trial.lit_at + 10_000, "other", text, "log.csv", 5)
    chart = charts.build_charts(dataclasses.replace(trial, events=(*trial.events, strange)), results)[0]
    wanted = chart_style.one_line(text)
    assert len(wanted) <= chart_style.LONGEST_LABEL
    assert not wanted or wanted in texts(chart.svg)


@given(st.lists(st.floats(0, 20_000), max_size=25))
def test_labels_of_events_never_meet(instants: list[float]) -> None:
    trial, _, _ = sample("canteen-single-log")
    assert trial.lit_at is not None
    events = tuple(Event(trial.lit_at + at, "other", f"event {i}", "log.csv", i) for i, at in enumerate(instants))
    trial = dataclasses.replace(trial, events=events, placed_at=None)
    cabinet = trial.column("cabinet_temperature")
    assert cabinet is not None
    hours = chart_hours.Hours.over(trial, [cabinet])
    marks = chart_hours.event_marks(trial, hours, 5.7, str)
    assert len(marks) == len(events)
    boxes = []
    for mark in marks:
        long = chart_style.width_of(mark.text) / 5.7
        boxes.append(
            (
                mark,
                mark.share - long if mark.to_left else mark.share,
                mark.share if mark.to_left else mark.share + long,
            )
        )
    for i, (one, left, right) in enumerate(boxes):
        for other, start, end in boxes[i + 1 :]:
            assert one.level is None or one.level != other.level or right <= start or end <= left


def test_sentences_are_said_in_the_language_asked_for() -> None:
    trial, results, english = sample("canteen-hand-readings")

    def loud(message: Message) -> str:
        return str(message).upper()

    for chart in charts.build_charts(trial, results, loud):
        letters = [text for text in texts(chart.svg) if re.search("[a-z]", re.sub(r"\b(kg|MJ|L|h)\b", "", text))]
        assert letters == []
        assert chart.table != english[chart.name].table
        assert str(chart.title) == str(english[chart.name].title)


@pytest.mark.parametrize(
    ("value", "low", "high", "expected"),
    [
        (275.88, 270.56, 281.19, ("276", "271", "281")),
        (5.6025, 5.2000, 6.0051, ("5.6", "5.2", "6.0")),
        (0.894, 0.725, 1.063, ("0.89", "0.73", "1.06")),
        (1.2345, 1.2344, 1.2346, ("1.2345", "1.2344", "1.2346")),
        (2.0, 2.0, 2.0, ("2", "2", "2")),
    ],
)
def test_numbers_of_the_chain_follow_their_range(
    value: float, low: float, high: float, expected: tuple[str, str, str]
) -> None:
    assert rounding.about(value, low, high) == expected


@given(st.lists(st.floats(-20, 40), min_size=1, max_size=6))
def test_labels_at_line_ends_stand_apart(wanted: list[float]) -> None:
    heights = chart_style.spread_out(wanted, 3.0)
    assert sorted(range(len(wanted)), key=lambda i: wanted[i]) == sorted(range(len(wanted)), key=lambda i: heights[i])
    if len(wanted) == 2:
        assert abs(heights[1] - heights[0]) >= 3.0 - 1e-9


def test_a_free_place_avoids_the_line() -> None:
    drawing = chart_style.Drawing(figsize=(chart_style.WIDTH, chart_style.HEIGHT))
    axes = chart_style.panel(drawing, 0.1, 0.9, 0.1, 0.9)
    axes.set(xlim=(0, 1), ylim=(0, 1))
    room = chart_style.Room(axes)
    room.take_line(np.array([0.0, 1.0]), np.array([0.9, 0.9]))
    first = room.place("a label", 0.4)
    second = room.place("a label", 0.4)
    half = chart_style.SMALL_TEXT_SIZE / 72 / room.height / 2
    assert abs(first - 0.9) > half
    assert abs(second - first) > 2 * half
    assert not room.is_free(0.4, 0.89, "a label")


def test_readings_in_doubt_are_open_diamonds_and_stay_in_the_line(tmp_path: Path) -> None:
    rows = log_of(list(range(0, 300, 10))).splitlines()
    rows[13] = f"{rows[13].split(',')[0]},66.0"
    sheet = '[burner]\nlit = "2026-03-14 09:00"\nout = "2026-03-14 14:00"\n'
    trial, _, found = trial_of(tmp_path, sheet, log="\n".join([*rows, ""]))
    assert trial.readings["cabinet_temperature"].is_questionable.sum() == 1
    chart = found["cabinet"]
    assert "in doubt, left out of fits" in words(chart.svg)
    assert "Readings in doubt are marked with open diamonds: 1." in str(chart.alt)
    assert any("66.0" in cell for row in chart.table for cell in row)


def test_a_sheet_that_was_drawn_on_before_gives_the_same_chart() -> None:
    names = ("canteen-single-log", "canteen-refill-not-solid", "canteen-aborted", "canteen-running-meter")
    found = [sample(name)[:2] for name in names]
    chart_style._WIPED.clear()
    fresh = []
    for trial, results in found:
        fresh.append([chart.svg for chart in charts.build_charts(trial, results)])
        chart_style._WIPED.clear()
    for order in (range(4), range(3, -1, -1)):
        for i in order:
            assert [chart.svg for chart in charts.build_charts(*found[i])] == fresh[i]
    # Each name has one sheet, with nothing left on it.
    assert {name: len(sheets) for name, sheets in chart_style._WIPED.items()} == dict.fromkeys(chart_style._WIPED, 1)
    assert all(not axes.has_data() for (sheet,) in chart_style._WIPED.values() for axes in sheet.spare)


def test_settings_and_folders_of_the_drawing_library_are_nobodys_business(tmp_path: Path) -> None:
    (tmp_path / "matplotlibrc").write_text("axes.labelpad: 40\nno setting\n", encoding="utf-8")
    (tmp_path / "file").touch()
    nowhere = str(tmp_path / "file" / "nowhere")  # not even the super-user can write there
    where = f"import sys; sys.path.insert(0, {str(ROOT)!r})"
    asked = f"{where}; import reportgen.charts.style, matplotlib; print(matplotlib.rcParams)"
    told = [
        subprocess.run([sys.executable, "-c", asked], cwd=cwd, env=env, capture_output=True, text=True, check=True)
        for cwd, env in ((ROOT, os.environ), (tmp_path, {**os.environ, "HOME": nowhere, "MPLCONFIGDIR": nowhere}))
    ]
    assert told[0].stdout == told[1].stdout
    assert [done.stderr for done in told] == ["", ""]
