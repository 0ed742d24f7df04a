"""What the edition for a class shows: the chain with this trial's data, worked figures, questions, an error to find.

Nothing in it is made up but the one altered reading, which says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.catalogue import KINDS
from reportgen.checklist import first_cause
from reportgen.figures import Figure, Results
from reportgen.message import Message, listed, say
from reportgen.trial import Trial
from reportgen.view.altered import AlteredView, altered_table
from reportgen.view.figure_text import figure_view, without_columns
from reportgen.view.followed import RECKONED, followed
from reportgen.view.glossary import glossary
from reportgen.view.parts import FigureView
from reportgen.view.questions import QuestionView, questions


@dataclass(frozen=True)
class Board:
    """A worked figure as on a board: the equation, the numbers put in, the result, a line each."""

    figure: FigureView
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Link:
    """A link of the chain: what happens there, and the figures of this trial that belong to it."""

    title: str
    told: str
    boards: tuple[Board, ...]
    lacking: tuple[str, ...]


@dataclass(frozen=True)
class LessonView:
    """The edition for a class, as text."""

    links: tuple[Link, ...]
    questions: tuple[QuestionView, ...]
    altered: AlteredView | None
    glossary: tuple[tuple[str, str], ...]


#: The links: title, what happens, figures worked there.
LINKS: tuple[tuple[Message, Message, tuple[str, ...]], ...] = (
    (
        say("Waste becomes gas"),
        say(
            "In a digester there is no air. Microbes that live without it turn part of the food waste into biogas: "
            "methane, which burns, and carbon dioxide, which does not. They take weeks over it, so the gas of a day "
            "comes from the feeds of many days."
        ),
        ("gas_yield_fresh",),
    ),
    (
        say("Gas is measured"),
        say(
            "The gas waits in a holder over water. As read, its volume depends on the weather: warm gas takes more "
            "room, and so does gas high up a mountain. To compare places, it is turned to what it would be at 0 °C and "
            "the pressure of the air at the sea, without water vapour: standard dry."
        ),
        ("gas_per_hour_as_read", "gas_used"),
    ),
    (
        say("Gas becomes heat"),
        say(
            "Only the methane burns: with oxygen it becomes carbon dioxide and water. The heat that this gives off, "
            "without that of condensing the water, is the net heating value."
        ),
        ("energy_used", "burner_power"),
    ),
    (
        say("Heat becomes cold"),
        say(
            "The refrigerator has no motor. The flame boils ammonia out of water. The ammonia turns liquid, runs "
            "into the cabinet, and evaporates there into hydrogen; evaporating takes heat from the cabinet. Then "
            "water soaks the ammonia up again, and the round begins anew. All heat, that of the flame and that "
            "from the cabinet, leaves at the back."
        ),
        ("cooling_rate_mean",),
    ),
    (
        say("Water becomes ice"),
        say(
            "The water gives up heat three times: to cool down to 0 °C, to freeze, and as ice to become colder still. "
            "Freezing takes the most, though the temperature stands still while it lasts."
        ),
        ("heat_removed", "cooling_power"),
    ),
    (
        say("The whole chain"),
        say("Now the first link can be set beside the last: what one kilogram of ice took."),
        ("energy_per_ice", "cop_ice", "waste_to_ice"),
    ),
)
#: The equation in words, for figures whose working begins with numbers.
EQUATIONS: dict[str, Message] = {
    "cooling_rate_mean": say("fall of the temperature / time it took"),
    "heat_removed": say("mass × heat given up by each kilogram"),
}


def build_lesson(trial: Trial, results: Results) -> LessonView:
    """Return what the edition for a class shows beside the view of the report."""
    return LessonView(
        links=tuple(_link(title, told, keys, results) for title, told, keys in LINKS),
        questions=questions(trial, results),
        altered=altered_table(trial),
        glossary=glossary(results),
    )


def board(key: str, figure: Figure) -> Board:
    """Return a figure that is given as a board; its working holds a line for each equals sign."""
    lines = str(followed(figure) if key in RECKONED else figure.working).split(" = ")
    words = EQUATIONS.get(key)
    return Board(figure_view(key, figure, short=True), (str(words), *lines) if words is not None else tuple(lines))


def _link(title: Message, told: Message, keys: tuple[str, ...], results: Results) -> Link:
    given = [key for key in keys if results[key].is_given and results[key].working is not None]
    return Link(
        str(title),
        str(told),
        tuple(board(key, results[key]) for key in given),
        _lacking([results[key] for key in keys if not results[key].is_given]),
    )


def _lacking(figures: list[Figure]) -> tuple[str, ...]:
    """Return each reason once, with the figures that are not given for it."""
    causes: dict[str, list[str]] = {}
    for figure in figures:
        causes.setdefault(without_columns(str(first_cause(figure))), []).append(str(KINDS[figure.key].label))
    return tuple(str(say("{labels}: {why}", labels=listed(labels), why=why)) for why, labels in causes.items())
