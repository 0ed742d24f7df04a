"""Write the table of codes and the example of `check` in the README anew: `python tests/write_codes.py`."""

from pathlib import Path

from reportgen.codes import CODES
from reportgen.trial_check import check_text, check_trial

README = Path(__file__).resolve().parent.parent / "README.md"
EXAMPLE = "sample_trials/canteen-running-meter"
#: Characters in a line of the example.
WIDTH = 100


def codes_table() -> str:
    """Return the table of all codes as Markdown."""
    rows = [f"| `{name}` | {code.level} | {code.meaning} | {code.action} |" for name, code in CODES.items()]
    return "\n".join(["| code | level | what it means | what to do |", "| --- | --- | --- | --- |", *rows])


def check_example() -> str:
    """Return what `check` prints of a sample trial as Markdown."""
    said = check_text(check_trial(README.parent / EXAMPLE), WIDTH)
    return f"```console\n$ reportgen check {EXAMPLE}\n{said}```"


def with_block(text: str, name: str, block: str) -> str:
    """Return the text of the README with the block between the marks of this name as it should be.

    Raises
    ------
    ValueError
        If a mark is missing.
    """
    start, end = f"<!-- {name} -->\n", f"\n<!-- end of {name} -->"
    before, after = text.index(start) + len(start), text.index(end)
    return text[:before] + block + text[after:]


if __name__ == "__main__":
    text = README.read_text(encoding="utf-8")
    text = with_block(text, "codes", codes_table())
    README.write_text(with_block(text, "check", check_example()), encoding="utf-8")
