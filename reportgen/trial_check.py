"""A trial read and computed to be judged, not reported: what was found, what the log supports, what would add more."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportgen.catalogue import KINDS
from reportgen.codes import CODES
from reportgen.errors import ReportgenError
from reportgen.figures import Results, compute
from reportgen.lines import wrapped
from reportgen.message import COMMA, Message, listed, say, say_counted
from reportgen.read.folder import read_trial
from reportgen.read.sheet import FILE_NAME
from reportgen.results_file import finding_document, inputs_document
from reportgen.speech import ENGLISH, speaking
from reportgen.supports import Suggestion, given_groups, given_keys, missing_by_reason, suggestions
from reportgen.trial import LEVELS, Finding, Trial
from reportgen.what_if import READ_ON, READ_ON_SAID

#: What the groups of the catalogue are called here.
GROUP_NAMES = {
    "run": say("run"),
    "gas": say("gas"),
    "cabinet": say("cold"),
    "ice": say("ice"),
    "waste": say("waste"),
    "chain": say("energy"),
}
#: What the levels of findings are called here.
LEVEL_WORDS = {"note": say("note"), "caution": say("caution"), "error": say("error")}
#: Where so large a share of the words of an action stand in the message already, it is not said again (ours).
SAME_WORDS = 0.6
#: Shorter words say little [letters] (ours).
SHORTEST_WORD = 4
_WORD = re.compile(rf"[^\W\d_]{{{SHORTEST_WORD},}}")
#: How many findings of a level there are.
COUNTED = {
    "note": say_counted(0, "{n} note", "{n} notes"),
    "caution": say_counted(0, "{n} caution", "{n} cautions"),
    "error": say_counted(0, "{n} error", "{n} errors"),
}


@dataclass(frozen=True)
class Check:
    """What a trial was found to be.

    Attributes
    ----------
    findings : tuple of Finding
        Worst first, then by file and row.
    suggestions : tuple of Suggestion
        What one more column or line would give, the most figures first.
    """

    trial: Trial
    results: Results
    findings: tuple[Finding, ...]
    suggestions: tuple[Suggestion, ...]


def check_trial(folder: Path) -> Check:
    """Read and compute a trial.

    Raises
    ------
    ReportgenError
        If no report of it can be written.
    """
    trial = read_trial(folder)
    if trial.sheet.photos:
        from reportgen.photos import with_photos

        trial = with_photos(trial, folder)
    results = compute(trial)
    ordered = sorted(
        results.findings,
        key=lambda finding: (-LEVELS.index(finding.level), finding.file or "", finding.row or 0),
    )
    return Check(trial, results, tuple(ordered), tuple(suggestions(trial, results)))


def check_document(check: Check) -> dict[str, Any]:
    """Return a check as plain data: findings and inputs as in the results file, and the keys of the figures."""
    return {
        "findings": [finding_document(finding) for finding in check.findings],
        "supports": list(given_keys(check.results)),
        "inputs": inputs_document(check.trial),
        "would_add": [{"add": added.add, "gives": list(added.gives)} for added in check.suggestions],
    }


def error_document(error: ReportgenError) -> dict[str, Any]:
    """Return the check of a trial that cannot be read as plain data: the error is its one finding."""
    finding = {"level": "error", "code": error.code, "message": error.text, "file": error.file, "row": error.row}
    return {"findings": [{**finding, "effect": None}], "supports": [], "inputs": [], "would_add": []}


def check_text(check: Check, width: int) -> str:
    """Return a check in plain lines of at most `width` characters, where the words allow it."""
    supported = given_groups(check.results)
    groups = [
        (say("{label}: {value}", label=name, value=listed(supported[key])), None)
        for key, name in GROUP_NAMES.items()
        if key in supported
    ]
    missing = [(reason, listed(labels)) for reason, labels in missing_by_reason(check.results).items()]
    added = [
        (listed(map(_line, one.lines), say(" and ")), listed(KINDS[key].label for key in one.gives))
        for one in check.suggestions
    ]
    files = [
        say_counted(source.rows, "{file} ({n} row)", "{file} ({n} rows)", file=source.file)
        for source in check.trial.inputs
        if source.file != FILE_NAME
    ]
    read = say("Read {files}. A report can be written.", files=listed([FILE_NAME, *files], COMMA))
    parts = [
        wrapped(str(read), width),
        _findings(check.findings, width),
        _listed(say("This log supports:") if groups else say("This log supports no figure."), groups, width),
        _listed(say("Not given:") if missing else say("Every usual figure is given."), missing, width),
    ]
    if added:
        head = say("One more column, or line of {sheet} (its values are examples), would add:", sheet=FILE_NAME)
        parts.append(_listed(head, added, width))
    return "\n\n".join(parts) + "\n"


def _line(line: str) -> Message | str:
    """Return what is to be added: a name or line of the format, or said in words."""
    return READ_ON_SAID if line == READ_ON else line


def _listed(head: Message, items: Iterable[tuple[object, object]], width: int) -> str:
    lines = [wrapped(str(head), width)]
    for item, detail in items:
        lines.append(wrapped(str(item), width, "- ", "  "))
        if detail:
            lines.append(wrapped(str(detail), width, "    ", "    "))
    return "\n".join(lines)


def _findings(findings: tuple[Finding, ...], width: int) -> str:
    if not findings:
        return wrapped(str(say("Nothing was found that a reader should know of.")), width)
    counted = [
        COUNTED[level].filled(n=n)
        for level in reversed(LEVELS)
        if (n := sum(finding.level == level for finding in findings))
    ]
    lines = [wrapped(str(say("{counts}:", counts=listed(counted, COMMA))), width)]
    margin = len(str(len(findings))) + 2
    told: set[str] = set()
    for number, finding in enumerate(findings, start=1):
        level = str(LEVEL_WORDS[finding.level])
        place = f"  {_place(finding)}" if finding.file else ""
        lines.append(wrapped(level + place, width, f"{number}.".ljust(margin), " " * margin))
        said = [_sentence(str(finding.message)), _sentence(str(finding.effect)) if finding.effect else ""]
        action = CODES[finding.code].action
        # What to do is said once for all findings of a kind, and not where the message says it.
        if finding.code not in told and not action.startswith("Nothing") and not _is_said(finding, action):
            said.append(str(say(action)))
        told.add(finding.code)
        text = " ".join([*filter(None, said), f"[{finding.code}]"])
        lines.append(wrapped(text, width, " " * margin, " " * margin))
    return "\n".join(lines)


def _place(finding: Finding) -> Message | str:
    if finding.row is None:
        return finding.file or ""
    return say("{file}, row {row}", file=finding.file, row=finding.row)


def _is_said(finding: Finding, action: str) -> bool:
    """Return whether the English of a finding tells to do an action."""
    with speaking(ENGLISH):
        return _says(f"{finding.message} {finding.effect or ''}", action)


def _says(text: str, action: str) -> bool:
    """Return whether a text tells to do an action: it holds its verb, the first word, and most of its other words."""
    words, wanted = (set(_WORD.findall(part.casefold())) for part in (text, action))
    verb = action.casefold().split(maxsplit=1)[0]
    return verb in text.casefold().split() and len(words & wanted) >= SAME_WORDS * len(wanted)


def _sentence(text: str) -> str:
    """Return a text with a full stop, and with a capital where it begins with a plain word."""
    first = text.split(maxsplit=1)[0]
    start = text[0].upper() if first.rstrip(",").replace("-", "").isalpha() else text[0]
    return start + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
