"""What is printed where a console, or a file that output is sent to, lacks some of the signs."""

from __future__ import annotations

import codecs
import json
import sys
import unicodedata
from typing import Any

from reportgen import speech

#: Name of the way in which signs are spelled that an encoding lacks.
_SPELLED = "reportgen-spelled"
#: What stands for a sign; others lose their accents, and what is left of them is a question mark.
_PLAIN = {
    "\N{MINUS SIGN}": "-",
    "\N{EN DASH}": "-",
    "\N{EM DASH}": "-",
    "\N{PLUS-MINUS SIGN}": "+/-",
    "\N{MULTIPLICATION SIGN}": "x",
    "\N{DIVISION SIGN}": "/",
    "\N{MIDDLE DOT}": "*",
    "\N{DEGREE SIGN}": "deg",
    "\N{LESS-THAN OR EQUAL TO}": "<=",
    "\N{GREATER-THAN OR EQUAL TO}": ">=",
    "\N{RIGHTWARDS ARROW}": "->",
    "\N{LEFT SINGLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{LEFT DOUBLE QUOTATION MARK}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    **dict.fromkeys((speech.ISOLATE, speech.END_ISOLATE, speech.LEFT_TO_RIGHT, speech.RIGHT_TO_LEFT), ""),
}


def spell_what_is_lacking() -> None:
    """Let no sign stop the program that standard output or standard error lack; a minus must not be lost there."""
    codecs.register_error(_SPELLED, _spelled)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_SPELLED)


def json_text(document: Any) -> str:
    """Return a document as JSON for standard output: with no sign that is lacking there."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    is_unicode = codecs.lookup(encoding).name == "utf-8"
    text = json.dumps(document, ensure_ascii=not is_unicode, indent=1, allow_nan=False)
    # What would do something to a terminal is spelled out, as JSON does with the control signs of ASCII by itself.
    return "".join(sign if sign.isprintable() or sign == "\n" else json.dumps(sign)[1:-1] for sign in text)


def _spelled(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(_plain, error.object[error.start : error.end])), error.end


def _plain(sign: str) -> str:
    if sign in _PLAIN:
        return _PLAIN[sign]
    return unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode() or "?"
