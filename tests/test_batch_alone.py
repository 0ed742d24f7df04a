"""A process beside draws the charts of a report: nobody sees that it did, nor that it could not."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import types
from pathlib import Path

import pytest
from conftest import ROOT, SAMPLES, computed_sample

from reportgen import charts
from reportgen.batch import alone
from reportgen.batch.alone import drawing_beside
from reportgen.batch.order import Order
from reportgen.batch.reckon import reckon
from reportgen.batch.report import compose, make_report
from reportgen.batch.workers import DRAWING
from reportgen.speech import Manner, load, speaking

SAMPLE = "canteen-hand-readings"
#: What a process runs that has loaded nothing and whose charts are as it is told.
QUICK = """
import sys
sys.path[:] = {{path!a}}
from reportgen import charts
from reportgen.batch import alone
class Odd(Exception):
    def __init__(self, one, other):
        super().__init__(one + other)
def build_charts(trial, results):
    {does}
charts.build_charts, alone.DRAWING = build_charts, ()
alone.draw({{manner!a}})
"""
ORDER = Order(SAMPLES / SAMPLE, Path("out"))
HERE, BESIDE = "drawn here", "drawn beside"


@pytest.fixture(autouse=True)
def two_cores_and_nothing_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1}, raising=False)
    monkeypatch.delitem(sys.modules, DRAWING[0], raising=False)


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw here what no other process draws: quickly, and so that it shows."""
    monkeypatch.setattr(charts, "build_charts", lambda *_: HERE)


def drawn() -> object:
    """Return the charts of a sample, and see to it that no process is left."""
    with drawing_beside(ORDER) as drawing:
        process = drawing._process
        drawing.begin(*computed_sample(SAMPLE))
        found = drawing.charts(*computed_sample(SAMPLE))
    assert process is None or process.returncode is not None
    return found


def test_a_report_is_the_same_whoever_draws(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "languages").mkdir()
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n'
    (tmp_path / "languages" / "pt.po").write_text(head, encoding="utf-8")
    # What lacks a translation is counted in the report, in its charts as well.
    order = Order(SAMPLES / SAMPLE, tmp_path / "out", manner=Manner("pt", folder=tmp_path))
    with drawing_beside(order) as drawing, monkeypatch.context() as patched, speaking(load(order.manner)):
        patched.setattr(charts, "build_charts", lambda *_: pytest.fail("drawn here"))
        reckoned = reckon(order, is_alone=True)
        drawing.begin(reckoned.trial, reckoned.results)
        beside = compose(order, reckoned, drawing.charts)
    expected = make_report(order)
    assert beside == expected
    assert "charts/chain.svg" in expected[1]


@pytest.mark.usefixtures("here")
def test_what_another_process_draws_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(alone, "START", QUICK.format(does="return 'drawn beside'"))
    assert drawn() == BESIDE


@pytest.mark.parametrize(
    "does",
    [
        "raise MemoryError",
        "raise OSError(24, 'Too many open files')",
        "raise Odd('cannot be', 'sent')",
        "import os; os._exit(9)",
        "import os, pickle; os.write(1, pickle.dumps('cut o' + 'ff')[:-4]); os._exit(9)",
        "import time; time.sleep(99)",
    ],
)
@pytest.mark.usefixtures("here")
def test_what_another_process_cannot_draw_is_drawn_here(does: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(alone, "START", QUICK.format(does=does))
    monkeypatch.setattr(alone, "PATIENCE", 0.1 if "sleep" in does else 60.0)
    assert drawn() == HERE


@pytest.mark.usefixtures("here")
def test_a_process_that_ends_before_it_is_asked_is_not_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(alone, "START", "raise SystemExit(3)")
    with drawing_beside(ORDER) as drawing:
        assert drawing._process is not None
        assert drawing._process.wait() == 3
        drawing.begin(*computed_sample(SAMPLE))
        assert drawing.charts(*computed_sample(SAMPLE)) == HERE


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("lack", ["process", "thread", "core", "library", "python", "python of its own"])
def test_where_the_system_gives_no_other_process_it_is_drawn_here(lack: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> object:
        raise {"process": BlockingIOError, "thread": RuntimeError}.get(lack, AssertionError)

    if lack == "core":
        monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0}, raising=False)
    if lack == "library":  # that is not loaded yet
        monkeypatch.setitem(sys.modules, DRAWING[0], types.ModuleType(DRAWING[0]))
    if lack.startswith("python"):
        monkeypatch.setattr(sys, *(("executable", "") if lack == "python" else ("frozen", True)), raising=False)
    if lack == "thread":
        monkeypatch.setattr(alone.ThreadPoolExecutor, "submit", refuse)
    else:
        monkeypatch.setattr(subprocess, "Popen", refuse)
    assert drawn() == HERE


@pytest.mark.usefixtures("here")
def test_what_goes_wrong_in_drawing_is_met_as_it_is_and_not_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(alone, "START", QUICK.format(does="raise ValueError('a scale from 3 to 3')"))
    with pytest.raises(ValueError, match="a scale from 3 to 3"):
        drawn()


def test_an_interrupted_report_leaves_no_process() -> None:
    with pytest.raises(KeyboardInterrupt), drawing_beside(ORDER) as drawing:
        process = drawing._process
        drawing.begin(*computed_sample(SAMPLE))
        raise KeyboardInterrupt
    assert process is not None
    assert process.returncode is not None


#: A script that asks for charts as it is loaded, and says that it has been.
SCRIPT = f"""
import os, sys, time
sys.path.insert(0, {str(ROOT)!r})
from reportgen.batch import alone
from reportgen.batch.order import Order
alone.START = alone.START.replace("import draw;", "import draw; import reportgen.batch.alone as a; a.DRAWING = ();")
os.sched_getaffinity = lambda _: {{0, 1}}
with alone.drawing_beside(Order(None, None)) as drawing:
    print(drawing._process.pid, flush=True)
    if "wait" in sys.argv:
        time.sleep(99)
    drawing.begin(None, None)
    try:
        drawing.charts(None, None)
    except AttributeError:
        print("asked in vain")
"""


def test_a_script_that_asks_for_a_report_runs_once() -> None:
    done = subprocess.run([sys.executable, "-"], input=SCRIPT, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.stdout.split("\n")[1:] == ["asked in vain", ""]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="nobody is killed there")
def test_a_process_beside_one_that_is_killed_ends() -> None:
    with subprocess.Popen([sys.executable, "-c", SCRIPT, "wait"], stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        beside = int(parent.stdout.readline())
        os.kill(beside, 0)
        parent.kill()
    deadline = time.monotonic() + 30
    while _is_there(beside):
        assert time.monotonic() < deadline
        time.sleep(0.02)


def _is_there(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True
