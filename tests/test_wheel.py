"""The source archive and the wheel made from it carry all they need: installed elsewhere, it writes a report."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

from conftest import ROOT, SAMPLES


def test_an_installed_wheel_writes_a_report(tmp_path: Path) -> None:
    built = tmp_path / "built"
    subprocess.run(
        [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(built), str(ROOT)],
        check=True,
        capture_output=True,
        cwd=tmp_path,
    )
    (archive,) = built.glob("trial_reportgen-*.tar.gz")
    with tarfile.open(archive) as packed:
        inside_archive = {name.partition("/")[2] for name in packed.getnames()}
    assert {
        ".ci/run",
        "DEVELOPERS.md",
        "README.md",
        "pyproject.toml",
        "templates/report.html",
        "tests/conftest.py",
    } <= inside_archive
    assert "sample_trials/canteen-hand-readings/trial.toml" in inside_archive
    (wheel,) = built.glob("trial_reportgen-*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    files = {
        *(
            f"reportgen/{path.relative_to(ROOT).as_posix()}"
            for path in (ROOT / "templates").rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        ),
        *(path.relative_to(ROOT).as_posix() for path in (ROOT / "reportgen").rglob("*.py")),
    }
    assert {f"reportgen/templates/languages/{tag}.po" for tag in ("ar", "es", "fr", "sw")} <= files
    assert files | {"reportgen/results.schema.json"} <= set(names)
    assert not [name for name in names if "__pycache__" in name]
    rooms = {name.partition("/")[0] for name in names}
    assert {room for room in rooms if not room.endswith(".dist-info")} == {"reportgen"}, "it carries more than it is"

    # The dependencies are those of this environment: what is tested is the wheel, not the network.
    home = tmp_path / "environment"
    venv.create(home)
    programs = home / ("Scripts" if sys.platform == "win32" else "bin")
    (site,) = [*home.glob("lib/python*/site-packages"), *home.glob("Lib/site-packages")]
    here = [path for path in map(Path, sys.path) if path.name == "site-packages"]
    (site / "dependencies.pth").write_text("\n".join(str(path) for path in here) + "\n", encoding="utf-8")
    subprocess.run(
        [sys.executable, "-m", "pip", "--python", str(home), "install", "--no-deps", "--no-index", str(wheel)],
        check=True,
        capture_output=True,
        cwd=tmp_path,
    )
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()

    def inside(*command: str) -> str:
        done = subprocess.run(command, check=False, capture_output=True, text=True, cwd=elsewhere)
        assert done.returncode == 0, done.stderr
        return done.stdout

    place = inside(str(programs / "python"), "-c", "import reportgen; print(reportgen.__file__)")
    assert Path(place.strip()).is_relative_to(home), "the checkout was used, not the wheel"
    inside(str(programs / "reportgen"), "report", str(SAMPLES / "canteen-hand-readings"), "--out", "out")
    assert (elsewhere / "out" / "report.html").read_text(encoding="utf-8").count("<figure>") >= 3
