"""The codes that results files meet when they are put beside each other; `codes.CODES` holds them with all others."""

from __future__ import annotations

from reportgen.codes.code import Code

RESULTS_CODES = {
    # Results files beside each other
    "no-results": Code("error", "No results file is there.", "Name results.json files, or folders that hold them."),
    "results-not-readable": Code(
        "error", "The file cannot be read as a results file.", "Ask its author for results.json as it was written."
    ),
    "results-too-large": Code(
        "error", "The file is larger than any results of a trial.", "Check that it is the right file."
    ),
    "not-results": Code("error", "The file is no results of a trial.", "Give the results.json of a report."),
    "results-newer": Code(
        "error", "The file is of a newer version than this program knows.", "Use a newer reportgen to compare it."
    ),
    "results-damaged": Code(
        "error",
        "A part of the file that nothing can do without is missing or wrong.",
        "Ask its author for a whole one.",
    ),
    "results-foreign-unit": Code(
        "caution", "A figure is in another unit than that of the format; left out.", "Ask its author to convert it."
    ),
    "results-wrong-figure": Code(
        "caution", "A figure is not as the format has it; left out.", "Ask its author to write the file again."
    ),
    "results-missing-figure": Code(
        "note",
        "The file lacks figures that others have; they count as not given.",
        "Write it with the newest reportgen.",
    ),
    "results-wrong-part": Code(
        "note", "A part that is not compared is not as the format has it.", "Nothing; the figures are used."
    ),
    "trial-twice": Code("caution", "The same trial is given twice; it counts once.", "Nothing, if that is right."),
    "id-twice": Code("caution", "Two different trials have one id; both count.", "Give each an id of its own."),
}
