"""Ways in which a log is rewritten or damaged, and what may come of each.

`SAME` rewrites the text and leaves its meaning: every figure stays, or the log is refused. `SAID` damages it in a way
that can be seen: a figure that moves comes with a finding. `ANY` damages bytes at random: a report or an error comes.
"""

from __future__ import annotations

import random
from collections.abc import Callable

SAME, SAID, ANY = "same", "said", "any"
Mutation = Callable[[random.Random, str], "str | bytes"]

JUNK = ("??", "n/a", "-127", "Err", "#N/A", "---", "twelve o'clock", "1.2.3", "<b>1</b>", "=1+1", "\u202e12", "9" * 400)
WORDS = ("Page 3 of 9", "end of page", "Probe changed", "<script>alert(1)</script>")


def lines_of(text: str) -> list[str]:
    return text.rstrip("\n").split("\n")


def joined(lines: list[str]) -> str:
    return "\n".join(lines) + "\n"


def utf_8_mark(_: random.Random, text: str) -> bytes:
    return ("\ufeff" + text).encode()


def utf_16(rng: random.Random, text: str) -> bytes:
    return ("\ufeff" * rng.randint(0, 1) + text).encode(rng.choice(("utf-16-le", "utf-16-be")))


def line_ends(rng: random.Random, text: str) -> bytes:
    return text.replace("\n", rng.choice(("\r\n", "\r"))).encode()


def blank_lines(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    for _ in range(rng.randint(1, 5)):
        lines.insert(rng.randint(0, len(lines)), rng.choice(("", "   ", "\t", "# a remark, with a comma")))
    return joined(lines)


def preamble(rng: random.Random, text: str) -> str:
    return (
        "".join(f"Logger {rng.randint(1, 9)}; set up {rng.choice(WORDS[2:3])}\n" for _ in range(rng.randint(1, 60)))
        + text
    )


def repeated_header(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    header = next(line for line in lines if line and not line.startswith("#"))
    lines.insert(rng.randint(lines.index(header) + 1, len(lines)), header)
    return joined(lines)


def padded_cells(_: random.Random, text: str) -> str:
    if ";" in text or "\t" in text:
        return text  # commas are no separators there
    return joined(
        [line if '"' in line else ",".join(f" {cell} " for cell in line.split(",")) for line in lines_of(text)]
    )


def other_delimiter(rng: random.Random, text: str) -> str:
    if '"' in text or ";" in text or "\t" in text:
        return text
    return text.replace(",", rng.choice((";", "\t", "|")))


def header_in_other_letters(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    at = next(i for i, line in enumerate(lines) if line and not line.startswith("#"))
    lines[at] = rng.choice((str.title, str.lower))(lines[at].partition("[")[0]) + "".join(lines[at].partition("[")[1:])
    return joined(lines)


def repeated_row(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    if len(lines) < 4 or "material" in text or "gas_produced" in text or "gas_elsewhere" in text:
        return text
    at = rng.randint(2, len(lines) - 1)
    lines.insert(at + 1, lines[at])
    return joined(lines)


def junk_cell(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    at = rng.randint(1, len(lines) - 1)
    cells = lines[at].split(",")
    filled = [i for i, cell in enumerate(cells) if cell.strip()]
    if not filled or '"' in lines[at]:
        return text
    junk = rng.choice(JUNK)
    if junk == "-127" and "elapsed" in text:
        return text  # two hours before lighting is a time like any other
    cells[rng.choice(filled)] = junk
    lines[at] = ",".join(cells)
    return joined(lines)


def broken_line(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    at = rng.randint(1, len(lines) - 1)
    lines[at] = lines[at][: rng.randint(0, len(lines[at]))] + rng.choice(("", '"', "\t", ",,,,", "\x00", "\ufffd"))
    return joined(lines)


def half_written(rng: random.Random, text: str) -> str:
    return text[: -rng.randint(1, 12)]


def lost_lines(rng: random.Random, text: str) -> str:
    return joined([line for i, line in enumerate(lines_of(text)) if i == 0 or rng.random() > 0.2])


def shuffled_rows(rng: random.Random, text: str) -> str:
    lines = lines_of(text)
    rest = lines[1:]
    rng.shuffle(rest)
    return joined(lines[:1] + rest)


def flipped_bytes(rng: random.Random, text: str) -> bytes:
    data = bytearray(text.encode())
    for _ in range(rng.randint(1, 20)):
        data[rng.randrange(len(data))] = rng.randrange(256)
    return bytes(data)


def spliced(rng: random.Random, text: str) -> bytes:
    data = text.encode()
    a, b = sorted((rng.randrange(len(data)), rng.randrange(len(data))))
    return rng.choice((data[:a] + data[b:], data[a:b] * rng.randint(1, 30), data[:b] + data[a:]))


def swapped_letters(rng: random.Random, text: str) -> str:
    for _ in range(rng.randint(1, 4)):
        a, b = rng.choice(",;:.-/ 0159\n\"'"), rng.choice(",;:.-/ 0159\n\"'%°x")
        text = text.replace(a, b, rng.randint(1, 50))
    return text or "\n"


MUTATIONS: dict[str, list[Mutation]] = {
    SAME: [
        utf_8_mark,
        utf_16,
        line_ends,
        blank_lines,
        preamble,
        repeated_header,
        padded_cells,
        other_delimiter,
        header_in_other_letters,
        repeated_row,
    ],
    SAID: [junk_cell],
    ANY: [broken_line, half_written, lost_lines, shuffled_rows, flipped_bytes, spliced, swapped_letters],
}
