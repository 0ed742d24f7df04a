"""`python -m reportgen` and the `reportgen` command."""

import gc
import os
import sys

#: New objects after which Python looks for rubbish (ours). Libraries make half a million objects that all stay, and to
#: look through them every 700, as it does by itself, is a tenth of the time that a report takes.
NEW_OBJECTS = 100_000
#: As a shell has it of what Ctrl-C ended.
INTERRUPTED = 130


def main() -> None:
    """Run the command line and leave with its exit status."""
    gc.set_threshold(NEW_OBJECTS, 50, 100)
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:  # it was closed by whoever started us: nothing is read there or said
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8", closefd=False))
    try:
        from reportgen.cli import run
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    status = run(sys.argv[1:])
    # All goes with the process: to look through it for rubbish before that takes a fifth of the time of a report.
    gc.freeze()
    gc.disable()
    sys.exit(status)


if __name__ == "__main__":
    main()
