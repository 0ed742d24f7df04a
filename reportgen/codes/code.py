"""A kind of finding or error: what stands behind its code."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Code:
    """A kind of finding or error.

    Attributes
    ----------
    level : str
        ``note``, ``caution`` or ``error``; joined by " or " where it depends.
    meaning : str
        What was seen, and what the program does.
    action : str
        What a person can do.
    """

    level: str
    meaning: str
    action: str

    @property
    def levels(self) -> tuple[str, ...]:
        """The levels that it may have."""
        return tuple(self.level.split(" or "))
