"""What a batch remembers of what it has done, so that it does nothing twice and continues where it was stopped.

Beside the reports stands a folder of records, one for each report, named by the SHA-256 of all that the report is made
of. A record is written after the report and holds the sum of each of its files: what was cut short has none, and what
was altered since does not agree with it.
"""

from __future__ import annotations

import contextlib
import errno
import functools
import hashlib
import json
import os
import platform
import sys
import tomllib
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from reportgen import __version__
from reportgen.errors import OutputError
from reportgen.speech import Manner
from reportgen.trial import FILE_NAME
from reportgen.write import clear_parts, write_files

#: Folder of the records, below that of the reports.
FOLDER = ".done"
#: Record of what stands over all trials.
OVER_ALL = "over-all"
#: Libraries whose version may show in a report.
LIBRARIES = (
    "babel",
    "jinja2",
    "markdown",
    "matplotlib",
    "nh3",
    "numpy",
    "pandas",
    "pillow",
    "pint",
    "scipy",
    "uncertainties",
)
#: Files larger than this are no logs and no photos; they are told apart by size and time [bytes] (ours).
LARGEST = 200_000_000


@dataclass(frozen=True, slots=True)
class Record:
    """A report that was written: its folder below the output, the sum of each file, and its warnings."""

    report: str
    anonymous: bool
    files: Mapping[str, str]
    warnings: tuple[str, ...] = ()


def sum_of(*parts: object) -> str:
    """Return the SHA-256 of things that can be written as JSON."""
    return hashlib.sha256(json.dumps(parts, sort_keys=True, ensure_ascii=True, default=str).encode()).hexdigest()


@functools.cache
def program() -> str:
    """Return the sum of the program: its version, its own files and templates, and the versions of its libraries."""
    package = Path(__file__).resolve().parent.parent
    sums = [
        (path.relative_to(package.parent).as_posix(), hashlib.sha256(path.read_bytes()).hexdigest())
        for base in (package, package.parent / "templates")
        for path in sorted(base.rglob("*"))
        if path.is_file() and "__pycache__" not in path.parts
    ]
    return sum_of(__version__, platform.python_version(), sys.platform, sums, list(map(metadata.version, LIBRARIES)))


def manner_of(manner: Manner) -> tuple[str, str, list[tuple[str, str]]]:
    """Return how a report is to be spoken, with the sums of the files of the reader's own."""
    own = [] if manner.folder is None else sorted(path for path in manner.folder.rglob("*") if path.is_file())
    sums = [(path.relative_to(manner.folder).as_posix(), file_sum(path)) for path in own if manner.folder is not None]
    return manner.language, manner.units, sums


def inputs_of(folder: Path) -> list[tuple[str, str]]:
    """Return what a trial can be read from: the files of its folder and the photos that its sheet names, with sums."""
    names = {entry.name for entry in os.scandir(folder) if not entry.name.startswith(".")}
    found = []
    for name in sorted(names | _photos(folder / FILE_NAME)):
        path = folder / name
        if not path.is_dir():
            link = str(path.readlink()) if path.is_symlink() else ""
            found.append((name, link + file_sum(path)))
    return found


def _photos(sheet: Path) -> set[str]:
    try:
        stated = tomllib.loads(sheet.read_text(encoding="utf-8-sig")).get("photos", [])
    except (OSError, ValueError, RecursionError):
        return set()  # a sheet that cannot be read makes no report, and so no record
    photos = stated if isinstance(stated, list) else [stated]
    named = [photo.get("file") if isinstance(photo, dict) else photo for photo in photos]
    return {name.replace("\\", "/") for name in named if isinstance(name, str) and "\0" not in name}


def file_sum(path: Path) -> str:
    """Return the SHA-256 of a file; of a huge one its size and time, and of none that it cannot be read."""
    try:
        stat = path.stat()
        if stat.st_size > LARGEST:
            return f"{stat.st_size} bytes {stat.st_mtime_ns}"
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        return f"not read: {error.strerror}"


class Memory:
    """The records below one output folder."""

    def __init__(self, out: Path) -> None:
        self.out, self.folder = out, out / FOLDER

    def recall(self, key: str) -> Record | None:
        """Return the record of a report that stands there whole and as it was written; else None."""
        record = self._read(key)
        if record is None or not record.files:
            return None
        here = self.out / record.report
        whole = all(file_sum(here / name) == digest for name, digest in record.files.items())
        return record if whole else None

    def keep(self, key: str, record: Record) -> None:
        """Write a record down.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        content = {
            "report": record.report,
            "anonymous": record.anonymous,
            "files": record.files,
            "warnings": record.warnings,
        }
        write_files(self.folder, {f"{key}.json": json.dumps(content, indent=0)}, is_durable=False)

    def kept(self, key: str) -> Record | None:
        """Return a record as it was written, whatever has become of the report."""
        return self._read(key)

    def folders(self, anonymous: bool) -> set[Path]:
        """Return the folders whose reports are known to be of this kind."""
        records = map(self._read, self._keys())
        return {self.out / record.report for record in records if record is not None and record.anonymous == anonymous}

    def tidy(self, keys: Collection[str]) -> None:
        """Drop the records of reports that were made anew under `keys`, with the files that are no longer in those.

        Records that nobody can read go as well, and what was cut short.
        """
        clear_parts(self.folder)
        old = {key: self._read(key) for key in self._keys() if key not in keys and key != OVER_ALL}
        names: dict[str, set[str]] = {}
        for record in map(self._read, keys) if old else ():
            if record is not None:
                names.setdefault(record.report, set()).update(record.files)
        for key, record in old.items():
            if record is not None and record.report not in names:
                continue  # of a trial that is not here today, or that failed; its report stands
            if record is not None:
                self.clear(record, names[record.report])
            with contextlib.suppress(OSError):  # what stays agrees with no report, or is right
                (self.folder / f"{key}.json").unlink()

    def clear(self, record: Record, kept: Collection[str]) -> None:
        """Remove what was written by a record and is not in `kept`; a file that was altered since is somebody's own."""
        here = self.out / record.report
        for name in record.files.keys() - set(kept):
            path = here / name
            if ".." in path.relative_to(self.out).parts or file_sum(path) != record.files[name]:
                continue
            with contextlib.suppress(OSError):  # a file that cannot be removed is in nobody's way
                path.unlink()
                if path.parent != here:
                    path.parent.rmdir()  # a folder that still holds something stays

    def _keys(self) -> list[str]:
        try:
            return sorted(path.stem for path in self.folder.iterdir() if path.suffix == ".json")
        except OSError:
            return []

    def _read(self, key: str) -> Record | None:
        try:
            found: Any = json.loads((self.folder / f"{key}.json").read_bytes())
            return Record(
                str(found["report"]), bool(found["anonymous"]), dict(found["files"]), tuple(found["warnings"])
            )
        except (OSError, ValueError, KeyError, TypeError):
            return None  # there is none, or it was cut short; what it speaks of is made again


@contextlib.contextmanager
def one_at_a_time(out: Path, wait: Callable[[], object]) -> Iterator[None]:
    """Hold the output folder against other batches; where another one holds it, call `wait` and wait for its end.

    The system lets go of the folder when this process ends, however it ends.

    Raises
    ------
    OutputError
        If the folder cannot be made.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        handle = _open(out)
    except OSError as error:
        raise OutputError("output-not-written", f"{out}: cannot be written to ({error.strerror or error}).") from error
    try:
        if not _lock(handle, wait=False):
            wait()
            _lock(handle, wait=True)
        yield
    finally:
        os.close(handle)


if sys.platform == "win32":
    import msvcrt
    import time

    def _open(out: Path) -> int:
        return os.open(out / ".lock", os.O_RDWR | os.O_CREAT)

    def _lock(handle: int, *, wait: bool) -> bool:
        while True:
            try:
                msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
            except OSError:
                if not wait:
                    return False
                time.sleep(0.5)
            else:
                return True
else:
    import fcntl

    def _open(out: Path) -> int:
        return os.open(out, os.O_RDONLY)

    def _lock(handle: int, *, wait: bool) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            # A file system that knows no locks leaves us with files that are whole each, and that must do.
            return error.errno not in (errno.EWOULDBLOCK, errno.EACCES)
        return True
