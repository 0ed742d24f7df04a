"""The codes of what is met while a trial is read: files, `trial.toml`, cells, columns, times."""

from __future__ import annotations

from reportgen.codes.code import Code

#: By code, in the order in which a trial meets them.
READING_CODES = {
    # The folder and its files
    "no-such-folder": Code("error", "The path is no folder.", "Give the folder that holds trial.toml."),
    "no-trial": Code("error", "No folder below this one is a trial.", "Put a trial.toml in each trial folder."),
    "no-trial-sheet": Code(
        "error", "The folder holds no trial.toml.", 'Put one in it; one line is enough: title = "…"'
    ),
    "file-not-readable": Code(
        "error", "The file cannot be opened.", "Check that it is a file and that you may read it."
    ),
    "link-outside": Code(
        "error", "A link leads out of the trial folder; it is not followed.", "Put the file itself in the folder."
    ),
    "file-named-missing": Code(
        "error", "trial.toml names a log that is not in the folder.", "Correct the name, or add the file."
    ),
    "log-too-large": Code(
        "error", "The log is larger than any log of a trial.", "Cut it down to the days of the trial."
    ),
    "too-many-logs": Code(
        "error", "The folder holds more logs than any one trial.", "Give each trial a folder of its own."
    ),
    "nothing-read": Code(
        "error", "There are logs, and nothing in them can be used.", "Mend what is named as the first reason."
    ),
    "output-not-written": Code(
        "error", "The report cannot be written there.", "Choose another folder with --out, or free the disk."
    ),
    "cluster-missing": Code("error", "Dask is not installed.", "Install the extra: trial-reportgen[cluster]."),
    "scheduler-not-reached": Code(
        "error", "No Dask scheduler answers at the address.", "Start one, or leave --scheduler out."
    ),
    "language-unknown": Code(
        "error", "There is no catalogue of words for the language.", "Choose one of those named, or translate one."
    ),
    "language-unreadable": Code(
        "error", "The catalogue of a language is damaged.", "Mend the .po file; a translator's editor shows where."
    ),
    "template-unknown": Code(
        "error",
        "A template of your own has a name, a block or a value that ours have not.",
        "Choose one of those named.",
    ),
    "template-broken": Code(
        "error", "A template of your own cannot be read or rendered.", "Mend it where the message says."
    ),
    "templates-missing": Code("error", "The installed package lacks its templates.", "Install reportgen once more."),
    "other-edition-there": Code(
        "error",
        "A report with names stands where an anonymous one should go, or the other way round.",
        "Give another folder with --out.",
    ),
    "amends-another-report": Code(
        "error", "The results file at hand is not that of the report to be replaced.", "Give its id, or --amends-from."
    ),
    "amends-not-read": Code(
        "error", "The results file of the report to be replaced cannot be read.", "Name it with --amends-from."
    ),
    "folder-not-empty": Code(
        "error", "The folder for a new trial exists and holds something.", "Name a folder that is not there yet."
    ),
    "no-browser": Code(
        "error", "No browser that prints is installed.", "Install one, name it in REPORTGEN_BROWSER, or print the page."
    ),
    "pdf-not-printed": Code(
        "error", "The browser printed nothing whole.", "Try again, or open report.html and print it."
    ),
    "empty-file": Code("caution", "A log is empty and gives nothing.", "Export it once more, or delete it."),
    "no-header": Code(
        "error",
        "No row of the file names a time column and a known column; the file is not used.",
        "Name its columns as in the table of columns, or map them under [columns].",
    ),
    "nothing-filled-in": Code(
        "caution", "There are logs, and nothing stands below their headers.", "Fill them in as the trial goes."
    ),
    "spreadsheet": Code(
        "caution",
        "A spreadsheet file is not read.",
        "Save it as CSV UTF-8 into the folder, or install the extra that reads it.",
    ),
    "spreadsheet-not-read": Code(
        "error", "A spreadsheet file is damaged, protected or too large.", "Save its sheet as CSV UTF-8."
    ),
    "spreadsheet-exported": Code(
        "note", "A spreadsheet is passed over for the log of the same name.", "Delete one of the two."
    ),
    "other-sheets": Code(
        "note", "Only the first sheet of a spreadsheet is read.", "Save the others as CSV UTF-8 if they hold readings."
    ),
    "formula-without-value": Code(
        "caution", "Formulas have no stored value and are blanks here.", "Open the file and save it once more."
    ),
    # Photos
    "photo-missing": Code(
        "caution", "A photo that trial.toml names is not there.", "Correct the name, or add the file."
    ),
    "photo-not-read": Code(
        "caution", "A photo is no whole JPEG, PNG or WebP picture; left out.", "Save it anew as JPEG."
    ),
    "photo-too-large": Code("caution", "A photo has too many bytes or pixels; left out.", "Save it smaller."),
    "photo-without-consent": Code(
        "caution",
        "A photo shows people and no consent is recorded.",
        "Ask them, then write photo_consent = true.",
    ),
    "too-many-photos": Code("note", "More photos are named than a report shows.", "Name the best ones only."),
    # trial.toml
    "sheet-too-large": Code("error", "trial.toml is too large to be one.", "Check that it is the right file."),
    "sheet-not-utf-8": Code("error", "trial.toml is no UTF-8 text.", "Save it as UTF-8."),
    "sheet-not-toml": Code("error", "A line of trial.toml cannot be read.", "Mend the line as the message says."),
    "key-missing": Code("error", "trial.toml lacks a key that must be there.", "Add the key."),
    "key-unknown": Code("error", "trial.toml holds a key that means nothing.", "Correct it to the nearest known key."),
    "value-of-wrong-type": Code(
        "error", "A value of trial.toml is of another type, such as a number for a text.", "Write it as expected."
    ),
    "value-not-usable": Code(
        "error", "A value of trial.toml cannot be used: its words, number, unit or size.", "Write it as expected."
    ),
    # Bytes to cells
    "not-text": Code("error", "The log is no text file.", "Export it as CSV UTF-8."),
    "broken-encoding": Code("error", "The log begins as UTF-16 and breaks off.", "Save it as CSV UTF-8."),
    "encoding": Code(
        "note", "The log is no UTF-8; read as another encoding.", "Check names and units; or save as UTF-8."
    ),
    "not-a-table": Code("error", "The log cannot be cut into rows and cells.", "Check that it is the right file."),
    "too-many-columns": Code("error", "A row holds more cells than any log.", "Check that it is the right file."),
    "quotation-not-closed": Code("error", "A quotation mark is never closed.", "Close it, or leave it out."),
    "quoted-lines": Code(
        "caution", "Lines stand inside quotation marks and are read as one cell.", "Close the mark, or leave it out."
    ),
    "half-written-line": Code("caution", "The last line breaks off and is not used.", "Complete it, or leave it out."),
    "more-cells-than-columns": Code(
        "error",
        "Most rows hold more cells than the header names.",
        "Separate columns with semicolons where commas are decimal marks.",
    ),
    "extra-cells": Code(
        "caution",
        "Some rows hold more cells than the header names and are not used.",
        "Put texts that hold the separator in quotation marks.",
    ),
    "text-rejoined": Code(
        "note",
        "A text in the last column holds the sign that parts the cells; put together again.",
        "Put such a text in quotation marks.",
    ),
    "line-too-long": Code("error", "A line is longer than any of a log.", "Check that it is the right file."),
    "commas-rejoined": Code(
        "note", "Numbers that commas parted like cells are put together again, as stated.", "Nothing."
    ),
    "time-as-elapsed": Code(
        "note", "A time column with a unit is read as time since lighting.", "Write clock times if its zero is another."
    ),
    "second-header": Code(
        "note", "A second header with other columns; what stands below it is read by it.", "Nothing, if that is right."
    ),
    "repeated-header": Code("note", "The header is repeated between the rows; passed over.", "Nothing."),
    "page-line": Code("note", "A line of words between the rows holds no reading; passed over.", "Nothing."),
    # Columns
    "column-twice": Code("error", "Two columns have one name.", "Rename one, or map the right one under [columns]."),
    "mapped-column-missing": Code(
        "error", "[columns] names a header that the file lacks.", "Write the header as it stands in the file."
    ),
    "column-unit": Code(
        "error", "The unit in a header is unknown or of another quantity.", "Write a unit of the quantity in brackets."
    ),
    "unknown-column": Code("note", "A column means nothing here and is not used.", "Rename what should be used."),
    "column-in-doubt": Code(
        "caution",
        "A column may be one of ours, misspelt or by another name; not used.",
        "Rename it, or write the line of the message under [columns].",
    ),
    "column-alias": Code("note", "A column is read by an everyday name for it.", "Nothing, if that is right."),
    "column-set-aside": Code(
        "caution",
        "Two columns mean the same; the one with the name itself is read.",
        "Map the right one under [columns] if that is wrong.",
    ),
    "unit-taken": Code(
        "note", "A header gives no unit; the usual one is taken.", "Write the unit in brackets after the name."
    ),
    "unit-in-doubt": Code(
        "caution", "Without a unit in the header, the numbers look like another unit.", "Write the unit in brackets."
    ),
    # Numbers and words in cells
    "number-not-read": Code("caution", "A cell is no number and is not used.", "Write the number alone."),
    "decimal-comma": Code("note", "Commas are read as decimal marks.", "Nothing, if that is right."),
    "decimal-open": Code(
        "error",
        "A comma may be the decimal mark or group thousands, and nothing in the file tells.",
        'Add decimal = "comma" or "point" for the file under [files].',
    ),
    "decimal-of-other-files": Code(
        "caution",
        "A file leaves its decimal mark open; that of the other logs of the trial is taken.",
        "Add decimal for the file under [files].",
    ),
    "thousands-mark": Code("note", "Marks that group thousands are left out.", "Nothing, if that is right."),
    "number-word": Code("note", "A number written as a word is read.", "Nothing, if that is right."),
    "cell-unit": Code(
        "note", "A cell names a unit of its own and is converted to that of its column.", "Nothing, if that is right."
    ),
    "sensor-failure": Code(
        "caution", "A sensor's error code stands for a reading; not used.", "Look after the sensor and its cable."
    ),
    "not-possible": Code(
        "caution", "No instrument of a trial reads so; shown but not used.", "Check for a slip or another unit."
    ),
    "ice-word": Code("note", "An everyday word for ice is read as one of ours.", "Nothing, if that is right."),
    "ice-not-read": Code(
        "caution",
        "A look at the ice is not understood and not used.",
        "Write liquid, partial, solid or percent frozen.",
    ),
    "event-not-read": Code(
        "caution",
        "Words in the column of events name none that is known; kept as a note.",
        "If it tells of the flame, write burner lit or burner out.",
    ),
    "lit-before": Code(
        "caution",
        "The first lighting that is understood was not the first; nothing is counted from it.",
        'Write the first as lit = "…" under [burner].',
    ),
    "repeated-rows": Code("note", "A row repeats another to the letter; read once.", "Nothing."),
    # Times
    "zone-not-stated": Code(
        "note", "No time zone is stated; clock times are taken as UTC.", 'Add time_zone = "…" to trial.toml.'
    ),
    "date-from-log": Code(
        "note", "No date is stated; that on which the logs begin is taken.", "Add date = … to trial.toml."
    ),
    "date-order": Code("note", "The order of day and month is taken from the dates themselves.", "Nothing."),
    "date-order-open": Code(
        "error", "A date may be day first or month first.", 'Add date_order under [files."…"] in trial.toml.'
    ),
    "date-order-contradicts": Code(
        "error", "Some dates are day first, others month first.", "Write all dates like 2026-03-14."
    ),
    "year-missing": Code(
        "error", "A date carries no year, and none is known.", 'Add year under [files."…"], or date, in trial.toml.'
    ),
    "year-taken": Code(
        "note", "Dates carry no year; the year is taken as said.", 'Add year under [files."…"], if wrong.'
    ),
    "half-day-open": Code(
        "error", "A 12-hour clock may be of the morning or the evening.", 'Add clock_starts under [files."…"].'
    ),
    "clock-starts-not-used": Code(
        "caution", "clock_starts is stated for a clock that is none of 12 hours.", "Leave it out of trial.toml."
    ),
    "half-day-taken": Code(
        "caution", "A 12-hour clock without am and pm is read from noon on, where the run lies.", "Write am and pm."
    ),
    "zone-from-header": Code(
        "note", "The header of the times names their zone; it is used.", "Nothing, if that is right."
    ),
    "zones-differ": Code(
        "caution", "A header and trial.toml name different zones; trial.toml is used.", "Correct the one that is wrong."
    ),
    "epoch-as-time": Code("note", "Times are counts since 1970 and are read so.", "Nothing, if that is right."),
    "day-numbers": Code(
        "note", "Times are the day numbers of a spreadsheet and are read so.", "Export dates as text, to be sure."
    ),
    "clock-not-set": Code(
        "caution", "Rows lie years from the others and are not used.", "Set the clock of the logger before a run."
    ),
    "date-in-three-columns": Code(
        "caution",
        "Year, month and day in columns of their own are not read.",
        "Write one column date, like 2026-03-14.",
    ),
    "newest-first": Code("note", "The newest row comes first; the file is read from its end.", "Nothing."),
    "elapsed-open": Code(
        "error", "Elapsed times such as 10:30 may be hours or minutes first.", "Write 0:10:30, or a unit in the header."
    ),
    "elapsed-as-clock": Code(
        "note or caution", "Elapsed times are written like a clock and read so.", "Nothing, if that is right."
    ),
    "elapsed-wraps": Code(
        "note", "The elapsed time begins anew at midnight; a day is added.", "Nothing, if that is right."
    ),
    "clock-jumps": Code(
        "error", "A clock without dates falls back twice in half a day.", "Write the date with each time."
    ),
    "time-not-read": Code("caution", "A time is not understood; its row is not used.", "Write it as 2026-03-14 09:05."),
    "time-not-possible": Code(
        "caution", "An elapsed or epoch time is not possible; its row is not used.", "Check the unit in the header."
    ),
    "row-without-time": Code("caution", "A row holds no time and is not used.", "Write when it was read."),
    "clock-with-point": Code("note", "Times such as 9.05 are read as clock times.", "Nothing, if that is right."),
    "twelve-hour-clock": Code(
        "caution", "The clock falls as a 12-hour clock does; read as afternoon.", "Write am and pm."
    ),
    "midnight-passed": Code("note", "The clock falls; read as the next day.", "Check that no row is out of order."),
    "next-day": Code(
        "note or caution",
        "A stated time would lie before the run; taken as of the next day.",
        "Write date and time, if that is wrong.",
    ),
    "clock-set-back": Code(
        "note", "Rows lie in an hour that comes twice as summer time ends.", "Check the order of the rows."
    ),
    "clock-not-set-forward": Code(
        "caution", "Rows lie in an hour that summer time skips.", "Check time_zone and the logger's clock."
    ),
    "not-in-order": Code("note", "Rows are not in order of time; they are sorted.", "Nothing, if the times are right."),
    "elapsed-without-zero": Code(
        "error",
        "Elapsed times count from lighting, which is not recorded; the file is not used.",
        "Add lit under [burner] in trial.toml.",
    ),
    "lit-at-zero": Code(
        "note", "Lighting is not stated; taken as the zero of the elapsed times.", "Add lit under [burner]."
    ),
    "clock-without-lit": Code(
        "caution", "A stated clock time says nothing where lighting has none.", "Add burner.lit to trial.toml."
    ),
}
