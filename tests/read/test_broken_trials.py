"""One folder per defect, and the whole text that its reader is shown."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from reportgen.errors import LogFileError, TrialFileError
from reportgen.read.folder import read_trial

FOLDERS = Path(__file__).resolve().parent.parent / "broken_trials"
EXPECTED: dict[str, tuple[type[Exception], str]] = {
    "accuracy-with-two-numbers": (
        TrialFileError,
        (
            'trial.toml:3: gas.accuracy: found "2 +/- 1 %", expected an accuracy as one positive '
            'number, such as "2 % (limits)"'
        ),
    ),
    "ambiguous-date-order": (
        LogFileError,
        (
            "log.csv, row 2: the date 03/04/2026 may be day first or month first.\n"
            'Add to trial.toml:  [files."log.csv"]  and below it  date_order = "day first"  (or '
            '"month first").'
        ),
    ),
    "binary-log": (
        LogFileError,
        ("log.csv: this is not a text file (it holds zero bytes).\nSave or export the log as CSV UTF-8."),
    ),
    "broken-utf-16": (
        LogFileError,
        ("log.csv: byte 67 is not utf-16 text though the file begins as such.\nSave the file as CSV UTF-8."),
    ),
    "column-in-unknown-unit": (
        LogFileError,
        (
            'log.csv, row 1: column gas_volume: "buckets" is not a unit that is known here.\n'
            "Write its unit in brackets in the header, such as gas_volume [L]."
        ),
    ),
    "column-in-wrong-unit": (
        LogFileError,
        (
            'log.csv, row 2: column cabinet_temperature: "kPa" cannot be read as degC.\n'
            "Write its unit in brackets in the header, such as cabinet_temperature [degC]."
        ),
    ),
    "composition-incomplete": (
        TrialFileError,
        'trial.toml:2: the key digester.composition.lipid is missing; add for example lipid = "…"',
    ),
    "contradicting-date-order": (
        LogFileError,
        (
            "log.csv, row 3: the date 03/15/2026 can only be month first, but 14/03/2026 in row 2 "
            "only day first.\n"
            "Write all dates like 2026-03-14."
        ),
    ),
    "cost-as-a-list": (
        TrialFileError,
        "trial.toml:3: costs.burner: found a list, expected a number or a text in quotation marks",
    ),
    "date-of-another-age": (
        TrialFileError,
        "trial.toml:2: date: found 9999-12-31, expected a year from 1970 to 2199",
    ),
    "decimal-comma-in-quantity": (
        TrialFileError,
        (
            'trial.toml:3: gas.pressure: found "9,5 mbar", expected a pressure such as "9 +/- 0.5 '
            'mbar"; write the decimal mark as a point'
        ),
    ),
    "elapsed-in-wrong-unit": (
        LogFileError,
        (
            'log.csv, row 1: column elapsed: "kg" cannot be read as s.\n'
            "Write its unit in brackets in the header, such as elapsed [min]."
        ),
    ),
    "empty-title": (
        TrialFileError,
        'trial.toml:1: title: found "", expected a text of at least one letter',
    ),
    "epoch-in-wrong-unit": (
        LogFileError,
        (
            'log.csv, row 1: column epoch: "L" cannot be read as s.\n'
            "Write its unit in brackets in the header, such as epoch [s]."
        ),
    ),
    "file-named-but-missing": (
        TrialFileError,
        ('trial.toml: columns names the file "logger7.csv", which is not in the folder; found log.csv.'),
    ),
    "file-rule-for-a-missing-file": (
        TrialFileError,
        'trial.toml: files names the file "lgo.csv", which is not in the folder; found log.csv.',
    ),
    "fraction-for-percent": (
        TrialFileError,
        (
            'trial.toml:3: gas.methane: found "0.61 kg/kg", expected a percentage such as "61 +/- 3 '
            '%": "kg/kg" cannot be read as %'
        ),
    ),
    "impossible-altitude": (
        TrialFileError,
        'trial.toml:2: altitude: found "8900 m", expected -500 to 6000 m',
    ),
    "infinite-quantity": (
        TrialFileError,
        'trial.toml:3: gas.capacity: found "1e999 L", expected a smaller number',
    ),
    "levels-not-in-pairs": (
        TrialFileError,
        "trial.toml:3: gas.level_table: found a list, expected pairs of level and volume",
    ),
    "levels-not-rising": (
        TrialFileError,
        ("trial.toml:3: gas.level_table: found 10 after 10, expected levels that rise from pair to pair"),
    ),
    "lit-in-open-date-order": (
        TrialFileError,
        (
            'trial.toml:3: burner.lit: found "03/04/2026 09:05", expected a clock time such as '
            '"09:05" or a date and time such as "2026-03-14 09:05"'
        ),
    ),
    "lit-not-read": (
        TrialFileError,
        (
            'trial.toml:3: burner.lit: found "nine o\'clock", expected a clock time such as "09:05" or'
            ' a date and time such as "2026-03-14 09:05"'
        ),
    ),
    "lit-without-clock-time": (
        TrialFileError,
        (
            'trial.toml:3: burner.lit: found "2026-03-14", expected a clock time such as "09:05" or a'
            ' date and time such as "2026-03-14 09:05"'
        ),
    ),
    "many-faults": (
        TrialFileError,
        (
            'trial.toml:2: altitude: found 40, expected a height such as "40 m" in quotation marks\n'
            'trial.toml:3: photos: found "ice.jpg", expected a list in square brackets\n'
            "... and 3 more faults"
        ),
    ),
    "mapped-column-unknown": (
        TrialFileError,
        (
            'trial.toml:3: columns."log.csv": found tempratur, which is no column of a log; the '
            'nearest known is "gas_temperature"'
        ),
    ),
    "mapped-header-missing": (
        LogFileError,
        (
            'log.csv, row 1: no column "Kanal 2", which [columns] of trial.toml names.\n'
            'Found "time", "cabinet_temperature [degC]".'
        ),
    ),
    "mapping-of-two-cells": (
        LogFileError,
        (
            'log.csv, row 1: two columns are named cabinet_temperature ("T1" and "T1").\n'
            'Rename one, or say in trial.toml under [columns]:  "log.csv" = { cabinet_temperature = '
            '"…" }'
        ),
    ),
    "missing-sheet": (
        TrialFileError,
        (
            "missing-sheet: this is not a trial folder, it holds no trial.toml.\n"
            'Put a trial.toml in it; one line is enough:  title = "…"'
        ),
    ),
    "missing-title": (
        TrialFileError,
        'trial.toml: the key title is missing; add for example title = "…"',
    ),
    "more-cells-than-columns": (
        LogFileError,
        (
            "log.csv, row 2: found more cells than the 2 columns of the header.\n"
            "If commas are decimal marks, separate the columns with semicolons, or write the numbers "
            "with points."
        ),
    ),
    "negative-mass": (
        TrialFileError,
        'trial.toml:3: water.mass: found "-1.2 kg", expected more than zero',
    ),
    "negative-uncertainty": (
        TrialFileError,
        ('trial.toml:3: gas.methane: found "61 +/- -3 %", expected an uncertainty that is not negative'),
    ),
    "not-toml": (
        TrialFileError,
        (
            "trial.toml:2: this is not TOML: Expected newline or end of document after a statement, "
            "column 15.\n"
            'Texts, quantities and times need quotation marks:  altitude = "40 m"'
        ),
    ),
    "number-without-unit": (
        TrialFileError,
        ('trial.toml:3: gas.methane: found 0.61, expected a percentage such as "61 +/- 3 %" in quotation marks'),
    ),
    "photo-path-outside": (
        TrialFileError,
        ('trial.toml:2: photos: found "../ice.jpg", expected a relative path inside the trial folder'),
    ),
    "quantity-without-unit": (
        TrialFileError,
        ('trial.toml:3: gas.capacity: found "210" without a unit, expected a volume such as "210 L"'),
    ),
    "sheet-date-not-read": (
        TrialFileError,
        'trial.toml:2: date: found "14/03/2026", expected a date such as 2026-03-14',
    ),
    "sheet-not-utf-8": (
        TrialFileError,
        "trial.toml: byte 11 is not UTF-8 text; save the file as UTF-8.",
    ),
    "text-for-a-section": (
        TrialFileError,
        ('trial.toml:2: burner: found "lit at nine", expected a table: a line [burner] and its keys below it'),
    ),
    "too-many-cells": (
        LogFileError,
        "log.csv: a row has 1201 cells; a log has at most 1000. Is it the right file?",
    ),
    "two-columns-of-one-name": (
        LogFileError,
        (
            'log.csv, row 1: two columns are named cabinet_temperature ("cabinet_temperature [degC]" '
            'and "Cabinet Temperature [degF]").\n'
            'Rename one, or say in trial.toml under [columns]:  "log.csv" = { cabinet_temperature = '
            '"…" }'
        ),
    ),
    "unclosed-quote": (
        LogFileError,
        ("log.csv, row 3: a quotation mark is opened and never closed.\nClose it, or leave it out."),
    ),
    "unknown-key": (
        TrialFileError,
        'trial.toml:3: the key gas.knid is not known; the nearest known key is "kind"',
    ),
    "unknown-key-of-a-file": (
        TrialFileError,
        ('trial.toml:3: the key files."log.csv".date_ordr is not known; the nearest known key is "date_order"'),
    ),
    "unknown-key-of-a-section": (
        TrialFileError,
        'trial.toml:2: the key lit is not known; the nearest known key is "burner.lit"',
    ),
    "unknown-kind": (
        TrialFileError,
        'trial.toml:3: gas.kind: found "bag", expected "holder", "meter" or "flow"',
    ),
    "unknown-section": (
        TrialFileError,
        'trial.toml:2: the key boyler is not known; the nearest known key is "boiler"',
    ),
    "unknown-unit": (
        TrialFileError,
        (
            'trial.toml:3: water.mass: found "3 stonnes", expected a mass such as "1.20 +/- 0.01 kg":'
            ' "stonnes" is not a unit that is known here'
        ),
    ),
    "unknown-zone": (
        TrialFileError,
        ('trial.toml:2: time_zone: found "Harbour time", expected an IANA zone such as "Indian/Mauritius" or "UTC"'),
    ),
    "wrong-unit": (
        TrialFileError,
        (
            'trial.toml:3: water.mass: found "1.2 L", expected a mass such as "1.20 +/- 0.01 kg": "L"'
            " cannot be read as kg"
        ),
    ),
}


@pytest.mark.parametrize("name", EXPECTED)
def test_a_broken_trial_says_what_is_wrong_where_and_what_to_do(name: str) -> None:
    kind, text = EXPECTED[name]
    with pytest.raises(kind) as caught:
        read_trial(FOLDERS / name)
    assert type(caught.value) is kind
    assert str(caught.value).replace(str(FOLDERS / name), name) == text
    assert 1 <= len(text.split("\n")) <= 3
    assert text.startswith(("trial.toml", "log.csv", name))
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_every_broken_trial_is_covered() -> None:
    assert {path.name for path in FOLDERS.iterdir()} == set(EXPECTED)


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(TrialFileError) as caught:
        read_trial(tmp_path / "run-3")
    assert str(caught.value) == f"{tmp_path / 'run-3'}: there is no such folder."


def test_a_sheet_that_cannot_be_opened_is_named(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").mkdir()
    with pytest.raises(TrialFileError, match=r"trial\.toml: cannot be read"):
        read_trial(tmp_path)
