"""Safety notes of a trial: those that always stand, those that data and words trigger, and their order.

They inform; they certify nothing. Where no note speaks of a hazard, nothing is said about it.
"""

from __future__ import annotations

from reportgen.figures import Results
from reportgen.safety.air import air_notes, not_checked
from reportgen.safety.fixed import deference, fixed_notes
from reportgen.safety.gas import gas_notes
from reportgen.safety.note import SEVERITIES, SafetyNote
from reportgen.safety.run import run_notes
from reportgen.safety.words import word_notes
from reportgen.trial import Trial

__all__ = ["SEVERITIES", "SafetyNote", "needs_top_warning", "safety_notes"]


#: Notes that always stand -> the words whose note says the same and why.
SAID_BY_WORDS = {"electricity": "electricity-words", "weather": "wind-words"}


def safety_notes(trial: Trial, results: Results) -> tuple[SafetyNote, ...]:
    """Return the notes of a trial, worst first; last of all that local rules prevail.

    Words of people taken ill, of ammonia and of gas smelt come before all else. Of equally severe notes,
    those that the trial triggered come before those that always stand.
    """
    words = word_notes(trial)
    said = {note.code for note in words}
    notes = [
        *words,
        *air_notes(trial),
        *gas_notes(trial, results),
        *run_notes(trial, results),
        *not_checked(trial),
        *(note for note in fixed_notes(trial) if SAID_BY_WORDS.get(note.code) not in said),
    ]
    # The sort keeps the order above among equally severe notes.
    return (*sorted(notes, key=lambda note: SEVERITIES.index(note.severity)), deference())


def needs_top_warning(notes: tuple[SafetyNote, ...]) -> bool:
    """Return True where a note says stop, so that the report begins with it."""
    return any(note.severity == "stop" for note in notes)
