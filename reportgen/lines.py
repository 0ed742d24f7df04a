"""Text in plain lines for a terminal: no wider than it, with amounts whole."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from reportgen.beside import WITHIN_AMOUNT

#: Lines are no shorter than this, however narrow the terminal [characters] (ours).
NARROWEST = 30
#: Where a line may end: at a single blank, for two hold apart what stands on one line.
_BLANKS = re.compile(r"(?<! ) (?! )|[\t\n]+")
#: Categories of signs that take no room: marks on letters, and signs of direction.
_NO_ROOM = ("Mn", "Me", "Cf")
#: Stands for the blank within an amount while lines are filled.
_KEPT = "\0"


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> str:
    """Return a text in lines of at most `width` characters, `NARROWEST` at least, where the words allow it.

    The first line begins with `first`, and all others with `rest`.
    """
    width = max(width, NARROWEST)
    lines: list[str] = []
    line = first
    is_empty = True
    for word in _BLANKS.split(WITHIN_AMOUNT.sub(rf"\1{_KEPT}", text.replace(_KEPT, "").strip())):
        if not is_empty and _room(line) + 1 + _room(word) > width:
            lines.append(line)
            line, is_empty = rest, True
        line += word if is_empty else f" {word}"
        is_empty = False
    return "\n".join([*lines, line]).replace(_KEPT, " ")


def itemised(head: str, items: Iterable[str], width: int) -> str:
    """Return a head with its items below it, as `wrapped` returns them."""
    return "\n".join([wrapped(head, width), *(wrapped(item, width, "- ", "  ") for item in items)])


def _room(text: str) -> int:
    """Return how many characters a text takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(unicodedata.category(sign) not in _NO_ROOM for sign in text)
