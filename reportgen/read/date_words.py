"""Words in times: month names, the halves of the day, and what may stand beside a clock time, in several languages."""

from __future__ import annotations

import unicodedata

#: Names of the months in full and short, from January on: English, French, Spanish, Swahili, German, Arabic, of which
#: those of one word, as countries differ (from memory). Accents and dots are dropped before they are looked up.
_MONTHS = (
    "january jan janvier janv enero ene januari januar يناير جانفي",
    "february feb fevrier fevr febrero februari februar فبراير شباط فيفري",
    "march mar mars marzo machi mac marz maerz mrz مارس آذار",
    "april apr avril avr abril abr aprili أبريل ابريل نيسان أفريل",
    "may mai mayo mei مايو أيار ماي",
    "june jun juin junio juni يونيو حزيران جوان",
    "july jul juillet juil julio julai juli يوليو تموز جويلية",
    "august aug aout agosto ago agosti أغسطس اغسطس آب أوت",
    "september sep sept septembre septiembre setiembre set septemba سبتمبر أيلول",
    "october oct octobre octubre oktoba okt oktober أكتوبر اكتوبر",
    "november nov novembre noviembre novemba نوفمبر",
    "december dec decembre diciembre dic desemba des dezember dez ديسمبر",
)
#: Words for the hours from midnight to noon, and from noon to midnight (from memory): English and Spanish, German,
#: Czech, Swedish, Hungarian, Greek, Arabic, Chinese and Japanese, Korean.
_MORNING = ("am", "vorm", "vormittags", "dop", "fm", "de", "πμ", "ص", "午前", "上午", "오전")
_AFTERNOON = ("pm", "nachm", "nachmittags", "odp", "em", "du", "μμ", "م", "午後", "下午", "오후")
#: Words beside a clock time that change nothing.
CLOCK_WORDS = frozenset(("", "h", "hrs", "uhr"))


def plain(text: str) -> str:
    """Return a word without case, accents, dots and blanks."""
    if text.isascii():
        return text.casefold().replace(".", "").replace(" ", "")
    apart = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(letter for letter in apart if not unicodedata.combining(letter) and letter not in ". ")
    return unicodedata.normalize("NFC", kept)


#: A plain word -> the number of the month.
MONTHS = {plain(name): number for number, names in enumerate(_MONTHS, 1) for name in names.split()}
#: A plain word -> True for the hours after noon.
HALVES = {plain(word): is_afternoon for is_afternoon, words in enumerate((_MORNING, _AFTERNOON)) for word in words}
