"""Files of a folder as bytes."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

from reportgen.read import files


def test_a_small_log_takes_no_memory_for_a_large_one(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_bytes(b"time,note\n")
    tracemalloc.start()
    try:
        assert files._log_bytes(log) == b"time,note\n"
        assert tracemalloc.get_traced_memory()[1] < 1_000_000
    finally:
        tracemalloc.stop()
