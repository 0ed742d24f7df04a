"""Bring the catalogues of languages up to date with the sentences of the program: new ones empty, dead ones out.

    python tests/write_catalogues.py            all languages there are
    python tests/write_catalogues.py pt         and a new one

What a translator does next is to fill the empty entries of `templates/languages/<tag>.po`.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po

from reportgen.codes.reading import READING_CODES
from reportgen.codes.trials import TRIAL_CODES

ROOT = Path(__file__).resolve().parent.parent
LANGUAGES = ROOT / "templates" / "languages"
KEYWORDS = {"say": None, "say_counted": (2, 3)}
HEAD = ('"Language: ', '"Plural-Forms', '"MIME', '"Content')
NEW = "# {tag}: words of reportgen.\n# Reviewed by a native speaker: not yet"


def sentences() -> Catalog:
    """Return all sentences of the program, with the files they stand in, in the order of these."""
    found = Catalog(charset="utf-8")
    for folder, pattern, method in (
        ("reportgen", "*.py", "python"),
        ("templates", "*.html", "jinja2.ext:babel_extract"),
        ("templates", "*.md", "jinja2.ext:babel_extract"),
        ("templates", "*.txt", "jinja2.ext:babel_extract"),
    ):
        for path in sorted((ROOT / folder).rglob(pattern)):
            options = {"trimmed": "true", "silent": "false"} if folder == "templates" else {}
            with path.open("rb") as file:
                for _, message, _, _ in extract(method, file, KEYWORDS, options=options):
                    found.add(message, locations=[(path.relative_to(ROOT).as_posix(), 0)])
    # What `check` tells to do about a finding stands in a table, and is said from there.
    for code in (READING_CODES | TRIAL_CODES).values():
        if not code.action.startswith("Nothing"):
            found.add(code.action, locations=[("reportgen/codes", 0)])
    return found


def updated(tag: str, old: bytes | None, template: Catalog) -> bytes:
    """Return the catalogue of a language with the sentences there are now, and what was translated of them."""
    if old is None:
        catalogue = Catalog(locale=tag.replace("-", "_"), header_comment=NEW.format(tag=tag))
    else:
        catalogue = read_po(io.BytesIO(old), locale=tag.replace("-", "_"))
    head = catalogue.header_comment
    catalogue.update(template, no_fuzzy_matching=True, update_header_comment=False)
    catalogue.header_comment = head
    catalogue.fuzzy = False
    catalogue.obsolete.clear()
    for message in catalogue:
        message.locations = list(dict.fromkeys((name, 0) for name, _ in message.locations))
        if message.fuzzy and message.id:
            # What now has other forms than before is translated anew.
            message.string = "" if isinstance(message.id, str) else ("",) * catalogue.num_plurals
        message.flags -= {"python-format", "fuzzy"}
    written = io.BytesIO()
    write_po(written, catalogue, width=0, include_lineno=False, omit_header=False)
    lines = written.getvalue().decode().splitlines(keepends=True)
    # The rest of the head would change with every run, or say nothing.
    kept = [line for line in lines if not line.startswith('"') or line.startswith(HEAD) or ": " not in line[:30]]
    return "".join(kept).encode()


def main(tags: list[str]) -> None:
    """Write the catalogues of the languages there are and of those named."""
    LANGUAGES.mkdir(exist_ok=True)
    template = sentences()
    for tag in sorted({path.stem for path in LANGUAGES.glob("*.po")} | set(tags)):
        path = LANGUAGES / f"{tag}.po"
        path.write_bytes(updated(tag, path.read_bytes() if path.exists() else None, template))


if __name__ == "__main__":
    main(sys.argv[1:])
