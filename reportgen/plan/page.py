"""A page of answers as finished text: for a terminal, and for the templates of HTML and Markdown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reportgen import beside, rounding, wording
from reportgen.lines import itemised, wrapped
from reportgen.message import Message, say, say_counted
from reportgen.plan.answers import DIGITS, OWN_RUNS, STATED, Answer, Taken
from reportgen.safety.fixed import deference, lighting_notes
from reportgen.sources import SOURCES

#: How a thing that an answer rests on is known, in words.
BASES = {STATED: say("stated"), "derived": say("calculated"), OWN_RUNS: say("own runs"), "assumed": say("assumed")}
UNITS: Mapping[str, object] = {**wording.UNITS, "kg/d": say("kg a day"), "L/d": say("L a day"), "d": say("days")}
#: A value on the safe side has so many significant digits.
SAFE_DIGITS = 2
_HOLDER = say(
    "A holder drawn empty sucks in air: keep a reserve, count only the gas above it, and refill only with the burner "
    "out."
)


@dataclass(frozen=True)
class Row:
    """A figure as text: what, how much, its range, how it is known; `value` "" where it is not given, with a reason."""

    label: str
    value: str
    interval: str
    basis: str
    reason: str = ""


@dataclass(frozen=True)
class Table:
    """Rows under a heading, with sentences before them."""

    heading: str
    sentences: tuple[str, ...]
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True)
class Picture:
    """A chart on a page: its words, and the picture as an SVG element."""

    title: str
    alt: str
    svg: str


@dataclass(frozen=True)
class Page:
    """Answers to one question.

    Attributes
    ----------
    kicker, title : str
    lead : tuple of str
        Sentences, worst news first.
    tables : tuple of Table
    rests_on : tuple of (str, str, str, str)
        What, how much, why, and how it is known.
    sources : tuple of str
    safety : tuple of str
        Before lighting.
    deference : str
        That local rules prevail.
    picture : Picture or None
    """

    kicker: str
    title: str
    lead: tuple[str, ...]
    tables: tuple[Table, ...]
    rests_on: tuple[tuple[str, str, str, str], ...]
    sources: tuple[str, ...]
    safety: tuple[str, ...]
    deference: str
    picture: Picture | None = None


def row(answer: Answer) -> Row:
    """Return an answer as text."""
    basis = str(wording.BASIS[answer.basis])
    if answer.value is None or answer.interval is None:
        return Row(str(answer.label), "", "", basis, str(answer.reason or ""))
    if answer.unit == "1":
        return Row(str(answer.label), str(chances(answer.value)), "", basis)
    value, low, high, unit = shown(answer)
    between = say("{low} to {high}", low=low, high=high)
    interval = beside.held_amounts(f"{between}{beside.after_range(low, high, unit)}") if low != high else ""
    amount = beside.held_amounts(f"{value} {unit}{beside.after(value, unit)}")
    return Row(str(answer.label), amount, interval, basis)


def shown(answer: Answer) -> tuple[str, str, str, str]:
    """Return an answer that is given as text: its value, the ends of its range, which are one if there is none to show.

    The fourth is their unit. All three have the same decimals; times below an hour are in minutes.
    """
    assert answer.value is not None and answer.interval is not None
    unit, parts = answer.unit, (answer.value, *answer.interval)
    if unit == "h" and max(map(abs, parts)) < 1:
        unit, parts = "min", (60 * parts[0], 60 * parts[1], 60 * parts[2])
    if answer.as_stated:
        texts = (rounding.plain(answer.value, DIGITS), "", "")
    elif answer.on_safe_side and parts[0] > 0:
        scales = (rounding.decimals_for(parts[0], SAFE_DIGITS), rounding.decimals_for((parts[2] - parts[1]) / 2 or 1.0))
        decimals = min(max(scales), rounding.MOST_DECIMALS)
        value, low, high = (rounding.fixed(part, decimals) for part in parts)
        texts = value, low, high
    else:
        texts = rounding.about(*parts)
    return (*texts, str(UNITS.get(unit, unit)))


def about(answer: Answer) -> Message:
    """Return an answer as a phrase with its range, to stand in a sentence."""
    value, low, high, unit = shown(answer)
    if low == high:
        return say("about {value} {unit}", value=value, unit=unit)
    return say("about {value} {unit} ({low} to {high})", value=value, unit=unit, low=low, high=high)


def chances(share: float) -> Message:
    """Return a probability in words, no finer than a forecast can be: steps of 5 between 5 and 95 in 100."""
    percent = 100 * share
    if percent < 1:
        return say("less than 1 chance in 100")
    if percent > 99:
        return say("more than 99 chances in 100")
    step = 5 if 5 <= percent <= 95 else 1
    return say_counted(step * round(percent / step), "about {n} chance in 100", "about {n} chances in 100")


def taken_rows(rests_on: Sequence[Taken], *, with_options: bool = True) -> tuple[tuple[str, str, str, str], ...]:
    """Return what answers rest on as text, what is only assumed first; with the options that would state it."""
    ordered = sorted(rests_on, key=lambda taken: taken.basis != "assumed")
    return tuple((str(t.label), str(t.value), _why(t, with_options), str(BASES[t.basis])) for t in ordered)


def _why(taken: Taken, with_option: bool) -> str:
    if not (with_option and taken.option):
        return str(taken.why)
    return str(say("{why}; state it with {option}", why=taken.why, option=taken.option))


def source_texts(rests_on: Sequence[Taken], *more: str) -> tuple[str, ...]:
    """Return the sources of all that was taken, each once, with how it is known."""
    keys = dict.fromkeys([*(key for taken in rests_on for key in taken.sources), *more])
    return tuple(
        str(say("{text} ({note})", text=SOURCES[key].text, note=wording.KNOWN[SOURCES[key].known])) for key in keys
    )


def lighting_texts() -> tuple[str, ...]:
    """Return the cautions before lighting."""
    return (*(str(note.text) for note in lighting_notes()), str(_HOLDER))


def deference_text() -> str:
    """Return that local rules prevail."""
    return str(deference().text)


def page_text(page: Page, width: int) -> str:
    """Return a page in plain lines of at most `width` characters, where the words allow it."""
    parts = ["\n".join(wrapped(sentence, width) for sentence in page.lead)]
    parts += [_table(table, width) for table in page.tables]
    rests = [
        str(say("{what}: {value} ({basis}; {why})", what=what, value=value, basis=basis, why=why))
        for what, value, why, basis in page.rests_on
    ]
    for head, items in (
        (say("What this rests on:"), rests),
        (say("Sources, and how they are known to us:"), page.sources),
        (say("Before you light:"), page.safety),
    ):
        if items:
            parts.append(itemised(str(head), items, width))
    parts.append(wrapped(page.deference, width))
    return "\n\n".join(filter(None, parts)) + "\n"


def _table(table: Table, width: int) -> str:
    head = wrapped(str(say("{heading}:", heading=table.heading)), width)
    sentences = [wrapped(sentence, width) for sentence in table.sentences]
    items = [wrapped(str(_row_line(one)), width, "- ", "  ") for one in table.rows]
    return "\n".join([head, *sentences, *items])


def _row_line(one: Row) -> Message:
    if not one.value:
        return say("{label}: not given; {why}", label=one.label, why=one.reason)
    if not one.interval:
        return say("{label}: {value}, {basis}", label=one.label, value=one.value, basis=one.basis)
    return say(
        "{label}: {value} ({range}), {basis}", label=one.label, value=one.value, range=one.interval, basis=one.basis
    )
