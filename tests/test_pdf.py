"""Printing: the page by an installed browser, the same bytes again, whole or not at all."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest
from conftest import SAMPLES

from reportgen import pdf
from reportgen.cli import run
from reportgen.errors import OutputError
from reportgen.pdf import print_pdf, renumbered, with_date

BROWSER = next(filter(None, map(shutil.which, pdf.BROWSERS)), None)
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no browser of the Chromium family is installed")
needs_shell = pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is a shell script")


def stand_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """Put a shell script in place of the browser; ``$target`` is where it should print."""
    path = tmp_path / "browser"
    path.write_text(
        "#!/bin/sh\n"
        'for word in "$@"; do case $word in --print-to-pdf=*) target=${word#--print-to-pdf=};; esac; done\n'
        f"{script}\n"
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv(pdf.VARIABLE, str(path))


@needs_browser
def test_a_report_is_printed_with_page_numbers_and_the_same_again(tmp_path: Path) -> None:
    sample = SAMPLES / "canteen-aborted"
    for name in ("one", "two"):
        assert run(["report", str(sample), "--out", str(tmp_path / name), "--format", "pdf"]) == 0
    assert sorted(path.name for path in (tmp_path / "one").iterdir()) == ["report.pdf", "results.json"]
    data = (tmp_path / "one" / "report.pdf").read_bytes()
    assert data == (tmp_path / "two" / "report.pdf").read_bytes()
    assert not re.search(rb"D:20\d\d", data), "a report without a date of issue bears none"
    pages = len(re.findall(rb"/Type /Page\b(?!s)", data))
    assert pages > 2
    assert b"file://" not in data
    if shutil.which("pdftotext"):
        read = subprocess.run(
            ["pdftotext", "-layout", str(tmp_path / "one" / "report.pdf"), "-"], capture_output=True, check=True
        )
        text = read.stdout.decode()
        for page in range(1, pages + 1):
            assert re.search(rf"^.* {page} ?/ ?{pages}$", text, re.MULTILINE)


def test_the_date_of_issue_is_the_date_of_the_file() -> None:
    data = b"<< /Title (D:1)\n/CreationDate (D:20261125120018+00'00')\n/ModDate (D:20261125120018+00'00')>> xref"
    issued = with_date(data, dt.date(2026, 3, 20))
    assert issued.count(b"(D:20260320000000+00'00')") == 2
    assert len(issued) == len(data)
    without = with_date(data, None)
    assert without.split() == [b"<<", b"/Title", b"(D:1)", b">>", b"xref"]
    assert len(without) == len(data)


def test_numbers_of_parts_are_made_the_same_in_every_run() -> None:
    one = b"/ID (node00000007) /Headers [(node00000003)] /Names [(node00000003) 1 0 R (node00000007) 2 0 R]"
    two = one.replace(b"07)", b"09)").replace(b"03)", b"04)")
    assert renumbered(one) == renumbered(two)
    assert renumbered(one).startswith(b"/ID (node00000002) /Headers [(node00000001)]")
    assert len(renumbered(two)) == len(two)


@needs_shell
def test_a_browser_that_prints_half_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, monkeypatch, "printf '%%PDF-1.4 half' > \"$target\"; echo the disk is full >&2")
    out = tmp_path / "out"
    assert run(["report", str(SAMPLES / "canteen-aborted"), "--out", str(out), "--format", "pdf"]) == 1
    assert not out.exists()
    with pytest.raises(OutputError, match="printed nothing whole") as caught:
        print_pdf("<p>")
    assert caught.value.code == "pdf-not-printed"
    assert str(caught.value).endswith("It said: the disk is full")


@needs_shell
def test_a_browser_that_hangs_is_ended_with_all_it_started(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, monkeypatch, f"sleep 60 & echo $! > {tmp_path}/child; wait")
    monkeypatch.setattr(pdf, "TIME_LIMIT", 1.5)
    with pytest.raises(OutputError, match=r"nothing within 1\.5 s") as caught:
        print_pdf("<p>")
    assert caught.value.code == "pdf-not-printed"
    child = Path("/proc") / (tmp_path / "child").read_text().strip() / "cmdline"
    end = time.monotonic() + 10
    while child.exists() and child.read_bytes() and time.monotonic() < end:
        time.sleep(0.02)  # killed already; a busy machine takes a moment
    assert not child.exists() or not child.read_bytes()


@needs_shell
def test_a_printed_page_is_taken_as_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, monkeypatch, "printf '%%PDF-1.4\\n%%%%EOF\\n' > \"$target\"")
    assert print_pdf("<p>") == b"%PDF-1.4\n%%EOF\n"


def test_without_a_browser_the_error_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv(pdf.VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(OutputError) as caught:
        print_pdf("<p>")
    assert caught.value.code == "no-browser"
    assert "open report.html and print it" in str(caught.value)
    out = tmp_path / "out"
    assert run(["report", str(SAMPLES / "canteen-aborted"), "--out", str(out), "--format", "pdf"]) == 1
    assert len(capsys.readouterr().err.splitlines()) <= 3
    assert not out.exists()
    monkeypatch.setenv(pdf.VARIABLE, "no-such-browser")
    with pytest.raises(OutputError, match='REPORTGEN_BROWSER names "no-such-browser"'):
        print_pdf("<p>")


@pytest.mark.skipif(not hasattr(pdf.os, "geteuid"), reason="this system has no root")
@pytest.mark.parametrize(("user", "flags"), [(0, ["--no-sandbox"]), (1000, [])])
def test_only_root_goes_without_the_sandbox(monkeypatch: pytest.MonkeyPatch, user: int, flags: list[str]) -> None:
    monkeypatch.setattr(pdf.os, "geteuid", lambda: user)
    assert pdf._no_sandbox() == flags
