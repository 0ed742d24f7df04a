"""One folder per defect, and the whole text that its reader is shown."""

from __future__ import annotations

import pickle
import re
from pathlib import Path

import pytest

from reportgen.codes import CODES
from reportgen.errors import LogFileError, ReportgenError, TrialFileError
from reportgen.read.files import LARGEST_LOG
from reportgen.read.folder import read_trial
from reportgen.read.sheet import LARGEST_FILE

FOLDERS = Path(__file__).resolve().parent.parent / "broken_trials"
#: By folder: the error, its code, its text.
EXPECTED: dict[str, tuple[type[ReportgenError], str, str]] = {
    "accuracy-with-two-numbers": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: gas.accuracy: found "2 +/- 1 %", expected an accuracy as one positive '
            'number, such as "2 % (limits)"'
        ),
    ),
    "ambiguous-date-order": (
        LogFileError,
        "date-order-open",
        (
            "log.csv, row 2: the date 03/04/2026 may be day first or month first.\n"
            'Add to trial.toml:  [files."log.csv"]  and below it  date_order = "day first"  (or '
            '"month first").'
        ),
    ),
    "binary-log": (
        LogFileError,
        "not-text",
        ("log.csv: this is not a text file (it holds zero bytes).\nSave or export the log as CSV UTF-8."),
    ),
    "broken-utf-16": (
        LogFileError,
        "broken-encoding",
        ("log.csv: byte 67 is not utf-16 text though the file begins as such.\nSave the file as CSV UTF-8."),
    ),
    "clock-falls-twice": (
        LogFileError,
        "clock-jumps",
        (
            "log.csv, row 6: the clock falls from 20:10 to 08:00, and from 23:10 to 09:25 in row 4, "
            "with less than half a day between.\n"
            "It cannot have passed midnight both times: write the date with each time, like 2026-03-14 "
            "09:05."
        ),
    ),
    "column-in-unknown-unit": (
        LogFileError,
        "column-unit",
        (
            'log.csv, row 1: column gas_volume: "buckets" is not a unit that is known here.\n'
            "Write its unit in brackets in the header, such as gas_volume [L]."
        ),
    ),
    "column-in-wrong-unit": (
        LogFileError,
        "column-unit",
        (
            'log.csv, row 2: column cabinet_temperature: "kPa" cannot be read as degC.\n'
            "Write its unit in brackets in the header, such as cabinet_temperature [degC]."
        ),
    ),
    "composition-incomplete": (
        TrialFileError,
        "key-missing",
        'trial.toml:2: the key digester.composition.lipid is missing; add for example lipid = "…"',
    ),
    "contradicting-date-order": (
        LogFileError,
        "date-order-contradicts",
        (
            "log.csv, row 3: the date 03/15/2026 can only be month first, but 14/03/2026 in row 2 "
            "only day first.\n"
            "Write all dates like 2026-03-14."
        ),
    ),
    "cost-as-a-list": (
        TrialFileError,
        "value-not-usable",
        "trial.toml:3: costs.burner: found a list, expected a number or a text in quotation marks",
    ),
    "date-of-another-age": (
        TrialFileError,
        "value-not-usable",
        "trial.toml:2: date: found 9999-12-31, expected a year from 1970 to 2199",
    ),
    "dates-without-a-year": (
        LogFileError,
        "year-missing",
        (
            "log.csv, row 2: the date 14/03 carries no year.\n"
            'Add to trial.toml:  [files."log.csv"]  and below it  year = …  (or date = … at the top).'
        ),
    ),
    "decimal-comma-in-quantity": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: gas.pressure: found "9,5 mbar", expected a pressure such as "9 +/- 0.5 '
            'mbar"; write the decimal mark as a point'
        ),
    ),
    "decimal-mark-open": (
        LogFileError,
        "decimal-open",
        (
            'log.csv, row 2: gas_volume "1,234" may be 1.234 or 1234.\n'
            'Add to trial.toml:  [files."log.csv"]  and below it  decimal = "comma"  (or "point").'
        ),
    ),
    "elapsed-in-wrong-unit": (
        LogFileError,
        "column-unit",
        (
            'log.csv, row 1: column elapsed: "kg" cannot be read as s.\n'
            "Write its unit in brackets in the header, such as elapsed [min]."
        ),
    ),
    "elapsed-of-two-meanings": (
        LogFileError,
        "elapsed-open",
        (
            "log.csv, row 2: the elapsed time 0:00 may be hours and minutes or minutes and seconds.\n"
            "Write 0:15:00, or name the larger unit in the header: elapsed [h] or [min]."
        ),
    ),
    "empty-title": (
        TrialFileError,
        "value-not-usable",
        'trial.toml:1: title: found "", expected a text of at least one letter',
    ),
    "epoch-in-wrong-unit": (
        LogFileError,
        "column-unit",
        (
            'log.csv, row 1: column epoch: "L" cannot be read as s.\n'
            "Write its unit in brackets in the header, such as epoch [s]."
        ),
    ),
    "faults-in-all-files": (
        TrialFileError,
        "sheet-not-toml",
        (
            "trial.toml:1: this is not TOML: Invalid value, column 9.\n"
            'Texts, quantities and times need quotation marks:  title = "Harbour canteen"'
        ),
    ),
    "file-named-but-missing": (
        TrialFileError,
        "file-named-missing",
        ('trial.toml: columns names the file "logger7.csv", which is not in the folder; found log.csv.'),
    ),
    "file-rule-for-a-missing-file": (
        TrialFileError,
        "file-named-missing",
        'trial.toml: files names the file "lgo.csv", which is not in the folder; found log.csv.',
    ),
    "fraction-for-percent": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: gas.methane: found "0.61 kg/kg", expected a percentage such as "61 +/- 3 '
            '%": "kg/kg" cannot be read as %'
        ),
    ),
    "impossible-altitude": (
        TrialFileError,
        "value-not-usable",
        'trial.toml:2: altitude: found "8900 m", expected -500 to 6000 m',
    ),
    "infinite-quantity": (
        TrialFileError,
        "value-not-usable",
        'trial.toml:3: gas.capacity: found "1e999 L", expected a smaller number',
    ),
    "levels-not-in-pairs": (
        TrialFileError,
        "value-not-usable",
        "trial.toml:3: gas.level_table: found a list, expected pairs of level and volume",
    ),
    "levels-not-rising": (
        TrialFileError,
        "value-not-usable",
        ("trial.toml:3: gas.level_table: found 10 after 10, expected levels that rise from pair to pair"),
    ),
    "lit-in-open-date-order": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: burner.lit: found "03/04/2026 09:05", expected a clock time such as '
            '"09:05" or a date and time such as "2026-03-14 09:05"'
        ),
    ),
    "lit-not-read": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: burner.lit: found "nine o\'clock", expected a clock time such as "09:05" or'
            ' a date and time such as "2026-03-14 09:05"'
        ),
    ),
    "lit-without-clock-time": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: burner.lit: found "2026-03-14", expected a clock time such as "09:05" or a'
            ' date and time such as "2026-03-14 09:05"'
        ),
    ),
    "many-faults": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:2: altitude: found 40, expected a height such as "40 m" in quotation marks\n'
            'trial.toml:3: photos: found "ice.jpg", expected a list in square brackets\n'
            "... and 3 more faults"
        ),
    ),
    "mapped-column-unknown": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: columns."log.csv": found tempratur, which is no column of a log; the '
            'nearest known is "gas_temperature"'
        ),
    ),
    "mapped-header-missing": (
        LogFileError,
        "mapped-column-missing",
        (
            'log.csv, row 1: no column "Kanal 2", which [columns] of trial.toml names.\n'
            'Found "time", "cabinet_temperature [degC]".'
        ),
    ),
    "mapping-of-two-cells": (
        LogFileError,
        "column-twice",
        (
            'log.csv, row 1: two columns are named cabinet_temperature ("T1" and "T1").\n'
            'Rename one, or say in trial.toml under [columns]:  "log.csv" = { cabinet_temperature = '
            '"column 3", … } with the place of each column that is to be read.'
        ),
    ),
    "missing-sheet": (
        TrialFileError,
        "no-trial-sheet",
        (
            "missing-sheet: this is not a trial folder, it holds no trial.toml.\n"
            'Put a trial.toml in it; one line is enough:  title = "…"'
        ),
    ),
    "missing-title": (
        TrialFileError,
        "key-missing",
        'trial.toml: the key title is missing; add for example title = "…"',
    ),
    "more-cells-than-columns": (
        LogFileError,
        "more-cells-than-columns",
        (
            "log.csv, row 2: found more cells than the 2 columns of the header.\n"
            "Commas part the cells and the decimals. Write semicolons between the cells, or add to trial.toml:  "
            '[files."log.csv"]  and below it  decimal = "comma".'
        ),
    ),
    "negative-mass": (
        TrialFileError,
        "value-not-usable",
        'trial.toml:3: water.mass: found "-1.2 kg", expected more than zero',
    ),
    "negative-uncertainty": (
        TrialFileError,
        "value-not-usable",
        ('trial.toml:3: gas.methane: found "61 +/- -3 %", expected an uncertainty that is not negative'),
    ),
    "not-toml": (
        TrialFileError,
        "sheet-not-toml",
        (
            "trial.toml:2: this is not TOML: Expected newline or end of document after a statement, "
            "column 15.\n"
            'Texts, quantities and times need quotation marks:  altitude = "40 m"'
        ),
    ),
    "nothing-that-can-be-used": (
        LogFileError,
        "nothing-read",
        (
            "log.csv: no reading, event, look at the ice or feed could be used.\n"
            'log.csv, row 2: "soon" is no time that can be read; its row is not used; write times like 09:05'
        ),
    ),
    "number-without-unit": (
        TrialFileError,
        "value-not-usable",
        ('trial.toml:3: gas.methane: found 0.61, expected a percentage such as "61 +/- 3 %" in quotation marks'),
    ),
    "photo-path-outside": (
        TrialFileError,
        "value-not-usable",
        ('trial.toml:2: photos: found "../ice.jpg", expected a relative path inside the trial folder'),
    ),
    "quantity-without-unit": (
        TrialFileError,
        "value-not-usable",
        ('trial.toml:3: gas.capacity: found "210" without a unit, expected a volume such as "210 L"'),
    ),
    "sheet-date-not-read": (
        TrialFileError,
        "value-not-usable",
        'trial.toml:2: date: found "14/03/2026", expected a date such as 2026-03-14',
    ),
    "sheet-not-utf-8": (
        TrialFileError,
        "sheet-not-utf-8",
        "trial.toml: byte 11 is not UTF-8 text; save the file as UTF-8.",
    ),
    "short-year-first-or-last": (
        LogFileError,
        "date-order-open",
        (
            "log.csv, row 2: the date 21.04.08 may be day first or year first.\n"
            'Add to trial.toml:  [files."log.csv"]  and below it  date_order = "day first"  (or "year first").'
        ),
    ),
    "text-for-a-section": (
        TrialFileError,
        "value-of-wrong-type",
        ('trial.toml:2: burner: found "lit at nine", expected a table: a line [burner] and its keys below it'),
    ),
    "too-many-cells": (
        LogFileError,
        "too-many-columns",
        "log.csv: a row has 1201 cells; a log has at most 1000. Is it the right file?",
    ),
    "twelve-hour-clock-away-from-the-run": (
        LogFileError,
        "half-day-open",
        (
            "log.csv, row 2: both halves of the day lie hours away from the run, and the times carry neither am "
            "nor pm.\n"
            'Add to trial.toml:  [files."log.csv"]  and below it  clock_starts = "am"  (or "pm").'
        ),
    ),
    "twelve-hour-clock-without-half": (
        LogFileError,
        "half-day-open",
        (
            "log.csv, row 5: the clock passes noon twice on one date, and the times carry neither am "
            "nor pm.\n"
            'Add to trial.toml:  [files."log.csv"]  and below it  clock_starts = "am"  (or "pm").'
        ),
    ),
    "two-columns-of-one-name": (
        LogFileError,
        "column-twice",
        (
            'log.csv, row 1: two columns are named cabinet_temperature ("cabinet_temperature [degC]" '
            'and "Cabinet Temperature [degF]").\n'
            'Rename one, or say in trial.toml under [columns]:  "log.csv" = { cabinet_temperature = '
            '"column 3", … } with the place of each column that is to be read.'
        ),
    ),
    "unclosed-quote": (
        LogFileError,
        "quotation-not-closed",
        ("log.csv, row 3: a quotation mark is opened and never closed.\nClose it, or leave it out."),
    ),
    "unknown-key": (
        TrialFileError,
        "key-unknown",
        'trial.toml:3: the key gas.knid is not known; the nearest known key is "kind"',
    ),
    "unknown-key-of-a-file": (
        TrialFileError,
        "key-unknown",
        ('trial.toml:3: the key files."log.csv".date_ordr is not known; the nearest known key is "date_order"'),
    ),
    "unknown-key-of-a-section": (
        TrialFileError,
        "key-unknown",
        'trial.toml:2: the key lit is not known; the nearest known key is "burner.lit"',
    ),
    "unknown-kind": (
        TrialFileError,
        "value-not-usable",
        'trial.toml:3: gas.kind: found "bag", expected "holder", "meter" or "flow"',
    ),
    "unknown-section": (
        TrialFileError,
        "key-unknown",
        'trial.toml:2: the key boyler is not known; the nearest known key is "boiler"',
    ),
    "unknown-unit": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: water.mass: found "3 stonnes", expected a mass such as "1.20 +/- 0.01 kg":'
            ' "stonnes" is not a unit that is known here'
        ),
    ),
    "unknown-zone": (
        TrialFileError,
        "value-not-usable",
        ('trial.toml:2: time_zone: found "Harbour time", expected an IANA zone such as "Indian/Mauritius" or "UTC"'),
    ),
    "wrong-unit": (
        TrialFileError,
        "value-not-usable",
        (
            'trial.toml:3: water.mass: found "1.2 L", expected a mass such as "1.20 +/- 0.01 kg": "L"'
            " cannot be read as kg"
        ),
    ),
}
#: By folder: the code, file, row and text of the finding of a trial that is read although a file of it is not used.
PARTLY_READ: dict[str, tuple[str, str, int, str]] = {
    "elapsed-times-without-lighting": (
        "elapsed-without-zero",
        "log.csv",
        1,
        (
            "elapsed times count from the lighting of the burner, which is not recorded, so the file is not used; add "
            "lit under [burner] in trial.toml"
        ),
    ),
    "header-nobody-knows": (
        "no-header",
        "log.csv",
        1,
        (
            "no row names a time column and a column of ours, so the file is not used; name the columns like time, "
            "cabinet_temperature [degC], gas_volume [L], ice, event, or map them under [columns] in trial.toml"
        ),
    ),
}
#: Codes of errors that no folder kept here can have, and the module of tests that meets them: it names the code, or
#: holds the words behind the colon.
ELSEWHERE = {
    "no-such-folder": "read/test_broken_trials.py",
    "file-not-readable": "read/test_broken_trials.py",
    "link-outside": "read/test_broken_trials.py",
    "sheet-too-large": "read/test_broken_trials.py",
    "log-too-large": "read/test_broken_trials.py",
    "line-too-long": "read/test_table.py",
    "not-a-table": "read/test_broken_trials.py",
    "spreadsheet-not-read": "read/test_spreadsheet.py",
    "no-trial": "test_batch.py",
    "folder-not-empty": "test_new_trial.py",
    "output-not-written": "test_write.py",
    "templates-missing": "test_render.py",
    "template-unknown": "test_own_templates.py",
    "template-broken": "test_own_templates.py",
    "language-unknown": "test_speech.py",
    "language-unreadable": "test_speech.py",
    "amends-another-report": "test_issue.py",
    "amends-not-read": "test_issue.py",
    "other-edition-there": "test_anonymous.py: stands there, and this is",
    "too-many-logs": "read/test_broken_trials.py",
    "no-browser": "test_pdf.py",
    "pdf-not-printed": "test_pdf.py",
    "no-results": "test_results_reader.py",
    "results-not-readable": "test_results_reader.py",
    "results-too-large": "test_results_reader.py",
    "not-results": "test_results_reader.py",
    "results-newer": "test_results_reader.py",
    "results-damaged": "test_results_reader.py",
    "cluster-missing": "test_batch_cluster.py",
    "scheduler-not-reached": "test_batch_cluster.py",
}


@pytest.mark.parametrize("name", EXPECTED)
def test_a_broken_trial_says_what_is_wrong_where_and_what_to_do(name: str) -> None:
    kind, code, text = EXPECTED[name]
    with pytest.raises(kind) as caught:
        read_trial(FOLDERS / name)
    error = caught.value
    assert type(error) is kind
    assert error.code == code
    assert str(error).replace(str(FOLDERS / name), name) == text
    assert 1 <= len(text.split("\n")) <= 3
    assert text.startswith(("trial.toml", "log.csv", name))
    assert error.file is None or text.startswith(error.file)
    row = re.match(r"[a-z.]+(?:, row |:)(\d+)", text)
    assert row is None or error.row == int(row[1])
    copy = pickle.loads(pickle.dumps(error))
    assert (str(copy), copy.code, copy.file, copy.row) == (str(error), error.code, error.file, error.row)


@pytest.mark.parametrize("name", PARTLY_READ)
def test_a_file_that_is_not_used_is_a_finding(name: str) -> None:
    trial = read_trial(FOLDERS / name)
    (finding,) = (finding for finding in trial.findings if finding.level == "error")
    assert (finding.code, finding.file, finding.row, str(finding.message)) == PARTLY_READ[name]
    assert [look.file for look in trial.looks] == ["ice.csv"] * 2


def test_every_broken_trial_is_covered() -> None:
    assert {path.name for path in FOLDERS.iterdir()} == set(EXPECTED) | set(PARTLY_READ)


def test_every_error_code_has_a_broken_trial_or_a_test_of_its_own() -> None:
    codes = {name for name, code in CODES.items() if "error" in code.levels}
    in_folders = {code for _, code, _ in EXPECTED.values()} | {code for code, *_ in PARTLY_READ.values()}
    assert codes == in_folders | set(ELSEWHERE)
    assert not in_folders & set(ELSEWHERE)


@pytest.mark.parametrize("code", ELSEWHERE)
def test_a_code_without_a_folder_is_met_by_another_test(code: str) -> None:
    file, _, words = ELSEWHERE[code].partition(": ")
    body = (FOLDERS.parent / file).read_text(encoding="utf-8")
    tests = re.sub(r"^ELSEWHERE = \{.*?^\}", "", body, flags=re.DOTALL | re.MULTILINE)
    assert (words or f'"{code}"') in tests


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(TrialFileError) as caught:
        read_trial(tmp_path / "run-3")
    assert caught.value.code == "no-such-folder"
    assert str(caught.value) == f"{tmp_path / 'run-3'}: there is no such folder."


def test_a_sheet_that_cannot_be_opened_is_named(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").mkdir()
    with pytest.raises(TrialFileError, match=r"trial\.toml: cannot be read") as caught:
        read_trial(tmp_path)
    assert caught.value.code == "file-not-readable"


def test_a_sheet_that_is_a_link_to_elsewhere_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "elsewhere.toml").write_text('title = "t"\n', encoding="utf-8")
    (tmp_path / "run").mkdir()
    (tmp_path / "run" / "trial.toml").symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(TrialFileError, match="a link to a file outside the folder") as caught:
        read_trial(tmp_path / "run")
    assert caught.value.code == "link-outside"


def test_a_sheet_of_a_megabyte_is_none(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text("#" * (LARGEST_FILE + 1), encoding="utf-8")
    with pytest.raises(TrialFileError, match=r"trial\.toml: more than 1000000 bytes") as caught:
        read_trial(tmp_path)
    assert caught.value.code == "sheet-too-large"


def _trial_with(folder: Path, log: str) -> Path:
    (folder / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\ntime_zone = "UTC"\n', encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    return folder


def test_a_log_that_is_too_large_is_named(tmp_path: Path) -> None:
    folder = _trial_with(tmp_path, "time,ice\n09:05,liquid\n")
    with (folder / "log.csv").open("r+b") as log:
        log.truncate(LARGEST_LOG + 1)  # a hole: it takes no room
    with pytest.raises(LogFileError, match=r"log\.csv: 200 MB are too many for a log") as caught:
        read_trial(folder)
    assert caught.value.code == "log-too-large"


def test_a_cell_longer_than_any_text_is_no_table(tmp_path: Path) -> None:
    lines = "\n".join(["x" * 1000] * 200)
    folder = _trial_with(tmp_path, f'time,note\n09:05,"{lines}"\n')
    with pytest.raises(LogFileError, match=r"log\.csv: field larger than field limit") as caught:
        read_trial(folder)
    assert caught.value.code == "not-a-table"


def test_a_folder_of_more_logs_than_a_trial_has_is_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = _trial_with(tmp_path, "time,ice\n09:05,liquid\n")
    (folder / "more.csv").write_text("time,ice\n12:30,solid\n", encoding="utf-8")
    monkeypatch.setattr("reportgen.read.files.MOST_LOGS", 1)
    with pytest.raises(LogFileError, match="2 logs are too many for one trial") as caught:
        read_trial(folder)
    assert caught.value.code == "too-many-logs"
