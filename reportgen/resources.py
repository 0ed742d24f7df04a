"""Where the files are that belong to the program and are no code: templates and catalogues of languages."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from reportgen.errors import OutputError


def templates_folder() -> Path:
    """Return where the report templates are: inside an installed package, or beside it in a checkout.

    Raises
    ------
    OutputError
        If they are in neither place.
    """
    inside = Path(str(files("reportgen"))) / "templates"
    beside = Path(__file__).resolve().parent.parent / "templates"
    for folder in (inside, beside):
        if folder.is_dir():
            return folder
    raise OutputError(
        "templates-missing", "The report templates are missing from this installation.\nInstall reportgen again."
    )
