"""Files are written whole or not at all: to a name of their own beside the target, then put in its place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from reportgen.errors import OutputError

#: Ending of a file that is being written; its name begins with a dot.
PART = ".part"


def write_files(folder: Path, contents: Mapping[str, str | bytes], *, is_durable: bool = True) -> list[Path]:
    """Write texts and bytes under names relative to `folder`, making folders as needed; return the paths.

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
            _replace(target, content.encode() if isinstance(content, str) else content, is_durable)
        except OSError as error:
            raise OutputError(
                "output-not-written", f"{target}: cannot be written ({error.strerror or error})."
            ) from error
        paths.append(target)
    return paths


def _replace(target: Path, data: bytes, is_durable: bool) -> None:
    handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=PART)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
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
