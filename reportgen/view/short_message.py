"""Text in the letters of the shortest kind of message, and how much of a message it takes.

A telephone sends 160 signs at once where all are of the smallest alphabet, and 70 where a single one is not.
"""

from __future__ import annotations

import unicodedata

#: The basic alphabet of seven bits without its sign for the extension, in the order of its table: ETSI TS 123 038
#: (GSM 03.38), 6.2.1, from memory.
BASIC = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
#: Its extension, each sign of which takes two places: 6.2.1.1 there.
EXTENSION = "\f^{}\\[~]|€"
#: Places of one message, and of the signs of any script in two parts of one that is put together again, which keep 3
#: of 70 places each for saying which part they are: ETSI TS 123 040 (GSM 03.40), 9.2.3.24.1, from memory.
LONGEST, LONGEST_OF_ANY_SCRIPT = 160, 2 * 67
#: What stands for signs that are in neither, and that are no letter with a mark upon it (ours).
_NEAREST = {
    **dict.fromkeys("−–—‐‑•", "-"),
    **dict.fromkeys("’‘ʼ′", "'"),
    **dict.fromkeys("“”„«»″", '"'),
    **dict.fromkeys("÷\N{FRACTION SLASH}", "/"),
    **dict(zip("×±≤≥≈·", ("x", "+/-", "<=", ">=", "~", "."), strict=True)),
    **dict(zip("œŒłŁđĐðþıŋμ", ("oe", "OE", "l", "L", "d", "D", "d", "th", "i", "ng", "u"), strict=True)),
}


def spelt(text: str) -> str:
    """Return a text in these letters: each sign that is not among them by its nearest, or left out if it has none.

    Degrees Celsius are ``C`` behind the number, for the alphabet has no sign of degree.
    """
    return "".join(map(_nearest, text))


def can_be_spelt(text: str) -> bool:
    """Return whether every letter of a text has a nearest one there."""
    return all(_nearest(sign) for sign in text if unicodedata.category(sign).startswith("L"))


def places(text: str) -> int:
    """Return how many places of a message a text takes: of seven bits where it can be, else of sixteen."""
    if all(sign in BASIC or sign in EXTENSION for sign in text):
        return len(text) + sum(sign in EXTENSION for sign in text)
    return len(text.encode("utf-16-le")) // 2


def _nearest(sign: str) -> str:
    if sign in BASIC or sign in EXTENSION:
        return sign
    if sign in _NEAREST:
        return _NEAREST[sign]
    parts = unicodedata.normalize("NFKD", sign)
    if parts == sign:
        return ""
    return "".join(map(_nearest, parts))
