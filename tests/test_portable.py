"""The same on Linux, macOS and Windows: what only one system has, names, consoles, line ends, zones, workers."""

from __future__ import annotations

import ast
import datetime as dt
import io
import json
import os
import pickle
import re
import shutil
import subprocess
import sys
import unicodedata
import zoneinfo
from pathlib import Path
from urllib.parse import unquote

import like_windows
import pytest
from conftest import ROOT, SAMPLES, computed_sample

from reportgen.batch import workers
from reportgen.batch.find import places_of
from reportgen.batch.order import Order
from reportgen.cli import run
from reportgen.errors import OutputError
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.results_file import results_document
from reportgen.trial import wall_clock
from reportgen.write import PAUSES, write_files

PACKAGE = ROOT / "reportgen"
SAMPLE = SAMPLES / "canteen-hand-readings"
#: What only one system has, as an expression or a module that is imported.
ONE_SYSTEM = {
    *like_windows.MODULES,
    *(f"os.{name}" for name in like_windows.OF_OS),
    *(f"signal.{name}" for name in like_windows.OF_SIGNAL),
    *("msvcrt", "winreg", "winsound", "time.tzset", "os.startfile", "shutil.chown", "socket.AF_UNIX"),
}
#: What does one thing on one system and another elsewhere: line ends of text files, moments before 1970, the locale.
DIFFERS = {"write_text", "fromtimestamp", "utcfromtimestamp", "getlocale", "setlocale"}
#: Folders whose names some system or program takes badly; not all of them can be made everywhere.
ODD_NAMES = (
    "two words",
    "Küche ❄️ मंडी سوق",
    "n" * 200,
    "CON",
    "dots..",
    "-rf",
    "it's 50% #1? & <b>",
    "Run 1",
    "run 1",
)


def unguarded(tree: ast.Module) -> list[str]:
    """Return what only one system has and no condition on the system, or on its being there, stands around."""
    found: list[tuple[ast.AST, str]] = []
    for node in ast.walk(tree):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [str(node.module), *(f"{node.module}.{alias.name}" for alias in node.names)]
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            names = [f"{node.value.id}.{node.attr}"]
        found += [(node, name) for name in names if name in ONE_SYSTEM]
    guarded = {id(child) for node in ast.walk(tree) if found and asks(node) for child in ast.walk(node)}
    return [name for node, name in found if id(node) not in guarded]


def asks(node: ast.AST) -> bool:
    """Return whether a part of a program goes by the system, or by what it has."""
    if isinstance(node, ast.Try):
        return any(handler.type is not None and "ImportError" in ast.unparse(handler.type) for handler in node.handlers)
    if not isinstance(node, ast.If | ast.IfExp | ast.BoolOp):
        return False
    condition = ast.unparse(node if isinstance(node, ast.BoolOp) else node.test)
    return any(name in condition for name in ("sys.platform", "os.name", "hasattr("))


def differing(tree: ast.Module) -> list[str]:
    """Return calls that do one thing on one system and another elsewhere, text files opened as such among them."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute | ast.Name):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
        modes = [arg.value for arg in node.args if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
        opens_text = name in ("open", "fdopen") and (not node.args or (bool(modes) and "b" not in modes[-1]))
        if name in DIFFERS or opens_text or (name == "read_text" and not node.args and not node.keywords):
            found.append(ast.unparse(node))
    return found


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import fcntl", ["fcntl"]),
        ("from os import fork", ["os.fork"]),
        ("def f():\n    os.kill(1, signal.SIGKILL)", ["signal.SIGKILL"]),
        ("if sys.platform == 'win32':\n    import msvcrt\nelse:\n    import fcntl", []),
        ("root = hasattr(os, 'geteuid') and os.geteuid() == 0", []),
        ("try:\n    import resource\nexcept ImportError:\n    resource = None", []),
        ("if ready:\n    import resource", ["resource"]),
    ],
)
def test_what_only_one_system_has_is_seen(source: str, found: list[str]) -> None:
    assert unguarded(ast.parse(source)) == found


@pytest.mark.parametrize(
    ("source", "is_found"),
    [
        ("path.read_text()", True),
        ("path.read_text(encoding='utf-8')", False),
        ("path.write_text(page, encoding='utf-8')", True),
        ("path.open()", True),
        ("path.open('w')", True),
        ("path.open('rb')", False),
        ("Image.open(data)", False),
        ("os.open(out, os.O_RDONLY)", False),
        ("os.fdopen(handle, 'w')", True),
        ("dt.datetime.fromtimestamp(at, zone)", True),
    ],
)
def test_what_differs_between_systems_is_seen(source: str, is_found: bool) -> None:
    assert bool(differing(ast.parse(source))) is is_found


def test_the_program_calls_nothing_that_one_system_lacks_or_does_otherwise() -> None:
    modules = sorted(PACKAGE.rglob("*.py"))
    assert len(modules) > 100
    found = {}
    for path in modules:
        tree = ast.parse(path.read_bytes())
        found[path.relative_to(ROOT).as_posix()] = [*unguarded(tree), *differing(tree)]
    assert {name: calls for name, calls in found.items() if calls} == {}


def test_a_clock_that_stood_before_1970_is_shown() -> None:
    mauritius = zoneinfo.ZoneInfo("Indian/Mauritius")
    assert wall_clock(-14_400.0, mauritius) == dt.datetime(1970, 1, 1, tzinfo=mauritius)
    # In the hour that comes twice as summer time ends, the second time round.
    berlin = zoneinfo.ZoneInfo("Europe/Berlin")
    assert wall_clock(1_792_890_000.0, berlin).fold == dt.datetime.fromtimestamp(1_792_890_000, berlin).fold == 1


def written_by(out: Path) -> dict[str, bytes]:
    """Return what stands in a folder of reports, but records and lock."""
    files = {path.relative_to(out).as_posix(): path for path in out.rglob("*") if path.is_file()}
    return {
        name: path.read_bytes() for name, path in files.items() if name != ".lock" and not name.startswith(".done/")
    }


def test_a_checkout_with_other_line_ends_on_a_bare_system_writes_the_same_bytes(tmp_path: Path) -> None:
    checkout, season = tmp_path / "checkout", tmp_path / "season"
    for name in ("reportgen", "templates"):
        shutil.copytree(ROOT / name, checkout / name, ignore=shutil.ignore_patterns("__pycache__"))
    for path in (path for path in checkout.rglob("*") if path.is_file()):
        path.write_bytes(path.read_bytes().replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    shutil.copytree(SAMPLE, season / "Run 1")
    bare = {
        **os.environ,
        "PYTHONPATH": str(checkout),
        "PYTHONIOENCODING": "cp1252",
        "PYTHONUTF8": "0",
        "PYTHONTZPATH": "",
        "LC_ALL": "C",
    }
    here, there = tmp_path / "here", tmp_path / "there"
    arguments = ["batch", str(season), "--language", "fr", "--jobs", "1"]
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "like_windows.py"), *arguments, "--out", str(there)],
        env=bare,
        cwd=tmp_path,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode(errors="replace")
    assert (there / ".lock").is_file(), "it did not run as on Windows"
    assert run([*arguments, "--out", str(here)]) == 0
    expected, found = written_by(here), written_by(there)
    assert sorted(found) == sorted(expected)
    assert [name for name, data in expected.items() if found[name] != data] == []
    assert [name for name, data in expected.items() if b"\r" in data] == []


@pytest.mark.parametrize("name", ["canteen-hand-readings", "canteen-logger-and-hand"])
def test_logs_with_other_line_ends_give_the_same_results(name: str, tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / name, tmp_path / name)
    for path in [*(tmp_path / name).glob("*.csv"), tmp_path / name / "trial.toml"]:
        lines = path.read_bytes()
        path.write_bytes(lines.replace(b"\r\n", b"\n") if b"\r\n" in lines else lines.replace(b"\n", b"\r\n"))
    trial = read_trial(tmp_path / name)
    found, expected = results_document(trial, compute(trial)), results_document(*computed_sample(name))
    assert [source["sha256"] for source in found.pop("inputs")] != [s["sha256"] for s in expected.pop("inputs")]
    assert found == expected


def test_zones_are_known_where_the_system_has_none() -> None:
    before = zoneinfo.TZPATH
    try:
        zoneinfo.reset_tzpath(to=())
        zone = zoneinfo.ZoneInfo.no_cache("Indian/Mauritius")
    finally:
        zoneinfo.reset_tzpath(to=before)
    assert zone.utcoffset(dt.datetime(2026, 3, 14)) == dt.timedelta(hours=4)


class Console(io.TextIOWrapper):
    """A console, or a file that output is sent to, with an encoding of its own."""

    def __init__(self, encoding: str) -> None:
        super().__init__(io.BytesIO(), encoding=encoding, errors="strict", newline="\n")

    def shown(self) -> str:
        self.flush()
        # Click takes a console that knows nothing but ASCII for one that was set up wrongly, and writes UTF-8 to it.
        return self.buffer.getvalue().decode("utf-8" if self.encoding == "ascii" else self.encoding)


def on_console(encoding: str, arguments: list[str], monkeypatch: pytest.MonkeyPatch) -> tuple[int, str, str]:
    """Return the exit status of a command, its output and what it said beside."""
    output, beside = Console(encoding), Console(encoding)
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", output)
        patch.setattr(sys, "stderr", beside)
        status = run(arguments)
    return status, output.shown(), beside.shown()


@pytest.fixture(scope="module")
def frozen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a trial that takes little work and goes below 0 °C, in a folder whose name few encodings have."""
    folder = tmp_path_factory.mktemp("trials") / "Küche 冰"
    folder.mkdir()
    (folder / "trial.toml").write_text(
        'title = "Küche 冰 – 1"\ndate = 2026-03-14\ntime_zone = "UTC"\n', encoding="utf-8"
    )
    rows = [f"{9 + step // 6:02}:{step % 6}0,{28 * 0.88**step - 8:.1f},{28}" for step in range(24)]
    text = "time,cabinet_temperature [degC],ambient_temperature [degC],event\n09:00,20.0,28,burner lit\n"
    (folder / "log.csv").write_text(text + ",\n".join(rows[1:]) + ",burner out\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "cp1256"])
def test_no_console_stops_a_command_or_loses_a_minus(
    encoding: str, frozen: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for command in (["status", str(frozen)], ["check", str(frozen)], ["plan", "--water", "0.5 kg"]):
        for language in ("en", "ar"):
            status, output, _ = on_console(encoding, [*command, "--language", language], monkeypatch)
            assert status == 0
            assert output.strip()
            if language == "en":
                assert "?" not in output.replace("K?che ?", ""), output
            elif encoding == "cp1256":
                assert "ا" in output
    _, output, _ = on_console(encoding, ["status", str(frozen)], monkeypatch)
    assert re.search(r"[-\u2212]6 \S{0,4}C", output), output
    status, _, beside = on_console(encoding, ["check", str(frozen / "nowhere")], monkeypatch)
    assert status == 1
    assert "there is no such folder" in beside


@pytest.mark.parametrize("encoding", ["cp1252", "utf-8"])
def test_json_for_other_programs_is_whole_in_any_encoding(
    encoding: str, frozen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "冰"
    _, output, _ = on_console(
        encoding, ["report", str(frozen), "--out", str(out), "--format", "md", "--json"], monkeypatch
    )
    (trial,) = json.loads(output)["trials"]
    assert trial["folder"] == str(frozen)
    assert all(Path(path).is_file() for path in trial["paths"])
    assert ("冰" in output) is (encoding == "utf-8")


def plain_trial(folder: Path) -> Path:
    """Write a trial that takes little work."""
    folder.mkdir(parents=True)
    (folder / "trial.toml").write_text('title = "t"\n', encoding="utf-8")
    (folder / "log.csv").write_text("time,note\n2026-03-14T09:00,hello\n", encoding="utf-8")
    return folder


def test_folders_of_any_name_are_reported_and_found(tmp_path: Path) -> None:
    season, out = tmp_path / "season", tmp_path / "out"
    made = set()
    for name in ODD_NAMES:
        try:
            made.add(plain_trial(season / name).resolve().name)
        except OSError:
            continue  # this system has no such name, and so no such trial
    assert run(["batch", str(season), "--out", str(out), "--jobs", "1"]) == 0
    links = re.findall(r'<th scope="row"><a href="([^"]*)"', (out / "index.html").read_text(encoding="utf-8"))
    assert len(links) == len(made) >= 3
    assert all("\\" not in link and (out / unquote(link)).is_file() for link in links)
    documents = [json.loads((out / unquote(link)).with_name("results.json").read_bytes()) for link in links]
    assert {document["trial"]["folder"] for document in documents} == made
    # Where case does not count, each still has a place of its own.
    assert len({unicodedata.normalize("NFC", name.casefold()) for name in written_by(out)}) == len(written_by(out))


@pytest.mark.skipif(os.name != "posix", reason="elsewhere names are text")
def test_names_that_are_no_text_are_reported(tmp_path: Path) -> None:
    season, out = tmp_path / "season", tmp_path / "out"
    try:
        folder = plain_trial(season / os.fsdecode(b"K\xfcche"))
        shutil.copy(folder / "log.csv", folder / os.fsdecode(b"l\xfcg.csv"))
    except OSError:
        pytest.skip("this file system takes names of text only")
    assert run(["batch", str(season), "--out", str(out), "--jobs", "1"]) == 0
    (link,) = re.findall(r'<th scope="row"><a href="([^"]*)"', (out / "index.html").read_text(encoding="utf-8"))
    assert (out / unquote(link, errors="surrogateescape")).is_file()


@pytest.mark.parametrize(
    ("trials", "places"),
    [
        (("Run 1", "run 1"), ("Run 1", "run 1-2")),
        (("Run", "run", "run-2"), ("Run", "run-3", "run-2")),
        (("spring/A", "Spring/a"), ("spring/A", "Spring/a-2")),
        (("K\u00fcche", "Ku\u0308che"), ("K\u00fcche", "Ku\u0308che-2")),
        (("run", "run."), ("run", "run.-2")),
        ((".", "season", "other"), ("season-2", "season", "other")),
        ((".", "Season/first"), ("season-2", "Season/first")),
        (("a", "a/b"), ("a", "a/b")),
    ],
)
def test_no_two_trials_share_a_place_on_any_system(trials: tuple[str, ...], places: tuple[str, ...]) -> None:
    season = Path.cwd() / "season"
    found = places_of([season / trial for trial in trials], season)
    assert [place.as_posix() for place in found.values()] == list(places)


def locked(monkeypatch: pytest.MonkeyPatch, times: int) -> list[float]:
    """Let another program hold every file that is to be replaced, for so many tries; return the pauses between."""
    pauses: list[float] = []
    replace = Path.replace

    def refusing(self: Path, target: Path) -> Path:
        if len(pauses) < times:
            raise PermissionError(13, "Access is denied")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", refusing)
    monkeypatch.setattr("reportgen.write.time.sleep", pauses.append)
    return pauses


def test_a_file_that_is_open_elsewhere_is_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "report.html").write_bytes(b"old")
    pauses = locked(monkeypatch, times=2)
    write_files(tmp_path, {"report.html": "new"})
    assert pauses == list(PAUSES[:2])
    assert (tmp_path / "report.html").read_bytes() == b"new"


def test_a_file_that_stays_open_elsewhere_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "report.html").write_bytes(b"old")
    pauses = locked(monkeypatch, times=99)
    with pytest.raises(
        OutputError, match=r"report\.html: cannot be written .*another program may hold it open"
    ) as caught:
        write_files(tmp_path, {"report.html": "new"})
    assert caught.value.code == "output-not-written"
    assert pauses == list(PAUSES)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"report.html": b"old"}


def test_workers_start_afresh_as_on_windows_and_are_no_more_than_it_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    task = workers.Task(1, Order(SAMPLE, Path("out"), ("md",)), Path("out"), "key")
    assert pickle.loads(pickle.dumps(task)) == task
    monkeypatch.setattr(sys, "platform", "win32")
    with workers._pool(500) as pool:
        assert pool._mp_context.get_start_method() == "spawn"
        assert pool._max_workers == workers.MOST_ON_WINDOWS


def test_a_report_in_english_loads_no_languages(tmp_path: Path) -> None:
    arguments = ["report", str(SAMPLE), "--out", str(tmp_path), "--format", "md"]
    code = f"import sys; from reportgen.cli import run; sys.exit(run({arguments!r}) or 'babel' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stderr
