"""The trials below a folder, and where the report of each goes."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from pathlib import Path

from reportgen.errors import TrialFileError
from reportgen.trial import FILE_NAME


def find_trials(folder: Path, out: Path) -> list[Path]:
    """Return the trial folders at or below `folder` at any depth, in order of their paths; `out` is left out.

    Raises
    ------
    TrialFileError
        If the folder is not there or holds no trial.
    """
    return look_through(folder, out)[0]


def passed_over(folder: Path, out: Path) -> list[tuple[Path, str]]:
    """Return the folders at or below `folder` that look like trials and are none, each with what it lacks."""
    return _lacking(here for here, names in _folders(folder, out) if names and FILE_NAME not in names)


def look_through(folder: Path, out: Path) -> tuple[list[Path], list[tuple[Path, str]]]:
    """Return what `find_trials` and `passed_over` do, from one walk.

    Raises
    ------
    TrialFileError
        If the folder is not there or holds no trial.
    """
    if not folder.is_dir():
        raise TrialFileError("no-such-folder", f"{folder}: there is no such folder.")
    trials, others = [], []
    for here, names in _folders(folder, out):
        if FILE_NAME in names:
            trials.append(here)
        elif names:
            others.append(here)
    passed = _lacking(others)
    if not trials:
        error = f"{folder}: no trial folder is in it; a trial folder holds a {FILE_NAME}."
        raise TrialFileError("no-trial", "\n".join([error, *(f"{here}: {reason}" for here, reason in passed[:1])]))
    return sorted(trials, key=_parts), passed


def _lacking(folders: Iterable[Path]) -> list[tuple[Path, str]]:
    folders = sorted(folders, key=_parts)
    if not folders:
        return []
    from reportgen.read.slips import why_no_trial  # half a second; most seasons hold nothing but trials

    return [(here, reason) for here in folders if (reason := why_no_trial(here)) is not None]


def _folders(folder: Path, out: Path) -> Iterator[tuple[Path, list[str]]]:
    """Return the folders at or below `folder` but `out`, each with the names of its files."""
    skipped = _identity(out)
    for here, below, names in os.walk(folder):
        below[:] = sorted(
            name
            for name in below
            if not name.startswith(".") and (skipped is None or _identity(Path(here, name)) != skipped)
        )
        yield Path(here), names


def _identity(folder: Path) -> tuple[int, int] | None:
    """Return by what a folder is the same under any path; None where there is none."""
    try:
        found = folder.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def place_of(here: Path, folder: Path) -> Path:
    """Return the path of a folder below another, or its name where it is that folder."""
    below = here.relative_to(folder)
    return below if below.parts else Path(here.resolve().name or "trial")


def places_of(trials: Iterable[Path], folder: Path) -> Mapping[Path, Path]:
    """Return for each trial the path of its report below the output folder; no two share one, on any system.

    A trial's report goes where the trial is below `folder`, and that of `folder` itself to its name. Where that would
    be where another one goes, or a folder that is above others, a number stands behind it.
    """
    wanted = {trial: place_of(trial, folder) for trial in trials}
    heads = {_on_any_system(Path(place.parts[0])) for trial, place in wanted.items() if trial != folder}
    taken = heads | set(map(_on_any_system, wanted.values()))
    places: dict[Path, Path] = {}
    given: set[str] = set()
    for trial, place in wanted.items():
        if _on_any_system(place) in (given | heads if trial == folder else given):
            numbered = (place.with_name(f"{place.name}-{n}") for n in count(2))
            place = next(free for free in numbered if _on_any_system(free) not in taken)
        places[trial] = place
        given.add(_on_any_system(place))
        taken |= given
    return places


def _on_any_system(place: Path) -> str:
    """Return a path as it is compared where neither case nor ways of writing an accent nor dots at the end count."""
    return "/".join(unicodedata.normalize("NFC", part).casefold().rstrip(" .") for part in place.parts)


def _parts(path: Path) -> tuple[str, ...]:
    """Return by what paths are in the same order on every system."""
    return path.parts
