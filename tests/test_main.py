"""The program as it is started."""

from __future__ import annotations

import os
import subprocess
import sys
import types
from pathlib import Path

import pytest
from conftest import ROOT

from reportgen import __main__ as program


@pytest.mark.skipif(os.name != "posix", reason="handles are closed otherwise there")
@pytest.mark.parametrize("closed", [(0, 1), (0, 1, 2)])
def test_streams_that_are_closed_keep_nobody_from_a_report(closed: tuple[int, ...], tmp_path: Path) -> None:
    (tmp_path / "trial").mkdir()
    (tmp_path / "trial" / "trial.toml").write_text('title = "t"\n', encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-X", "dev", "-m", "reportgen", "report", str(tmp_path / "trial"), "--out", str(tmp_path)],
        cwd=ROOT,
        stderr=subprocess.PIPE,
        preexec_fn=lambda: [os.close(handle) for handle in closed],
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == b""
    assert (tmp_path / "report.html").read_bytes().rstrip().endswith(b"</html>")


def test_who_is_interrupted_while_it_loads_is_told_no_more_than_that(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: str) -> None:
        raise KeyboardInterrupt

    loading = types.ModuleType("reportgen.cli")
    loading.__getattr__ = interrupted  # type: ignore[method-assign]
    monkeypatch.setitem(sys.modules, "reportgen.cli", loading)
    monkeypatch.setattr(program.gc, "set_threshold", lambda *_: None)
    with pytest.raises(SystemExit) as ended:
        program.main()
    assert ended.value.code == program.INTERRUPTED == 130
