"""Files are written whole or not at all: to a name of their own beside the target, then put in its place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from reportgen.errors import OutputError

#: Ending of a file that is being written; its name begins with a dot.
PART = ".part"


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
        If something cannot be written; what was there before stays as it was.
    """
    paths = []
    for name, content in contents.items():
        target = folder / name
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            _replace(target, _parts(content), is_durable)
        except OSError as error:
            raise OutputError(
                "output-not-written", f"{target}: cannot be written ({error.strerror or error})."
            ) from error
        paths.append(target)
    return paths


def _parts(content: str | bytes | Iterable[bytes]) -> Iterable[bytes]:
    if isinstance(content, str):
        return (content.encode(),)
    return (content,) if isinstance(content, bytes) else content


def _replace(target: Path, parts: Iterable[bytes], is_durable: bool) -> None:
    handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=PART)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines(parts)
            if is_durable:
                file.flush()
                os.fsync(file.fileno())
        # mkstemp makes files for their owner alone; a report is as readable as any file the user makes.
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(target)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
