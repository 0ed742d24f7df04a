"""View to text through the templates: HTML with escaping, Markdown with its own, notes sanitised."""

from __future__ import annotations

import functools
import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import jinja2
import markdown
import nh3
from markupsafe import Markup

from reportgen.errors import OutputError

#: Longer notes than this are cut, with a remark: they are notes, and Markdown may be slow on hostile text.
LONGEST_NOTES = 20_000
LONGEST_LINE = 1_000
_NOTE_TAGS = {
    "p",
    "em",
    "strong",
    "code",
    "pre",
    "ul",
    "ol",
    "li",
    "blockquote",
    "br",
    "hr",
    "a",
    "h3",
    "h4",
    "h5",
    "h6",
}
_MARKDOWN_SIGNS = re.compile(r"([\\`*_\[\]>#])")
#: An ampersand that would make a character reference of what follows it.
_REFERENCE = re.compile(r"&(?=#?\w+;)")
#: Signs that not every reader of Markdown takes a backslash before; all of them know the references.
_REFERENCES = {"<": "&lt;", "|": "&#124;", "~": "&#126;"}
#: What begins an item of a list, a rule or an underlined heading at the start of a line, and nowhere else.
_BULLET = re.compile(r"^([-+])(?=\s|$|[-\s]*$)")
_NUMBER = re.compile(r"^(\d+)([.)])(?=\s|$)")
_UNDERLINE = re.compile(r"^=(?==*$)")


def templates_folder() -> Path:
    """Return where the report templates are: inside an installed package, or beside it in a checkout.

    Raises
    ------
    OutputError
        If they are in neither place.
    """
    inside = Path(str(files("reportgen"))) / "templates"
    beside = Path(__file__).resolve().parent.parent / "templates"
    for folder in (inside, beside):
        if folder.is_dir():
            return folder
    raise OutputError(
        "templates-missing", "The report templates are missing from this installation.\nInstall reportgen again."
    )


def render_html(template: str, **values: Any) -> str:
    """Return the HTML of a template; all values are escaped."""
    return _environment(html=True).get_template(template).render(**values)


def render_markdown(template: str, **values: Any) -> str:
    """Return the Markdown of a template, without runs of blank lines."""
    text = _environment(html=False).get_template(template).render(**values)
    return re.sub(r"\n{3,}", "\n\n", text).strip() + "\n"


def notes_to_html(notes: str) -> Markup:
    """Return the operator's Markdown notes as HTML of a few harmless tags; tags in them show as text."""
    lines = [line[:LONGEST_LINE] for line in notes[:LONGEST_NOTES].splitlines()]
    reader = markdown.Markdown(extensions=["sane_lists"])
    reader.preprocessors.deregister("html_block")
    reader.inlinePatterns.deregister("html")
    raw = reader.convert("\n".join(lines))
    # A note's headings come below those of the report.
    raw = re.sub(r"<(/?)h[12]>", r"<\1h4>", raw)
    return Markup(
        nh3.clean(raw, tags=_NOTE_TAGS, url_schemes={"http", "https", "mailto"}, link_rel="noopener noreferrer")
    )


def escape_markdown(value: object) -> str:
    """Return text that Markdown shows as it is, on one line."""
    text = _MARKDOWN_SIGNS.sub(r"\\\1", _REFERENCE.sub("&amp;", " ".join(str(value).split())))
    text = _NUMBER.sub(r"\1\\\2", _BULLET.sub(r"\\\1", text))
    for sign, reference in _REFERENCES.items():
        text = text.replace(sign, reference)
    return _UNDERLINE.sub("&#61;", text)


def code_markdown(value: str) -> str:
    """Return text as a piece of Markdown code, on one line."""
    return f"`{' '.join(value.split()).replace('`', chr(39))}`"


def quote_markdown(value: str) -> str:
    """Return a text of several lines as a Markdown quotation of plain text."""
    return "\n".join(f"> {escape_markdown(line)}".rstrip() for line in value[:LONGEST_NOTES].splitlines())


def css_string(value: str) -> Markup:
    """Return text as it stands between quotation marks in a style sheet, harmless there and in the page around it."""
    return Markup(re.sub(r"[^A-Za-z0-9]", lambda sign: f"\\{ord(sign[0]):06x}", value))


@functools.cache
def _environment(html: bool) -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(templates_folder()),
        autoescape=html,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["md"] = escape_markdown
    environment.filters["md_code"] = code_markdown
    environment.filters["md_quote"] = quote_markdown
    environment.filters["css"] = css_string
    environment.filters["notes"] = notes_to_html
    return environment
