"""The picture of the chain from waste to ice: what went from link to link, both heats to one scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import FancyArrow, Polygon, Rectangle

from reportgen import rounding, speech, wording
from reportgen.charts import style
from reportgen.charts.chart import Chart, Said
from reportgen.figures.figure import ASSUMED, Figure
from reportgen.figures.results import Results
from reportgen.message import Message, say
from reportgen.trial import Trial

#: One link alone is no chain.
FEWEST_LINKS = 2
VALUE_SIZE = 12.0  # [pt]

#: Sizes and places [in].
BOX, TALL, BASE = 1.1, 1.42, 1.98
LEFTS = (0.06, 1.44, 3.05, 4.66, 6.04)
MIDDLE = BASE + TALL / 2
WIDEST = 1.02  # of the arrow for the heat of the flame
JOINS = 0.1  # how far below the boxes the heat from the water joins that of the flame
HEAD = 0.14
FLOOR = 0.78  # where the arrow of what is given off ends


@dataclass(frozen=True)
class _Link:
    """A link of the chain: name, figure, unit shown, factor to that unit, whether anything was recorded."""

    name: Message
    figure: Figure
    unit: str
    factor: float
    recorded: bool
    colour: str


def chain_picture(trial: Trial, results: Results, said: Said) -> Chart | None:
    """Return the picture, or None where fewer links are given than make a chain."""
    links = _links(trial, results)
    if sum(link.figure.is_given for link in links) < FEWEST_LINKS:
        return None
    below = any(results[key].is_given for key in ("waste_to_ice", "cop_ice"))
    height = style.HEIGHT if below else style.HEIGHT - BASE + 0.2
    drawing = style.sheet("chain", height)
    axes = style.panel(drawing, 0, 1, 0, 1)
    ends = (style.WIDTH, 0) if speech.current().is_right_to_left else (0, style.WIDTH)
    axes.set(xlim=ends, ylim=(style.HEIGHT - height, style.HEIGHT))
    axes.set_axis_off()
    for left, link in zip(LEFTS, links, strict=True):
        _draw_box(axes, left, link, said)
    _draw_arrows(axes, links, said)
    _draw_ratio(axes, LEFTS[0], say("Waste for 1 kg of ice"), results["waste_to_ice"], "kg", said)
    _draw_ratio(axes, LEFTS[3], say("From the water ÷ from the flame"), results["cop_ice"], "", said)
    title = say("From waste to ice")
    header = tuple(
        said(word) for word in (say("Link"), say("Value"), say("95 % from"), say("to"), say("Unit"), say("Basis"))
    )
    return Chart(
        "chain",
        title,
        _alt(links),
        style.as_svg(drawing, said(title)),
        (header, *(_row(link, said) for link in links)),
    )


def _links(trial: Trial, results: Results) -> tuple[_Link, ...]:
    gas_read = any(trial.column(name) is not None for name in ("gas_volume", "gas_level", "gas_flow"))
    fed = bool(trial.feeds) or trial.sheet.digester.specific_yield is not None
    frozen = trial.sheet.water.ice_mass is not None or (bool(trial.looks) and trial.sheet.water.mass is not None)
    gas, gas_name = results["gas_used"], say("Gas burnt,\nstandard dry")
    if not gas.is_given and results["gas_used_as_read"].is_given:
        gas, gas_name = results["gas_used_as_read"], say("Gas burnt,\nas read")
    return (
        _Link(say("Waste\nbehind the gas"), results["waste_for_run"], "kg", 1.0, fed, style.FEEDSTOCK),
        _Link(gas_name, gas, "L", 1.0, gas_read, style.GAS),
        _Link(say("Heat\nof the flame"), results["energy_used"], "MJ", 1.0, gas_read, style.HEAT),
        _Link(say("Heat taken\nfrom the water"), results["heat_removed"], "MJ", 1e-3, frozen, style.COLD),
        _Link(say("Ice\nmade"), results["ice_mass"], "kg", 1.0, frozen, style.COLD),
    )


def _numbers(figure: Figure, factor: float = 1.0) -> tuple[str, str, str]:
    low, high = figure.interval or (figure.value, figure.value)
    return rounding.about(figure.value * factor, low * factor, high * factor)


def _draw_box(axes: Axes, left: float, link: _Link, said: Said) -> None:
    given = link.figure.is_given
    axes.add_patch(
        Rectangle(
            (left, BASE),
            BOX,
            TALL,
            facecolor=style.PAPER,
            edgecolor=link.colour if given else style.THRESHOLD,
            linewidth=1.4 if given else 1.0,
            linestyle="-" if given else (0, (4, 3)),
        )
    )
    middle, top = left + BOX / 2, BASE + TALL

    def write(text: str, below: float, size: float, colour: str = style.QUIET_INK, weight: str = "normal") -> None:
        lines = text.split("\n")
        for i, line in enumerate(lines):
            down = below + size / 72 * (0.35 + 1.15 * (i - (len(lines) - 1) / 2))
            axes.text(middle, top - down, line, ha="center", va="baseline", size=size, color=colour, weight=weight)

    write(said(link.name), 0.24, style.TEXT_SIZE, style.INK)
    if not given:
        write(said(_known(link)), 0.82, style.SMALL_TEXT_SIZE)
        return
    value, low, high = _numbers(link.figure, link.factor)
    write(f"{value} {link.unit}", 0.62, VALUE_SIZE, style.INK, "bold")
    write(said(say("{low} to {high}", low=low, high=high)), 0.86, style.SMALL_TEXT_SIZE)
    basis = say("rests on an\nassumption") if link.figure.basis == ASSUMED else wording.BASIS[link.figure.basis]
    write(said(basis), 1.17, style.SMALL_TEXT_SIZE)


def _known(link: _Link) -> Message:
    """Return what is known of a link without a value."""
    if link.figure.at_most is not None:
        return say("at most {most} {unit}", most=link.figure.at_most * link.factor, unit=link.unit)
    if link.figure.at_least is not None:
        return say("at least {least} {unit}", least=link.figure.at_least * link.factor, unit=link.unit)
    return say("not given") if link.recorded else say("not recorded")


def _draw_arrows(axes: Axes, links: tuple[_Link, ...], said: Said) -> None:
    heat, cold = links[2], links[3]
    per_unit = WIDEST / heat.figure.value if heat.figure.is_given and heat.figure.value > 0 else 0.0
    for i in range(4):
        giver, taker = links[i], links[i + 1]
        start, end = LEFTS[i] + BOX + 0.05, LEFTS[i + 1] - 0.05
        if not (giver.figure.is_given and taker.figure.is_given):
            axes.plot([start, end], [MIDDLE, MIDDLE], color=style.THRESHOLD, linewidth=1.0, dashes=(3, 2))
        elif taker is heat:
            _arrow(axes, start, end, taker.figure.value * per_unit, taker.colour)
        else:
            axes.annotate(
                "",
                (end, MIDDLE),
                (start, MIDDLE),
                arrowprops={
                    "arrowstyle": "-|>",
                    "color": style.FRAME,
                    "linewidth": 1.4,
                    "shrinkA": 0,
                    "shrinkB": 0,
                },
            )
    if heat.figure.is_given and cold.figure.is_given and per_unit > 0:
        _draw_given_off(axes, heat, cold, per_unit, said)


def _draw_given_off(axes: Axes, heat: _Link, cold: _Link, per_unit: float, said: Said) -> None:
    """Draw how the heat of the flame and the heat from the water join and leave by the flue and the appliance."""
    energies = heat.figure.value * heat.factor, cold.figure.value * cold.factor
    from_flame, from_water = (energy * per_unit for energy in energies)
    middle, top = LEFTS[2] + BOX / 2, BASE - 0.06
    left = middle - (from_flame + from_water) / 2
    joint, right = left + from_flame, left + from_flame + from_water
    upper = top - JOINS
    lower, drop = upper - from_water, LEFTS[3] + 0.15
    trunk = [
        (left, top),
        (joint, top),
        (joint, upper),
        (right, upper),
        (right, FLOOR + HEAD),
        (middle, FLOOR),
        (left, FLOOR + HEAD),
    ]
    branch = [
        (drop, top),
        (drop + from_water, top),
        (drop + from_water, lower),
        (right, lower),
        (right, upper),
        (drop, upper),
    ]
    axes.add_patch(Polygon(trunk, closed=True, facecolor=style.LOST, linewidth=0))
    axes.add_patch(Polygon(branch, closed=True, facecolor=cold.colour, linewidth=0))
    total, doubt = sum(energies), 2 * heat.figure.standard_uncertainty  # that of the cold is small beside it
    amount = rounding.about(total, total - doubt, total + doubt)[0]
    below = style.SMALL_TEXT_SIZE
    notes: tuple[tuple[float, float, Message, str, float, str], ...] = (
        (middle, 0.62, say("flame + water: {total} MJ", total=amount), "center", style.TEXT_SIZE, style.INK),
        (middle, 0.3, say("given off by flue\nand appliance"), "center", below, style.QUIET_INK),
        (LEFTS[3], 0.3, say("Flows of heat are\ndrawn to one scale of energy."), _start(), below, style.QUIET_INK),
    )
    for x, y, text, side, size, colour in notes:
        weight = "bold" if size == style.TEXT_SIZE else "normal"
        axes.text(x, y, said(text), ha=side, va="center", size=size, color=colour, weight=weight, linespacing=1.15)


def _arrow(axes: Axes, start: float, end: float, width: float, colour: str) -> None:
    axes.add_patch(
        FancyArrow(
            start,
            MIDDLE,
            end - start,
            0,
            width=width,
            length_includes_head=True,
            head_length=HEAD,
            head_width=max(width, 0.16),
            facecolor=colour,
            linewidth=0,
        )
    )


def _draw_ratio(axes: Axes, left: float, name: Message, ratio: Figure, unit: str, said: Said) -> None:
    if not ratio.is_given:
        return
    value, low, high = _numbers(ratio)
    quiet: dict[str, Any] = {"ha": _start(), "va": "center", "size": style.SMALL_TEXT_SIZE, "color": style.QUIET_INK}
    axes.text(left, 1.5, said(name), **quiet)
    axes.text(left, 1.26, f"{value} {unit}".strip(), ha=_start(), va="center", size=VALUE_SIZE, weight="bold")
    axes.text(left, 1.03, said(say("{low} to {high}", low=low, high=high)), **quiet)


def _start() -> str:
    """Return on which side of a place a text begins: the chain runs as the language is written."""
    return "right" if speech.current().is_right_to_left else "left"


def _alt(links: tuple[_Link, ...]) -> Message:
    def amount(link: _Link) -> Message:
        if not link.figure.is_given:
            return _known(link)
        return say("{value} {unit}", value=_numbers(link.figure, link.factor)[0], unit=link.unit)

    waste, gas, heat, cold, ice = map(amount, links)
    return say(
        "The chain from waste to ice: waste behind the gas {waste}, gas burnt {gas}, "
        "heat of the flame {heat}, heat taken from the water {cold}, ice made {ice}.",
        waste=waste,
        gas=gas,
        heat=heat,
        cold=cold,
        ice=ice,
    )


def _row(link: _Link, said: Said) -> tuple[str, ...]:
    name = said(link.name).replace("\n", " ")
    if not link.figure.is_given:
        return (name, said(_known(link)), "", "", link.unit, "")
    return (name, *_numbers(link.figure, link.factor), link.unit, said(wording.BASIS[link.figure.basis]))
