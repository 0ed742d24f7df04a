"""A file is written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from reportgen import write
from reportgen.errors import OutputError
from reportgen.write import clear_parts, write_files


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


def test_files_of_a_set_take_their_places_together(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.txt": "old", "b.txt": "old"})

    def broken() -> Iterator[bytes]:
        yield b"new"
        assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "old"
        raise OSError(5, "Input/output error")

    with pytest.raises(OutputError, match=r"b\.txt: cannot be written \(Input/output error\)"):
        write_files(tmp_path, {"a.txt": "new", "b.txt": broken()})
    assert {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()} == {
        "a.txt": "old",
        "b.txt": "old",
    }


def test_a_folder_in_the_place_of_a_file_is_seen_before_any_takes_its_place(tmp_path: Path) -> None:
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(OutputError, match="a folder of this name stands there"):
        write_files(tmp_path, {"a.txt": "new", "b.txt": "new"})
    assert [path.name for path in tmp_path.iterdir()] == ["b.txt"]


def test_only_what_was_cut_short_is_cleared_away(tmp_path: Path) -> None:
    for name in (".a.txt.x.part", "a.part", ".part", ".hidden"):
        (tmp_path / name).touch()
    clear_parts(tmp_path, older_than=60)
    assert (tmp_path / ".a.txt.x.part").exists()
    clear_parts(tmp_path)
    clear_parts(tmp_path / "nowhere")
    assert {path.name for path in tmp_path.iterdir()} == {"a.part", ".part", ".hidden"}


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_files_are_as_readable_as_any_other(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        (path,) = write_files(tmp_path, {"a.txt": "x"})
    finally:
        os.umask(mask)
    assert path.stat().st_mode & 0o777 == 0o644
