"""How the program speaks to its reader: in which language, with which numbers and dates, with whose units beside.

English with SI units is what everything is written in; another way of speaking holds for a block of code (`speaking`),
as the way of writing does for a page. What is stored is never spoken: results files are written in `ENGLISH`.
"""

from __future__ import annotations

import datetime as dt
import functools
import gettext
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.errors import ReportgenError
from reportgen.resources import templates_folder

if TYPE_CHECKING:
    import babel

FOLDER = "languages"
UNITS = ("si", "us")
#: A language's tag as in BCP 47: ``fr``, ``pt-BR``.
_TAG = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
#: A comment at the head of a catalogue: who has read the translation, a native speaker of the language.
_REVIEW = re.compile(r"Reviewed by a native speaker: *(.+)")
NOBODY = "not yet"
#: Around what is put into a sentence from right to left, so that it keeps its own direction (Unicode TR 9, 2.7).
ISOLATE, END_ISOLATE = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
LEFT_TO_RIGHT, RIGHT_TO_LEFT = "\N{LEFT-TO-RIGHT ISOLATE}", "\N{RIGHT-TO-LEFT ISOLATE}"
#: A blank at which no line ends.
NO_BREAK = "\N{NO-BREAK SPACE}"
#: Gaps of a sentence are plain names: what a translation might reach through more than a name is nobody's business.
GAP = re.compile(r"\{(\w+)\}")
_BRACED = re.compile(r"\{([^{}]*)\}")
#: A catalogue has some 300 kB; more than this is none of ours [bytes] (ours).
LARGEST_CATALOGUE = 5_000_000
#: Of what the library says, at most (ours).
LONGEST_REASON = 160
#: Numbers with which a rule of plural forms is tried: those of every rule there is repeat after a hundred.
_TRIED = range(1001)
_DIRECTION_SIGNS = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])
#: A letter outside the gaps of a sentence: without one there is nothing to translate.
_WORD = re.compile(r"[^\W\d_](?![^{]*\})")
_OPENING = (LEFT_TO_RIGHT, RIGHT_TO_LEFT, ISOLATE)


@dataclass(frozen=True, slots=True)
class Manner:
    """What is asked for: a language by its tag, units, and a folder of templates and catalogues of the reader's own."""

    language: str = "en"
    units: str = "si"
    folder: Path | None = None


def _english_plural(n: int) -> int:
    return int(n != 1)


@dataclass(frozen=True, eq=False)
class Speech:
    """A way of speaking.

    Attributes
    ----------
    tag : str
        Language as in BCP 47.
    units : str
        ``si``, or ``us`` for degrees Fahrenheit, pounds and cubic feet beside.
    messages : mapping
        English sentence -> its translations, one a plural form.
    plural : callable
        Which of the plural forms a number takes.
    decimal_mark : str
    is_right_to_left : bool
    reviewer : str
        Who has read the translation; "" if nobody has yet.
    folder : Path or None
        Of templates of the reader's own.
    lacking : set of str
        English sentences asked for that have no translation; it fills while the program speaks.
    """

    tag: str = "en"
    units: str = "si"
    messages: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    plural: Callable[[int], int] = _english_plural
    decimal_mark: str = "."
    is_right_to_left: bool = False
    reviewer: str = ""
    folder: Path | None = None
    lacking: set[str] = field(default_factory=set)

    @property
    def is_english(self) -> bool:
        """Whether nothing needs to be translated."""
        return self.tag == "en"

    @property
    def direction(self) -> str:
        """As HTML has it."""
        return "rtl" if self.is_right_to_left else "ltr"

    @property
    def name(self) -> str:
        """Name of the language in itself."""
        return "English" if self.is_english else str(_locale(self.tag).get_display_name())

    def sentence(self, text: str, plural: str = "", n: int = 1) -> str:
        """Return what is said for English `text` (or `plural`, for `n`), with its gaps; in English if nothing is."""
        if self.is_english or not text:
            return plural if plural and n != 1 else text
        found = self.messages.get(text)
        if found is None:
            if _WORD.search(text):
                self.lacking.add(text)
            return plural if plural and n != 1 else text
        return found[self.plural(n)] if plural else found[0]

    def number(self, text: str) -> str:
        """Return a number written with a decimal point as readers of the language write it."""
        return text if self.decimal_mark == "." else text.replace(".", self.decimal_mark)

    def number_of(self, text: str) -> float:
        """Return the number that `number` wrote.

        Raises
        ------
        ValueError
            If it is none.
        """
        return float(text.replace(self.decimal_mark, ".").replace("\N{MINUS SIGN}", "-"))

    def date(self, day: dt.date) -> str:
        """Return a day as readers of the language write it; in English as ISO 8601 does, which all of them read."""
        if self.is_english:
            return day.isoformat()
        from babel.dates import format_date

        return format_date(day, "long", locale=_locale(self.tag))

    def inserted(self, text: str) -> str:
        """Return a text as it stands in a sentence, where it keeps its own direction."""
        if not self.is_right_to_left or not text:
            return text
        return f"{ISOLATE}{text if _is_held(text) else text.translate(_DIRECTION_SIGNS)}{END_ISOLATE}"


def _is_held(text: str) -> bool:
    """Return whether all direction signs of a text are isolates that end in it, so that it turns nothing around it."""
    depth = 0
    for sign in text:
        depth += (sign in _OPENING) - (sign == END_ISOLATE)
        if depth < 0 or 0x202A <= ord(sign) <= 0x202E:
            return False
    return depth == 0


ENGLISH = Speech()
_current: ContextVar[Speech] = ContextVar("speech", default=ENGLISH)


def with_gaps_filled(sentence: str, values: Mapping[str, str]) -> str:
    """Return a sentence with the values in its gaps; nothing but a plain name between braces is a gap.

    Raises
    ------
    KeyError
        If there is no value for a gap.
    """
    return GAP.sub(lambda gap: values[gap[1]], sentence)


def current() -> Speech:
    """Return the way of speaking that holds here."""
    return _current.get()


@contextmanager
def speaking(speech: Speech) -> Iterator[Speech]:
    """Speak so within the block; what was lacking before is forgotten."""
    mine = replace(speech, lacking=set())
    token = _current.set(mine)
    try:
        yield mine
    finally:
        _current.reset(token)


def load(manner: Manner) -> Speech:
    """Return the way of speaking that is asked for.

    Raises
    ------
    ReportgenError
        If there is no such catalogue or it cannot be read.
    """
    tag, known = manner.language, languages(manner.folder)
    catalogue = known.get(tag)
    if tag != "en" and catalogue is None:
        names = ", ".join(sorted(known))
        raise ReportgenError("language-unknown", f'--language: found "{tag[:40]}", expected one of {names}.')
    spoken = ENGLISH if catalogue is None else _read(tag, catalogue)
    return replace(spoken, units=manner.units, folder=manner.folder)


def languages(folder: Path | None = None) -> dict[str, Path | None]:
    """Return the languages there are with their catalogues; English needs none."""
    found: dict[str, Path | None] = {"en": None}
    for place in filter(None, (templates_folder(), folder)):
        catalogues = sorted(path for path in (place / FOLDER).glob("*.po") if path.is_file())
        found |= {path.stem: path for path in catalogues if _TAG.fullmatch(path.stem)}
    return found


@functools.cache
def _read(tag: str, path: Path) -> Speech:
    from babel.messages.pofile import read_po
    from babel.numbers import get_decimal_symbol

    locale = _locale(tag)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_CATALOGUE + 1)
        if len(data) > LARGEST_CATALOGUE:
            raise ValueError(f"it has more than {LARGEST_CATALOGUE // 10**6} MB")
        catalogue = read_po(io.BytesIO(data), locale=locale, abort_invalid=True)
        plural = _plural(catalogue.plural_expr, catalogue.num_plurals)
    except Exception as error:  # a file of anybody's makes the library that reads it fail in many ways
        why = " ".join(str(error).split())[:LONGEST_REASON]
        raise ReportgenError(
            "language-unreadable", f"{path.name}: the catalogue of the language {tag} cannot be read ({why})."
        ) from error
    messages: dict[str, tuple[str, ...]] = {}
    for message in catalogue:
        one = message.id if isinstance(message.id, str) else message.id[0]
        said = (message.string,) if isinstance(message.string, str) else tuple(message.string or ())
        if one and said and all(said) and not message.fuzzy:
            forms = 1 if isinstance(message.id, str) else catalogue.num_plurals
            messages[one] = _checked(said, message.id, forms, path)
    review = _REVIEW.search(catalogue.header_comment)
    reviewer = review[1].strip() if review else NOBODY
    return Speech(
        tag=tag,
        messages=messages,
        plural=plural,
        decimal_mark=get_decimal_symbol(locale, numbering_system="latn"),
        is_right_to_left=locale.text_direction == "rtl",
        reviewer="" if reviewer == NOBODY else reviewer,
    )


def _plural(rule: str, forms: int) -> Callable[[int], int]:
    """Return which of so many plural forms a number takes.

    Raises
    ------
    ValueError
        If the rule cannot be read, or names a form that there is not.
    """
    found = gettext.c2py(rule)
    try:
        taken = {n: found(n) for n in _TRIED}
    except ArithmeticError as error:
        raise ValueError(f"its rule of plural forms cannot be computed: {error}") from error
    if not all(0 <= form < forms for form in taken.values()):
        raise ValueError(f"its rule of plural forms names one that is none of {forms}")
    # Beyond those tried, it is the form of the number that ends alike.
    return lambda n: taken[n] if n in taken else taken[n % 100 + 100]


def _checked(said: tuple[str, ...], text: str | Sequence[str], forms: int, path: Path) -> tuple[str, ...]:
    """Return a translation with as many forms as the language has, and no gap but those of the English sentence.

    Raises
    ------
    ReportgenError
        That names the sentence and what is wrong.
    """
    english = (text,) if isinstance(text, str) else tuple(text)
    gaps = {gap for sentence in english for gap in _BRACED.findall(sentence)}
    foreign = sorted({gap for sentence in said for gap in _BRACED.findall(sentence)} - gaps)
    place = f'{path.name}: the translation of "{english[0][:60]}"'
    if foreign:
        known = ", ".join(f"{{{gap}}}" for gap in sorted(gaps)) or "none"
        raise ReportgenError(
            "language-unreadable", f"{place} has the gap {{{foreign[0][:40]}}}.\nThe English sentence has {known}."
        )
    if len(said) != forms:
        raise ReportgenError("language-unreadable", f"{place} has {len(said)} forms; the language has {forms}.")
    return said


def _locale(tag: str) -> babel.Locale:
    import babel

    try:
        return babel.Locale.parse(tag, sep="-")
    except (ValueError, babel.UnknownLocaleError) as error:
        raise ReportgenError(
            "language-unknown", f'--language: no way of writing numbers and dates is known for "{tag}".'
        ) from error
