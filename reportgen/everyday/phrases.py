"""Phrases as they are compared: by their words, in any order, without what adds nothing in their language."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping

from reportgen import everyday
from reportgen.everyday.letters import Words, bare

_MARKS = re.compile(r"[\s_\-./:,;'\"()\[\]\u060c\u061b]+")

#: The words of a phrase.
Key = tuple[str, ...]


@functools.lru_cache(maxsize=4096)
def normalised(name: str) -> str:
    """Return `name` as it is matched: without case, accents, spaces, hyphens, underscores, points and slashes."""
    return re.sub(r"[\s_\-./:'\"]+", "", bare(name))


@functools.lru_cache(maxsize=4096)
def _split(text: str) -> Key:
    """Return the words of a text without case, accents and marks."""
    spaced = bare(re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)).replace("%", " % ")
    return tuple(word for word in _MARKS.split(spaced) if word)


def _stem(word: str, language: str) -> str:
    """Return a bare word without the article that is joined to it."""
    article = everyday.ARTICLE[language]
    return word[len(article) :] if article and word.startswith(article) and len(word) > len(article) + 1 else word


_SHORT = {
    language: {_stem(bare(word), language): _stem(bare(whole), language) for word, whole in words.items()}
    for language, words in everyday.SHORT.items()
}
_FILLERS = {
    language: frozenset(_stem(bare(word), language) for word in words) for language, words in everyday.FILLERS.items()
}


def _words_in(text: str, language: str, short: Mapping[str, str]) -> Key:
    """Return the words of a text as a language has them, without those that add nothing."""
    words = [_stem(word, language) for word in _split(text)]
    known = [short.get(word, word) if len(word) > 1 or len(words) > 1 else word for word in words]
    return tuple(word for word in known if word not in _FILLERS[language])


def key(text: str, language: str) -> Key:
    """Return the words of a text in order of the alphabet."""
    return tuple(sorted(_words_in(text, language, {})))


def name_words(text: str, language: str) -> Key:
    """Return the words of a name of a column in their order, each as it is matched."""
    return _words_in(text, language, _SHORT[language])


def name_key(text: str, language: str) -> Key:
    """Return the words of a name of a column in order of the alphabet, each as it is matched."""
    return tuple(sorted(name_words(text, language)))


def phrases(words: Words) -> Iterator[tuple[str, str]]:
    """Return each phrase of a table and what it stands for."""
    return ((phrase, meaning) for meaning, written in words.items() for phrase in written)


def spellings(phrase: str, language: str) -> Iterator[str]:
    """Return a phrase written as one word, and with each word cut short."""
    words = [_stem(word, language) for word in _split(phrase)]
    yield normalised(phrase)
    for i, word in enumerate(words):
        for cut, whole in _SHORT[language].items():
            if whole == word and len(cut) > 1:
                yield "".join((*words[:i], cut, *words[i + 1 :]))
