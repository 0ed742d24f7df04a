"""Bytes of a log to its text: byte order marks, UTF-8, UTF-16, Windows-1252 and Shift-JIS."""

from __future__ import annotations

import codecs
import re

import numpy as np

from reportgen.errors import LogFileError
from reportgen.message import say
from reportgen.trial import Finding

#: So much of a file tells how its characters are written [bytes]; an even number, for UTF-16.
PEEK = 65_536
#: In UTF-16 text of mostly Latin letters every second byte is zero; this share of the places is enough (ours).
MOSTLY_ZERO = 0.4
#: This share of the places at most is zero by chance, in the other byte of each pair (ours).
SELDOM_ZERO = 0.1
#: Japanese words stand in runs; a Western letter beside a digit or another letter only looks like one character (ours).
IN_RUNS = 0.5
_JAPANESE = re.compile("[\u3040-\u30ff\u3400-\u9fff\uff01-\uff60]")
_JAPANESE_RUN = re.compile("[\u3040-\u30ff\u3400-\u9fff\uff01-\uff60]{2,}")


def decode(data: bytes, file: str, stated: str | None = None) -> tuple[str, tuple[Finding, ...]]:
    """Return the text of a log with ``\\n`` at the end of lines, and what to say of how it is written.

    Parameters
    ----------
    stated
        Encoding that `trial.toml` names for the file; None where the file must tell by itself.

    Raises
    ------
    LogFileError
        If the bytes are no text, or none in the stated encoding or in that of the byte order mark.
    """
    text, findings = _decoded(data, file, stated)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text, findings


def _decoded(data: bytes, file: str, stated: str | None) -> tuple[str, tuple[Finding, ...]]:
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            return _strict(data, encoding, file, "though the file begins as such.\nSave the file as CSV UTF-8."), ()
    if stated is not None:
        return _strict(data, stated, file, 'as [files] of trial.toml says.\nName another, such as "utf-8".'), ()
    zeros = _utf_16_by_zeros(data[:PEEK])
    if zeros is not None and len(data) % 2 == 0:
        try:
            text = data.decode(zeros)
        except UnicodeDecodeError:
            pass  # zero bytes of something else; said below
        else:
            message = say("a UTF-16 text without its mark; read as {encoding}", encoding=zeros.upper())
            return text, (Finding("note", "encoding", message, file, 1),)
    if b"\0" in data:
        raise LogFileError(
            "not-text",
            f"{file}: this is not a text file (it holds zero bytes).\nSave or export the log as CSV UTF-8.",
            file=file,
        )
    try:
        return data.decode("utf-8"), ()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
    japanese = _shift_jis(data)
    if japanese is not None:
        message = say("not UTF-8 from row {row} on; read as Shift-JIS", row=line)
        return japanese, (Finding("note", "encoding", message, file, line),)
    message = say(
        "not UTF-8 from row {row} on; read as Windows-1252; if letters look wrong, name the encoding under "
        '[files."{file}"]',
        row=line,
        file=file,
    )
    return data.decode("cp1252", errors="replace"), (Finding("note", "encoding", message, file, line),)


def _strict(data: bytes, encoding: str, file: str, remark: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise LogFileError(
            "broken-encoding",
            f"{file}: byte {error.start + 1} is not {encoding} text {remark}",
            file=file,
            row=data.count(b"\n", 0, error.start) + 1,
        ) from error


def _utf_16_by_zeros(start: bytes) -> str | None:
    """Return the kind of UTF-16 in which the zero bytes of a text stand; None where they stand otherwise."""
    pairs = np.frombuffer(start[: len(start) // 2 * 2], dtype=np.uint8).reshape(-1, 2)
    if not len(pairs):
        return None
    first, second = (pairs == 0).mean(axis=0)
    if second >= MOSTLY_ZERO and first <= SELDOM_ZERO:
        return "utf-16-le"
    return "utf-16-be" if first >= MOSTLY_ZERO and second <= SELDOM_ZERO else None


def _shift_jis(data: bytes) -> str | None:
    """Return the text of bytes that are Shift-JIS and hold Japanese words; None where they are or hold none.

    Nearly every Western text is Shift-JIS as well: "é" and the letter after it read as one character. What tells them
    apart is that such characters then stand alone.
    """
    try:
        text = data.decode("cp932")
    except UnicodeDecodeError:
        return None
    single = len(_JAPANESE.findall(text))
    in_runs = sum(map(len, _JAPANESE_RUN.findall(text)))
    return text if single and in_runs / single >= IN_RUNS else None
