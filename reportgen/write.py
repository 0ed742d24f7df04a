"""Files are written whole or not at all: to names of their own beside the targets, then put in their places.

The files of one report are put in place together, once the last of them is written: where the disk is full, or the
process is ended meanwhile, those of the report before stand as they were, all of them.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from collections.abc import Iterable, Mapping
from pathlib import Path

from reportgen.errors import OutputError

#: Ending of a file that is being written; its name begins with a dot.
PART = ".part"
#: What is being written for longer than this was left by a process that was killed [s] (ours).
ABANDONED = 3600.0
#: A file that cannot be replaced is waited for so long before each further try [s] (ours); virus scanners let go soon.
PAUSES = (0.05, 0.1, 0.2, 0.4)


def write_files(
    folder: Path, contents: Mapping[str, str | bytes | Iterable[bytes]], *, is_durable: bool = True
) -> list[Path]:
    """Write texts, bytes and parts of files under names relative to `folder`, making folders as needed.

    Parts are written as they come, so that a large file needs no memory. Returns the paths.

    Files that are not durable are left to the system to put on the disk: whoever writes them can tell afterwards
    whether they are whole.

    Raises
    ------
    OutputError
        If something cannot be written: what was there before stays as it was. Only where a file that is written
        cannot take its place, such as one that another program holds open, have those before it taken theirs.
    """
    targets = {folder / name: content for name, content in contents.items()}
    written: dict[Path, Path] = {}
    target = folder
    try:
        try:
            for target, content in targets.items():
                target.parent.mkdir(parents=True, exist_ok=True)
                _refuse_folder(target)
                written[target] = _write(target, _parts(content), is_durable)
            for target, temporary in written.items():
                _put(temporary, target)
        except BaseException:
            for temporary in written.values():
                temporary.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise OutputError("output-not-written", f"{target}: cannot be written ({error.strerror or error}).") from error
    return list(targets)


def _put(temporary: Path, target: Path) -> None:
    """Put a file in its place; on Windows that may have to wait until nobody looks at what stands there.

    Raises
    ------
    PermissionError
        If another program does not let go of it.
    """
    for pause in PAUSES:
        try:
            temporary.replace(target)
            return
        except PermissionError:
            time.sleep(pause)
    try:
        temporary.replace(target)
    except PermissionError as error:
        reason = f"{error.strerror}: another program may hold it open; close it there, and write it again"
        raise PermissionError(error.errno, reason) from error


def clear_parts(folder: Path, older_than: float = 0.0) -> None:
    """Remove what a process left that was killed while it wrote into a folder.

    Where somebody else may be writing there, only what has not been written to for so long [s] is removed.
    """
    with contextlib.suppress(OSError):  # what cannot be removed is in nobody's way
        for path in folder.iterdir():
            if path.name.startswith(".") and path.suffix == PART and _age(path) >= older_than:
                path.unlink(missing_ok=True)


def _age(part: Path) -> float:
    # A clock that was set back makes a file look newer than it is, and never older than nothing.
    return max(0.0, time.time() - part.stat().st_mtime)


def _refuse_folder(target: Path) -> None:
    """See that a file can be put in its place, before any is.

    Raises
    ------
    IsADirectoryError
        If a folder stands there.
    """
    if target.is_dir():
        raise IsADirectoryError(None, "a folder of this name stands there")


def _parts(content: str | bytes | Iterable[bytes]) -> Iterable[bytes]:
    if isinstance(content, str):
        return (content.encode(errors="replace"),)  # the name of a file need not be text
    return (content,) if isinstance(content, bytes) else content


def _write(target: Path, parts: Iterable[bytes], is_durable: bool) -> Path:
    """Write a file under a name of its own beside the target, and return its path."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=PART)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines(parts)
            if is_durable:
                file.flush()
                os.fsync(file.fileno())
        # mkstemp makes files for their owner alone; a report is as readable as any file the user makes.
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o666 & ~umask)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary
