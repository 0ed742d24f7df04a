"""A report on paper: its very page, printed to PDF by a browser of the Chromium family that is installed anyway."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from reportgen.errors import OutputError

#: Names under which such browsers are installed, in the order in which they are tried.
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
#: Names the browser to use, by path or by name.
VARIABLE = "REPORTGEN_BROWSER"
#: A report takes one or two seconds; a browser that hangs must not hold up a season [s] (ours).
TIME_LIMIT = 90
#: The page stands by itself, so the browser is given no way out; it asks nothing, keeps nothing, and says no name.
FLAGS = (
    "--headless",
    "--disable-gpu",
    "--disable-extensions",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--no-default-browser-check",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--proxy-server=127.0.0.1:9",
    "--force-color-profile=srgb",
    "--lang=en-US",
    "--user-agent=reportgen",
    "--no-pdf-header-footer",
    "--print-to-pdf-no-header",
)
#: What the browser calls the parts of the page for those who have it read to them: counted as it happens to make them.
_PART = re.compile(rb"\(node\d{8}\)")
_DATE = re.compile(rb"\(D:\d{14}[^()]{0,8}\)")
_DATES = re.compile(rb"/(?:CreationDate|ModDate)\s*\(D:\d{14}[^()]{0,8}\)")


def find_browser() -> str:
    """Return the browser that prints: the one that the environment names, else the first that is found on the path.

    Raises
    ------
    OutputError
        If there is none.
    """
    wanted = os.environ.get(VARIABLE)
    found = next(filter(None, map(shutil.which, [wanted] if wanted else BROWSERS)), None)
    if found is None:
        seen = f'{VARIABLE} names "{wanted}", which cannot be run' if wanted else "no browser that prints was found"
        raise OutputError(
            "no-browser",
            f"report.pdf: {seen}.\n"
            f"Install Chromium, Chrome or Edge, or let {VARIABLE} name one; or open report.html and print it.",
        )
    return found


def print_pdf(page: str, issued: dt.date | None = None) -> bytes:
    """Return an HTML page as PDF; the date of the file is that of issue, and it has none without one.

    Equal pages give equal bytes with the same version of the browser and the same fonts.

    Raises
    ------
    OutputError
        If there is no browser, or it prints nothing whole within `TIME_LIMIT`.
    """
    browser = find_browser()
    try:
        data, said = _printed(browser, page)
    except OSError as error:
        raise OutputError(
            "pdf-not-printed",
            f"report.pdf: the folder for temporary files cannot be used ({error.strerror or error}).\n"
            "Free some of its disk, or let TMPDIR name another folder.",
        ) from error
    if not (data.startswith(b"%PDF-") and data.rstrip().endswith(b"%%EOF")):
        raise OutputError(
            "pdf-not-printed", f"report.pdf: {browser} printed nothing whole.\n{_last_line(said)}".strip()
        )
    return with_date(renumbered(data), issued)


def _printed(browser: str, page: str) -> tuple[bytes, str]:
    """Return what the browser made of a page, and what it said."""
    # A browser that is just ending may still write into its profile, which must not fail a report.
    with tempfile.TemporaryDirectory(prefix="reportgen-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        (folder / "page.html").write_bytes(page.encode())
        target = folder / "page.pdf"
        said = _run(
            [
                browser,
                *FLAGS,
                *_no_sandbox(),
                f"--user-data-dir={folder / 'profile'}",
                f"--print-to-pdf={target}",
                (folder / "page.html").as_uri(),
            ],
            folder,
        )
        return target.read_bytes() if target.is_file() else b"", said


def renumbered(data: bytes) -> bytes:
    """Return a PDF whose parts are counted in order: the browser may leave out a number in one run and not in another.

    The order and the number of bytes stay.
    """
    numbers = {name: n for n, name in enumerate(sorted(set(_PART.findall(data))), start=1)}
    return _PART.sub(lambda match: b"(node%08d)" % numbers[match[0]], data)


def with_date(data: bytes, date: dt.date | None) -> bytes:
    """Return a PDF with that date in place of when it was printed; blanks where there is none.

    The number of bytes stays, since a PDF finds its parts by counting them.
    """
    stamp = f"D:{date:%Y%m%d}000000+00'00'".encode() if date is not None else None

    def dated(match: re.Match[bytes]) -> bytes:
        if stamp is None:
            return b" " * len(match[0])
        return _DATE.sub(lambda inner: b"(" + stamp.ljust(len(inner[0]) - 2)[: len(inner[0]) - 2] + b")", match[0])

    return _DATES.sub(dated, data)


def _no_sandbox() -> list[str]:
    """Return the flag without which the browser refuses to run as root, and nothing for anybody else."""
    return ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []


def _run(command: list[str], folder: Path) -> str:
    """Run the browser and return what it said; all its processes end with it.

    Raises
    ------
    OutputError
        If it cannot be started or takes longer than `TIME_LIMIT`.
    """
    with (folder / "said").open("w+b") as said:
        try:
            process = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=said, stderr=said, cwd=folder, start_new_session=True
            )
        except OSError as error:
            raise OutputError(
                "pdf-not-printed", f"report.pdf: {command[0]} cannot be started ({error.strerror or error})."
            ) from error
        try:
            process.wait(TIME_LIMIT)
        except subprocess.TimeoutExpired as error:
            raise OutputError(
                "pdf-not-printed",
                f"report.pdf: {command[0]} printed nothing within {TIME_LIMIT} s.\nOpen report.html and print it.",
            ) from error
        finally:
            _end(process)
        said.seek(0)
        return said.read().decode(errors="replace")


def _end(process: subprocess.Popen[bytes]) -> None:
    """End the browser and what it started: its own group of processes, which nobody else is in."""
    if sys.platform == "win32":
        process.kill()
    else:
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def _last_line(said: str) -> str:
    """Return the last line that the browser said, cut to what a line of an error holds."""
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    return f"It said: {lines[-1][:200]}" if lines else ""
