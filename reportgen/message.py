"""Sentences for people, with their values kept apart so that a sentence can be said in another language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from reportgen import rounding

#: Signs without a picture of their own that do no harm: the line end, and the joiner and non-joiner of letters.
_KEPT = "\n\u200c\u200d"


@dataclass(frozen=True)
class Message:
    """An English sentence with named gaps, and what fills them.

    Numbers fill a gap with the digits that suit them: one with an uncertainty by its uncertainty.
    """

    text: str
    values: Mapping[str, Any]

    def __str__(self) -> str:
        return self.text.format_map({name: _shown(value) for name, value in self.values.items()})

    def __reduce__(self) -> tuple[Any, ...]:
        return (_restored, (self.text, dict(self.values)))

    def __hash__(self) -> int:
        return hash(self.text)


def say(text: str, /, **values: Any) -> Message:
    """Return the message `text` with its gaps filled by `values`."""
    return Message(text, MappingProxyType(values))


def say_counted(n: int, one: str, many: str, /, **values: Any) -> Message:
    """Return the message `one` for a single thing and `many` for any other number; its gap ``{n}`` is the number.

    Two whole sentences, since languages differ in more than an "s" between one and many.
    """
    return say(one if n == 1 else many, n=n, **values)


def printable(text: str) -> str:
    """Return a text that only shows something on a terminal: control and direction signs become replacement signs.

    Line ends stay, and the joiners that some scripts are written with.
    """
    return "".join(sign if sign.isprintable() or sign in _KEPT else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _restored(text: str, values: dict[str, Any]) -> Message:
    return say(text, **values)


def _shown(value: Any) -> str:
    if hasattr(value, "nominal_value"):
        return rounding.with_uncertainty(value.nominal_value, value.std_dev)
    if isinstance(value, float):
        return rounding.plain(value)
    return str(value)
