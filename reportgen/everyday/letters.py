"""Words as they are compared: without case, accents, and signs that change no letter; in every writing alike."""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Mapping

#: What each thing is called: a word of ours, or several, beside what people write.
Words = Mapping[str, tuple[str, ...]]

#: Letters that are written for each other (from memory): joined Latin ones; Arabic ones, of which the forms of alef and
#: those with a hamza are already one once their marks are gone; the Persian letters that keyboards give for Arabic
#: ones. The lengthening stroke goes; an apostrophe is one sign.
_SAME = {
    "œ": "oe",
    "æ": "ae",
    "ى": "ي",
    "ی": "ي",
    "ک": "ك",
    "ة": "ه",
    "ٱ": "ا",
    "ـ": "",
    "’": "'",
    "‘": "'",
}
#: Signs beside Eastern Arabic digits: percent, decimal mark.
_SIGNS = {"٪": "%", "٫": "."}


def western(text: str) -> str:
    """Return a text with the digits, the decimal point and the percent sign of every keyboard for those of others."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(sign)) if sign.isdecimal() else _SIGNS.get(sign, sign) for sign in text)


@functools.lru_cache(maxsize=4096)
def _bare_letter(letter: str) -> str:
    parts = unicodedata.normalize("NFKD", western(letter)).casefold()
    # Marks above and below, and signs that direct or join the text, are no letters.
    kept = (part for part in parts if not unicodedata.combining(part) and unicodedata.category(part) != "Cf")
    return "".join(_SAME.get(part, part) for part in kept)


def bare(text: str) -> str:
    """Return a text as it is compared."""
    return text.casefold() if text.isascii() else "".join(map(_bare_letter, text))


def places_in(text: str) -> list[int]:
    """Return of each character of a bare text the place in the text that it comes from."""
    return [place for place, letter in enumerate(text) for _ in _bare_letter(letter)]
