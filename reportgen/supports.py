"""Which figures a log supports, and which one more column or line would give: each is added in thought and computed."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.catalogue import GROUPS, KINDS
from reportgen.checklist import first_cause
from reportgen.figures import Results, compute
from reportgen.message import say
from reportgen.trial import Trial
from reportgen.what_if import CANDIDATES, TOGETHER, with_all

#: At most so many suggestions are made: more is not read.
MOST_SUGGESTIONS = 6


@dataclass(frozen=True)
class Suggestion:
    """Something to write down next time.

    Attributes
    ----------
    lines : tuple of str
        The header of a column or a line of `trial.toml`, or several of them.
    gives : tuple of str
        Keys of the figures that would be given with it and are not given without.
    """

    lines: tuple[str, ...]
    gives: tuple[str, ...]

    @property
    def add(self) -> str:
        """All that is to be written down, in English."""
        return " and ".join(self.lines)


def given_keys(results: Results) -> tuple[str, ...]:
    """Return the keys of the figures that are given, in the order of the catalogue."""
    return tuple(key for key, figure in results.figures.items() if figure.is_given)


def given_groups(results: Results) -> dict[str, list[str]]:
    """Return the labels of the figures that are given, by their group in the catalogue; groups without any left out.

    A figure that rests on an assumption says so.
    """
    assumed = {key for key, figure in results.figures.items() if figure.basis == "assumed"}
    labels = {
        key: str(say("{label} (assumed)", label=KINDS[key].label) if key in assumed else KINDS[key].label)
        for key in given_keys(results)
    }
    found = {group: [label for key, label in labels.items() if KINDS[key].group == group] for group in GROUPS}
    return {group: parts for group, parts in found.items() if parts}


def missing_by_reason(results: Results) -> dict[str, list[str]]:
    """Return the labels of the figures that are not given, by the reason, without those that few trials can give."""
    found: dict[str, list[str]] = {}
    for key, figure in results.figures.items():
        if not figure.is_given and not KINDS[key].is_extra:
            found.setdefault(str(first_cause(figure)), []).append(str(KINDS[key].label))
    return found


def suggestions(trial: Trial, results: Results) -> list[Suggestion]:
    """Return what one more column or line would give, the most figures first.

    Each candidate that the trial lacks is added with invented values that suit the trial, and every figure is computed
    anew. Two together are named only where they give what neither gives alone.
    """
    before = set(given_keys(results))

    def gain(changed: Trial) -> tuple[str, ...]:
        return tuple(key for key in given_keys(compute(changed)) if key not in before)

    alone = {line: gain(candidate.add(trial)) for line, candidate in CANDIDATES.items() if candidate.is_missing(trial)}
    found = [Suggestion((line,), keys) for line, keys in alone.items() if keys]
    for lines in TOGETHER:
        changed = with_all(trial, lines)
        keys = gain(changed) if changed is not None else ()
        if set(keys).difference(*(alone.get(line, ()) for line in lines)):
            found.append(Suggestion(lines, keys))
    return sorted(found, key=lambda suggestion: -len(suggestion.gives))[:MOST_SUGGESTIONS]
