"""Everyday words, by language: what people call columns, events and the state of ice beside the names of ours.

Another language is another module with the same tables, and its line here; no code knows the words. Words match without
case, accents and marks, and in any order. What two languages use for different things is asked about.
"""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.everyday import arabic, english, french, spanish, swahili
from reportgen.everyday.letters import Words

#: English is last: of a word that means several things in several languages, that of the others is the likelier.
_LANGUAGES = {"fr": french, "es": spanish, "sw": swahili, "ar": arabic, "en": english}
#: The language that the names of ours are in.
OURS = "en"

#: What may be joined to the front of a word and adds nothing; "" where nothing is.
ARTICLE: Mapping[str, str] = {tag: words.ARTICLE for tag, words in _LANGUAGES.items()}
#: In names of columns: word -> the word it is matched as; a single letter stands for one beside another word only.
SHORT: Mapping[str, Mapping[str, str]] = {tag: words.SHORT for tag, words in _LANGUAGES.items()}
#: Words that add nothing.
FILLERS: Mapping[str, frozenset[str]] = {tag: words.FILLERS for tag, words in _LANGUAGES.items()}
#: Our column -> what else it is called, only where that can mean nothing else in the log of a trial.
COLUMNS: Mapping[str, Words] = {tag: words.COLUMNS for tag, words in _LANGUAGES.items()}
#: What names a thing and not what of it is read -> the columns it may be; a unit that fits one alone settles it.
WITH_UNIT: Mapping[str, Words] = {tag: words.WITH_UNIT for tag, words in _LANGUAGES.items()}
#: What may be any of several columns, or is one of ours only by somebody's word.
DOUBTFUL: Mapping[str, Words] = {tag: words.DOUBTFUL for tag, words in _LANGUAGES.items()}
#: Kind of event -> what people write.
EVENTS: Mapping[str, Words] = {tag: words.EVENTS for tag, words in _LANGUAGES.items()}
#: What of an event says that it is not the first of its kind.
AGAIN: Mapping[str, frozenset[str]] = {tag: words.AGAIN for tag, words in _LANGUAGES.items()}
#: What of a flame-out says that nobody put the flame out.
BY_ITSELF: Mapping[str, frozenset[str]] = {tag: words.BY_ITSELF for tag, words in _LANGUAGES.items()}
#: State of the ice -> what people write for it; the state is a word of ours or a percentage.
ICE: Mapping[str, Words] = {tag: words.ICE for tag, words in _LANGUAGES.items()}
