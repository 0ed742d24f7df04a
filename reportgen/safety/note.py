"""What a safety note is, and the order in which notes are read."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reportgen.message import Message

#: Worst first: stop and get out of harm's way; do something before the next run; know it.
SEVERITIES = ("stop", "act", "know")
#: Key of the source that holds our own thresholds.
OURS = "safety-thresholds"


@dataclass(frozen=True)
class SafetyNote:
    """A hazard of a trial in one or two sentences. A note that is absent says nothing about the hazard.

    Attributes
    ----------
    code : str
        Stable name of the hazard or of what triggered the note.
    severity : str
        One of `SEVERITIES`.
    text : Message
        The hazard and the usual caution.
    reason : Message or None
        What in the trial triggered or raised the note; None where it always stands.
    rows : tuple of str
        Where that stands.
    sources : tuple of str
        Keys of `reportgen.sources.SOURCES`.
    """

    code: str
    severity: str
    text: Message
    reason: Message | None
    rows: tuple[str, ...]
    sources: tuple[str, ...]

    def raised(self, severity: str, reason: Message, rows: tuple[str, ...]) -> SafetyNote:
        """Return the note with a reason, and with `severity` where that is worse than its own."""
        worse = min(self.severity, severity, key=SEVERITIES.index)
        return replace(self, severity=worse, reason=reason, rows=rows)
