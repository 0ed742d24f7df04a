"""What a chart is, and how words come into it: all that is known of charts without the drawing library."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from reportgen import speech
from reportgen.message import Message

#: Turns a message into a sentence of the language of the report.
Said: TypeAlias = Callable[[Message], str]

#: Rows of the table below a chart.
MOST_ROWS = 40


@dataclass(frozen=True)
class Chart:
    """A chart of the report.

    Attributes
    ----------
    name : str
        Stable, for anchors and file names.
    title : Message
    alt : Message
        What the chart shows, in one sentence.
    svg : str
        An ``<svg>`` element with text as text.
    table : tuple of rows of str
        Heading and at most `MOST_ROWS` rows of what is drawn.
    """

    name: str
    title: Message
    alt: Message
    svg: str
    table: tuple[tuple[str, ...], ...]


def spoken(message: Message) -> str:
    """Return the words of a message for a picture, whose own direction is from left to right whatever the language."""
    text = str(message)
    if not speech.current().is_right_to_left:
        return text
    return "\n".join(f"{speech.RIGHT_TO_LEFT}{line}{speech.END_ISOLATE}" for line in text.split("\n"))
