"""View to text through the templates: HTML with escaping, Markdown with its own, notes sanitised."""

from __future__ import annotations

import contextlib
import functools
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jinja2
import jinja2.bccache
from markupsafe import Markup, escape

from reportgen import beside, own_templates, speech
from reportgen.message import Message, say, say_counted
from reportgen.resources import templates_folder

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


def render_html(template: str, **values: Any) -> str:
    """Return the HTML of a template; all values are escaped, and no line ends between a number and its unit."""
    return beside.on_one_line(_rendered(True, template, values))


def render_markdown(template: str, **values: Any) -> str:
    """Return the Markdown of a template, as `render_text` does, where no line ends between a number and its unit."""
    return beside.on_one_line(render_text(template, **values))


def render_text(template: str, **values: Any) -> str:
    """Return the plain text of a template, without runs of blank lines; its blanks are those of any keyboard."""
    text = _rendered(False, template, values)
    return re.sub(r"\n{3,}", "\n\n", text).strip() + "\n"


def notes_to_html(notes: str) -> Markup:
    """Return the operator's Markdown notes as HTML of a few harmless tags; tags in them show as text."""
    import markdown  # not needed by a trial without notes
    import nh3

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


def _said(text: str, /, **values: Any) -> str:
    """Return a sentence of a template in the language spoken; values have been made harmless."""
    return str(say(text, **values))


def _counted(n: int, one: str, many: str, /, **values: Any) -> str:
    """Return `one` or `many`, as `_said` returns a sentence."""
    return str(say_counted(n, one, many, **values))


def _said_in_html(text: str, /, **values: Any) -> Markup:
    """Return a sentence of a template in the language spoken; what is no markup yet is escaped."""
    return _marked_up(say(text, **values))


def _counted_in_html(n: int, one: str, many: str, /, **values: Any) -> Markup:
    """Return `one` or `many`, as `_said_in_html` returns a sentence."""
    return _marked_up(say_counted(n, one, many, **values))


def _marked_up(message: Message) -> Markup:
    sentence, said = message.spoken()
    held = {name: value if isinstance(value, Markup) else escape(said[name]) for name, value in message.values.items()}
    return Markup(speech.with_gaps_filled(escape(sentence), held))


def check_own_templates(own: Path) -> None:
    """See that a reader's own templates fit ours.

    Raises
    ------
    ReportgenError
        If one has a name, a block or a value that ours have not, or cannot be read.
    """
    own_templates.check(own, _environment(True, own))


def _rendered(html: bool, template: str, values: Mapping[str, Any]) -> str:
    own = speech.current().folder
    if own is None:
        return _environment(html, None).get_template(template).render(**values)
    try:
        text = _environment(html, own).get_template(template).render(**values)
    except own_templates.SLIPS as error:
        raise own_templates.told(error, own) from error
    if html:
        own_templates.check_page(text, str(values.get("script_source", "")), own)
    return text


class _Compiled(jinja2.FileSystemBytecodeCache):
    """Our templates as Python has compiled them, kept beside them as Python keeps modules, where that can be.

    Those of pages and of texts are kept apart: whether values are escaped is settled when a template is compiled.
    """

    def __init__(self, html: bool) -> None:
        self.folder = templates_folder() / "__pycache__"
        super().__init__(str(self.folder), f"{'page' if html else 'text'}-%s.pyc")

    def dump_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        """Keep a template; a folder that cannot be written to costs time and nothing else."""
        if not sys.dont_write_bytecode:
            with contextlib.suppress(OSError):
                self.folder.mkdir(exist_ok=True)
                super().dump_bytecode(bucket)


@functools.cache
def _environment(html: bool, own: Path | None) -> jinja2.Environment:
    kind = jinja2.Environment if own is None else own_templates.Sandbox
    environment = kind(
        loader=own_templates.loader(own),
        bytecode_cache=_Compiled(html) if own is None else None,
        autoescape=html,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.globals["say"] = _said_in_html if html else _said
    environment.globals["say_counted"] = _counted_in_html if html else _counted
    environment.globals["speech"] = speech.current
    environment.globals["policy"] = Markup(own_templates.POLICY)
    environment.filters["md"] = escape_markdown
    environment.filters["md_code"] = code_markdown
    environment.filters["md_quote"] = quote_markdown
    environment.filters["css"] = css_string
    environment.filters["notes"] = notes_to_html
    return environment
