"""`python -m reportgen` and the `reportgen` command."""

import gc
import sys

from reportgen.cli import run

#: New objects after which Python looks for rubbish (ours). Libraries make half a million objects that all stay, and to
#: look through them every 700, as it does by itself, is a tenth of the time that a report takes.
NEW_OBJECTS = 100_000


def main() -> None:
    """Run the command line and leave with its exit status."""
    gc.set_threshold(NEW_OBJECTS, 50, 100)
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
