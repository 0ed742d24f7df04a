"""The picture of the chain from waste to ice: what went from link to link, both heats to one scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing
from matplotlib.patches import FancyArrow, Polygon, Rectangle

from reportgen import rounding, wording
from reportgen.charts import style
from reportgen.charts.style import Chart, Said
from reportgen.figures.figure import ASSUMED, Figure
from reportgen.figures.results import Results
from reportgen.message import Message, say
from reportgen.trial import Trial

#: Significant digits of a number in the picture, at most.
DIGITS = 3
VALUE_SIZE = 12.0  # [pt]

#: Sizes and places [in].
BOX, TALL, BASE = 1.1, 1.42, 1.98
LEFTS = (0.06, 1.44, 3.05, 4.66, 6.04)
MIDDLE = BASE + TALL / 2
WIDEST = 1.02  # of the arrow for the heat of the flame, or for the cold where that is all there is
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
    """Return the picture, or None where no link is given."""
    links = _links(trial, results)
    if not any(link.figure.is_given for link in links):
        return None
    below = any(results[key].is_given for key in ("waste_to_ice", "cop_ice"))
    height = style.HEIGHT if below else style.HEIGHT - BASE + 0.2
    drawing = Drawing(figsize=(style.WIDTH, height))
    axes = drawing.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, style.WIDTH), ylim=(style.HEIGHT - height, style.HEIGHT))
    axes.set_axis_off()
    for left, link in zip(LEFTS, links, strict=True):
        _draw_box(axes, left, link, said)
    _draw_arrows(axes, links, said)
    _draw_ratio(axes, LEFTS[0], say("Waste for 1 kg of ice"), results["waste_to_ice"], "kg", said)
    _draw_ratio(axes, LEFTS[3], say("From the water ÷ from the flame"), results["cop_ice"], "", said)
    title = say("From waste to ice")
    header = tuple(said(say(word)) for word in ("Link", "Value", "95 % from", "to", "Unit", "Basis"))
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


def shown(value: float, low: float, high: float) -> tuple[str, str, str]:
    """Return a value and the ends of its range with the decimals the range supports, three digits at most."""
    largest = max(abs(value), abs(low), abs(high))
    if largest == 0 or not high > low:
        return (rounding.plain(value, DIGITS),) * 3
    most = DIGITS - 1 - math.floor(math.log10(largest))
    fine = rounding.decimals_for((high - low) / 2, 1)
    # A range too narrow for three digits is still shown as a range.
    decimals = min(rounding.decimals_for((high - low) / 4), max(most, fine))
    return rounding.fixed(value, decimals), rounding.fixed(low, decimals), rounding.fixed(high, decimals)


def _numbers(figure: Figure, factor: float = 1.0) -> tuple[str, str, str]:
    low, high = figure.interval or (figure.value, figure.value)
    return shown(figure.value * factor, low * factor, high * factor)


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
    energies = [link.figure.value * link.factor for link in (heat, cold) if link.figure.is_given]
    per_unit = WIDEST / max(energies) if energies and max(energies) > 0 else 0.0
    for i in range(4):
        giver, taker = links[i], links[i + 1]
        start, end = LEFTS[i] + BOX + 0.05, LEFTS[i + 1] - 0.05
        if not (giver.figure.is_given and taker.figure.is_given):
            axes.plot([start, end], [MIDDLE, MIDDLE], color=style.THRESHOLD, linewidth=1.0, dashes=(3, 2))
        to_scale = taker in (heat, cold) and taker.figure.is_given
        if to_scale:
            _arrow(axes, start, end, taker.figure.value * taker.factor * per_unit, taker.colour)
        elif giver.figure.is_given and taker.figure.is_given:
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
    if len(energies) < 2:
        return
    # What the flame gives and what the water gives both leave by the flue and the appliance's back: nothing else can.
    total = energies[0] + energies[1]
    width, middle = total * per_unit, LEFTS[2] + BOX / 2
    axes.add_patch(
        Polygon(
            [
                (middle - width / 2, BASE - 0.06),
                (middle + width / 2, BASE - 0.06),
                (middle + width / 2, FLOOR + HEAD),
                (middle, FLOOR),
                (middle - width / 2, FLOOR + HEAD),
            ],
            closed=True,
            facecolor=style.LOST,
            linewidth=0,
        )
    )
    doubt = 2 * heat.figure.standard_uncertainty  # that of the cold is small beside it
    least = shown(total, total - doubt, total + doubt)[0]
    axes.text(
        LEFTS[3],
        0.3,
        said(say("Arrows of heat are\ndrawn to one scale of energy.")),
        va="center",
        size=style.SMALL_TEXT_SIZE,
        color=style.QUIET_INK,
        linespacing=1.15,
    )
    axes.text(
        middle,
        0.62,
        said(say("{total} MJ", total=least)),
        ha="center",
        va="center",
        size=style.TEXT_SIZE,
        weight="bold",
    )
    axes.text(
        middle,
        0.3,
        said(say("given off by flue\nand appliance")),
        ha="center",
        va="center",
        size=style.SMALL_TEXT_SIZE,
        color=style.QUIET_INK,
        linespacing=1.15,
    )


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
    axes.text(left, 1.5, said(name), va="center", size=style.SMALL_TEXT_SIZE, color=style.QUIET_INK)
    axes.text(left, 1.26, f"{value} {unit}".strip(), va="center", size=VALUE_SIZE, weight="bold")
    axes.text(
        left,
        1.03,
        said(say("{low} to {high}", low=low, high=high)),
        va="center",
        size=style.SMALL_TEXT_SIZE,
        color=style.QUIET_INK,
    )


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
