"""What a table of alarming words holds in a language beside English."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Phrases:
    """Words of one language that call for one note; accents and case do not matter.

    Attributes
    ----------
    stems, words, not_in_appliance, places : tuple of str
        As in `word_groups.WordGroup`.
    roots : tuple of str
        Stems before which a few letters may stand, as in front of a verb in Swahili.
    """

    stems: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    roots: tuple[str, ...] = ()
    not_in_appliance: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
