"""Following the files of a trial folder: what they are now, so that a change shows."""

from __future__ import annotations

from pathlib import Path
from typing import TypeAlias

#: Name -> when changed [ns] and how large [bytes].
Marks: TypeAlias = dict[str, tuple[int, int]]


def marks(folder: Path) -> Marks:
    """Return the marks of all files of a folder; one that goes meanwhile is left out."""
    found: Marks = {}
    try:
        paths = sorted(folder.iterdir())
    except OSError:
        return found
    for path in paths:
        try:
            state = path.stat()
        except OSError:
            continue
        found[path.name] = (state.st_mtime_ns, state.st_size)
    return found
