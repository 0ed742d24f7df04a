"""The options by which a reader is spoken to: language, units, templates of one's own; the same for every command."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from reportgen import speech
from reportgen.errors import ReportgenError
from reportgen.message import printable

Command = TypeVar("Command", bound=Callable[..., Any])


def manner_options(command: Command) -> Command:
    """Add the options; the command is given them as one `manner`."""

    @functools.wraps(command)
    def called(*arguments: Any, language: str, units: str, templates: Path | None, **others: Any) -> Any:
        manner = speech.Manner(language, units, None if templates is None else templates.resolve())
        try:
            if manner.folder is not None:
                from reportgen.render import check_own_templates

                check_own_templates(manner.folder)
            speech.load(manner)
        except ReportgenError as error:
            raise click.UsageError(printable(str(error))) from error
        return command(*arguments, manner=manner, **others)

    for option in (
        click.option(
            "--templates",
            type=click.Path(path_type=Path, file_okay=False),
            metavar="DIR",
            help="Folder of your own templates, which override blocks of ours, and catalogues of languages.",
        ),
        click.option(
            "--units",
            type=click.Choice(speech.UNITS),
            default="si",
            show_default=True,
            help="us: show °F, lb and ft³ beside; what is stored stays in SI units.",
        ),
        click.option(
            "--language",
            metavar="TAG",
            default="en",
            show_default=True,
            help="Language of what you read, such as fr, es, sw or ar; what is stored stays in English.",
        ),
    ):
        called = option(called)
    return called  # type: ignore[return-value]


def spoken(command: Command) -> Command:
    """Add the options, and speak so for as long as the command runs."""

    @functools.wraps(command)
    def called(*arguments: Any, manner: speech.Manner, **others: Any) -> Any:
        with speech.speaking(speech.load(manner)):
            return command(*arguments, **others)

    return manner_options(called)  # type: ignore[return-value]
