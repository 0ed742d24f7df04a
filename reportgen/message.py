"""Sentences for people, with their values kept apart so that a sentence can be said in another language.

A sentence is turned into text as late as can be, in the language that is spoken then (`speech`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from reportgen import beside, rounding, speech

#: Signs without a picture of their own that do no harm: line end, joiner and non-joiner of letters, blanks that stay.
_KEPT = "\n\u200c\u200d\u00a0\u202f"


@dataclass(frozen=True)
class Message:
    """An English sentence with named gaps, and what fills them.

    Numbers fill a gap with the digits that suit them: one with an uncertainty by its uncertainty.

    Attributes
    ----------
    text : str
        The sentence, or what is said of one.
    values : mapping
        What fills its gaps.
    plural : str
        What is said of any other number, which is the value ``n``; "" for a sentence that counts nothing.
    """

    text: str
    values: Mapping[str, Any]
    plural: str = ""

    def __str__(self) -> str:
        sentence, values = self.spoken()
        return speech.with_gaps_filled(sentence, values)

    def filled(self, **values: Any) -> Message:
        """Return the message with other values in its gaps."""
        return replace(self, values=MappingProxyType(values))

    def spoken(self) -> tuple[str, dict[str, str]]:
        """Return the sentence as it is said now, still with its gaps, and what fills them."""
        speaks = speech.current()
        sentence = speaks.sentence(self.text, self.plural, self.values["n"] if self.plural else 1)
        values = {name: shown(value) for name, value in self.values.items()}
        if speaks.units == "us":
            sentence = beside.with_us_units(sentence, values)
        return beside.held_together(sentence) if speaks.is_right_to_left else sentence, values

    def __reduce__(self) -> tuple[Any, ...]:
        return (_restored, (self.text, dict(self.values), self.plural))

    def __hash__(self) -> int:
        return hash(self.text)


@dataclass(frozen=True)
class Listed:
    """Items of a sentence that are said one after the other."""

    items: tuple[Any, ...]
    separator: Message

    def __str__(self) -> str:
        return str(self.separator).join(map(shown, self.items))


#: Said where there is nothing to say.
NOTHING = Message("", MappingProxyType({}))


@dataclass(frozen=True)
class Written:
    """A number that is written with so many decimals."""

    value: float
    decimals: int

    def __str__(self) -> str:
        return rounding.fixed(self.value, self.decimals)


def say(text: str, /, **values: Any) -> Message:
    """Return the message `text` with its gaps filled by `values`."""
    return Message(text, MappingProxyType(values))


#: What separates the items of a list.
SEMICOLON, COMMA, PLUS = say("; "), say(", "), say(" + ")


def say_counted(n: int, one: str, many: str, /, **values: Any) -> Message:
    """Return the message `one` for a single thing and `many` for any other number; its gap ``{n}`` is the number.

    Two whole sentences, since languages differ in more than an "s" between one and many.
    """
    return Message(one, MappingProxyType({"n": n, **values}), many)


def listed(items: Iterable[Any], separator: Message = SEMICOLON) -> Listed:
    """Return items to fill a gap with, which are said in the language of the sentence."""
    return Listed(tuple(items), separator)


def shown(value: Any) -> str:
    """Return a value as it fills a gap."""
    if hasattr(value, "nominal_value"):
        return speech.current().inserted(rounding.with_uncertainty(value.nominal_value, value.std_dev))
    if isinstance(value, float):
        return speech.current().inserted(rounding.plain(value))
    if isinstance(value, Message | Listed):
        return str(value)
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return speech.current().inserted(speech.current().date(value))
    return speech.current().inserted(str(value))


def printable(text: str) -> str:
    """Return a text that only shows something on a terminal: control and direction signs become replacement signs.

    Line ends stay, and the joiners that some scripts are written with. Where sentences run from right to left, the
    signs stay that hold what is put into them apart.
    """
    held = speech.ISOLATE + speech.END_ISOLATE + speech.LEFT_TO_RIGHT if speech.current().is_right_to_left else ""
    kept = _KEPT + held
    return "".join(sign if sign.isprintable() or sign in kept else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _restored(text: str, values: dict[str, Any], plural: str) -> Message:
    return Message(text, MappingProxyType(values), plural)
