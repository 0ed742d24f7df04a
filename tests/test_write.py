"""A file is written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from reportgen import write
from reportgen.errors import OutputError
from reportgen.write import write_files


def test_files_and_folders_are_made(tmp_path: Path) -> None:
    paths = write_files(tmp_path / "new", {"a.txt": "one", "charts/b.svg": "zwei, °C"})
    assert [path.read_text(encoding="utf-8") for path in paths] == ["one", "zwei, °C"]


def test_a_failed_write_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_files(tmp_path, {"a.txt": "old"})

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write.os, "fsync", full)
    with pytest.raises(OutputError, match="No space left") as caught:
        write_files(tmp_path, {"a.txt": "new"})
    assert caught.value.code == "output-not-written"
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "old"


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_files_are_as_readable_as_any_other(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        (path,) = write_files(tmp_path, {"a.txt": "x"})
    finally:
        os.umask(mask)
    assert path.stat().st_mode & 0o777 == 0o644
