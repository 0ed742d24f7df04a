"""The anonymous edition: no secret of any text comes out anywhere, all numbers do, and no danger is hushed up."""

from __future__ import annotations

import base64
import json
import re
import shutil
from pathlib import Path

import pytest
from conftest import SAMPLES
from test_photos import jpeg, picture

from reportgen.anonymous import LEFT_OUT, MASK, WITHHELD, anonymised, public_title, without_names
from reportgen.cli import run
from reportgen.figures import compute
from reportgen.photos import with_photos
from reportgen.read.folder import read_trial
from reportgen.read.sheet import Section, Sheet, parse_sheet
from reportgen.results_file import results_document
from reportgen.safety import safety_notes
from reportgen.speech import Speech, speaking
from reportgen.trial import Trial
from reportgen.view import build_view

#: Texts of the sheet that may be published: the region is meant for it, the others are no free text.
PUBLIC = {"region", "title"}
SHEET = """
title = "Zqtitle at Zqsite by Zqoperator"
id = "Zqid"
series = "Zqseries"
outcome = "aborted"
reason = "Zqreason smell of gas"
site = "Zqsite"
region = "Zqregion"
operator = "Zqoperator Zqfamily"
organisation = "Zqorganisation"
contact = "zqcontact@example.org"
signed_by = "Zqsigned"
amendments = "Zqamendments"
date = 2026-03-14
time_zone = "Indian/Mauritius"
photos = [
  { file = "Zqphotos/Zqice.jpg", caption = "Zqcaption" },
  { file = "Zqphotos/Zqface.jpg", caption = "Zqfacecaption", people = true },
  "Zqmissing.jpg",
]
photo_consent = true
incidents = "Zqincidents, a headache"
licence = "Zqlicence"
citation = "Zqcitation"
paid_by = "Zqpaid"
equipment_from = "Zqequipment"
conflicts = "Zqconflicts"
purpose = "Zqpurpose"
steps = "Zqsteps"
deviations = "Zqdeviations"
weather = "Zqweather"
baseline = "Zqbaseline"
advice = "Zqadvice"
notes = "Zqnotes with children"

[burner]
lit = "09:05"
out = "12:40"
description = "Zqburner"
flame = "Zqflame"

[gas]
kind = "holder"
accuracy = "2 % (limits)"
methane = "61 +/- 3 %"
methane_method = "Zqmethod analyser"
seal_water = "Zqseal"

[cabinet]
appliance = "Zqappliance"
probe_position = "Zqprobe"
probe_check = "Zqcheck"
thermostat = "Zqthermostat"

[water]
mass = "1.20 +/- 0.01 kg"
placed = "09:10"
temperature = "24 +/- 0.5 degC"
end_point = "Zqend"
container = "Zqtub"

[digester]
working_volume = "900 L"
solids_source = "table"
source = "Zqsource"
description = "Zqdigester"
preparation = "Zqgrinder"
formula = "Zqformula"
specific_yield = "110 +/- 20 L/kg"

[reference]
heat_source = "Zqheat"
source = "Zqreference"
power = "120 +/- 5 W"
time_to_0 = "1.9 +/- 0.1 h"

[audience]
visitors = 35
"Zqgroup" = 6
"Zqothers" = "Zqmany"

[costs]
currency = "Zqcurrency"
"Zqitem" = 2400

[replication]
parts = "Zqparts"
skills = "Zqskills"
permissions = "Zqpermissions"

[columns]
"Zqlog.csv" = { ambient_temperature = "Zqheader" }

[files."Zqfeed.csv"]
decimal = "point"
"""
LOG = """time,gas_volume [L],cabinet_temperature [degC],Zqheader,ice,container,event,note,Zqcolumn
09:00,182,26.5,28,liquid,Zqtray,,Zqnote,
09:05,182,26.4,28,,,burner lit,smell of ammonia Zqammonia,
09:45,150,16,28,,,Zqevent,,
10:05,140,Zqcell,28,Zqstate,Zqtray,,,
10:45,120,4,28,partial,Zqtray,,,
11:45,95,-4,28,partial,Zqcup,door opened,,
12:40,70,-9.5,28,solid,Zqtray,burner out,,
Zqtime,60,-9.5,28,solid,Zqcup,,Zquntimed,
13:00,69,-9,28,solid,Zqcup,,,
"""
FEED = """time,material,fresh_mass [kg],gas_produced [L]
2026-03-10 08:00,Zqmaterial,4,
2026-03-11 08:00,Zqmaterial,4,300
2026-03-12 08:00,Zqwaste,4,310
2026-03-13 08:00,Zqmaterial,Zqmass,305
"""


@pytest.fixture(scope="module")
def secret(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of one trial whose every text, name of a file included, is a secret of its own."""
    season = tmp_path_factory.mktemp("Zqseason")
    folder = season / "Zqfolder"
    (folder / "Zqphotos").mkdir(parents=True)
    for name in ("Zqice.jpg", "Zqface.jpg"):
        (folder / "Zqphotos" / name).write_bytes(jpeg(picture(), comment=b"Zqcomment"))
    (folder / "Zqbook.xlsx").write_bytes(b"PK")
    (folder / "trial.toml").write_text(SHEET, encoding="utf-8")
    (folder / "Zqlog.csv").write_text(LOG, encoding="utf-8")
    (folder / "Zqfeed.csv").write_text(FEED, encoding="utf-8")
    broken = season / "Zqbroken"
    broken.mkdir()
    (broken / "trial.toml").write_text('title = "Zqbroken"\nZqkey = 1\n', encoding="utf-8")
    (season / "Zqpassed").mkdir()
    (season / "Zqpassed" / "Zqlonely.csv").write_text("time,gas_volume [L]\n09:00,240\n", encoding="utf-8")
    return season


def read(folder: Path) -> Trial:
    return with_photos(read_trial(folder), folder)


def secrets_in(text: str) -> set[str]:
    """Return the secrets in a text, also in the pictures that it carries."""

    def picture(match: re.Match[str]) -> str:
        return base64.b64decode(match[1]).decode("utf-8", errors="replace")

    shown = re.sub(r";base64,([A-Za-z0-9+/=]+)", picture, text)
    return {word for word in re.findall(r"[zZ][qQ][a-zA-Z]{2,}", shown) if word.lower() != "zqregion"}


def texts_of(section: Section, place: str = "") -> dict[str, str]:
    """Return all texts of a sheet by their key, nested ones included."""
    found: dict[str, str] = {}
    for name in type(section).model_fields:
        value = getattr(section, name)
        if isinstance(value, Section):
            found |= texts_of(value, f"{name}.")
        elif isinstance(value, str):
            found[place + name] = value
    return found


def test_the_sheet_of_secrets_fills_every_text_there_is() -> None:
    empty = {key for key, text in texts_of(parse_sheet(SHEET.encode())).items() if not text}
    assert empty == set(), "give a secret to each new key of trial.toml"


def test_no_secret_comes_out_of_an_anonymous_batch(secret: Path, tmp_path: Path) -> None:
    named, out = tmp_path / "named", tmp_path / "out"
    assert run(["batch", str(secret), "--out", str(named)]) == 1
    assert len(secrets_in((named / "Zqfolder" / "report.html").read_text(encoding="utf-8"))) > 30
    assert run(["batch", str(secret), "--out", str(out), "--anonymous"]) == 1
    files = {path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()}
    names = {path.name for path in files}
    assert {"index.html", "results.csv", "report.html", "report.md", "results.json", "photo-1.jpg"} <= names
    assert "photo-2.jpg" not in names
    for path, data in files.items():
        assert secrets_in(str(path)) == set()
        text = data.decode("utf-8", errors="replace")
        # The title names site and operator: they are replaced, what else it says is its author's to publish.
        assert secrets_in(text.replace("Zqtitle", "")) == set(), path
    assert "Zqtitle at Zqregion by the operator" in files[next(p for p in files if p.name == "report.md")].decode()


@pytest.mark.parametrize("edition", ["funder", "class"])
def test_no_secret_comes_out_of_another_edition(secret: Path, tmp_path: Path, edition: str) -> None:
    folder = str(secret / "Zqfolder")
    assert run(["report", folder, "--out", str(tmp_path), "--anonymous", "--edition", edition]) == 0
    for name in ("report.html", "report.md", "results.json"):
        text = (tmp_path / name).read_text(encoding="utf-8")
        assert secrets_in(text.replace("Zqtitle", "")) == set(), name
        assert "anonymous" in text


def test_the_numbers_are_those_of_the_named_report(secret: Path) -> None:
    trial = read(secret / "Zqfolder")
    public = compute(anonymised(trial))
    for key, figure in compute(trial).figures.items():
        other = public[key]
        assert (figure.is_given, figure.basis) == (other.is_given, other.basis), key
        if figure.is_given:
            assert (figure.value, figure.interval) == (other.value, other.interval), key


@pytest.mark.parametrize("name", ["canteen-hand-readings", "hill-school-fahrenheit", "canteen-logger-and-hand"])
def test_no_figure_of_a_sample_changes(name: str) -> None:
    trial = read(SAMPLES / name)
    before, after = (results_document(t, compute(t))["results"] for t in (trial, anonymised(trial)))
    for key, figure in before.items():
        assert {k: figure.get(k) for k in ("value", "interval_95", "basis")} == {
            k: after[key].get(k) for k in ("value", "interval_95", "basis")
        }, key


def test_dangers_in_words_still_warn_without_the_words(secret: Path) -> None:
    trial = read(secret / "Zqfolder")
    public = anonymised(trial)
    named, notes = (safety_notes(t, compute(t)) for t in (trial, public))
    assert [(note.code, note.severity) for note in notes] == [(note.code, note.severity) for note in named]
    by_code = {note.code: note for note in notes}
    assert {"ammonia", "gas-smell", "people-ill", "children-words", "incident"} <= set(by_code)
    assert str(by_code["ammonia"].reason) == "the records say so, in words left out of this edition"
    assert by_code["ammonia"].rows == ("log-2.csv:3",)
    assert all("ammonia" not in str(note.reason) for note in notes)


def test_the_report_says_what_it_is_and_what_is_left_out(secret: Path, tmp_path: Path) -> None:
    assert run(["report", str(secret / "Zqfolder"), "--out", str(tmp_path), "--anonymous"]) == 0
    text = (tmp_path / "report.md").read_text(encoding="utf-8")
    assert "This is the anonymous edition of the report." in text
    for key in ("names", "texts", "cells", "photos", "captions", "licence"):
        assert str(LEFT_OUT[key]) in text
    assert str(LEFT_OUT["site"]) not in text
    assert f"Operator: {WITHHELD}" in text
    document = json.loads((tmp_path / "results.json").read_text(encoding="utf-8"))
    assert document["report"]["anonymous"] is True
    assert (document["trial"]["site"], document["trial"]["region"]) == ("Zqregion", "Zqregion")
    assert re.fullmatch(r"trial-[0-9a-f]{8}", document["trial"]["id"])
    assert document["trial"]["folder"] == document["trial"]["id"]
    assert document["inputs"][0]["file"] == "trial.toml"
    quoted = [finding["message"] for finding in document["findings"] if MASK in finding["message"]]
    assert quoted, "cells that findings quote are masked"


def test_a_sign_tells_that_words_of_the_set_up_are_the_same_and_not_which(secret: Path, tmp_path: Path) -> None:
    def sign(name: str, *changes: tuple[str, str]) -> tuple[str, ...]:
        folder, text = tmp_path / name, SHEET
        shutil.copytree(secret / "Zqfolder", folder)
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (folder / "trial.toml").write_text(text, encoding="utf-8")
        return anonymised(read(folder)).set_up_words

    probe, words = sign("first")
    assert probe == "other"
    assert re.fullmatch("words-[0-9a-f]{8}", words)
    same = [
        sign("site", ('site = "Zqsite"', 'site = "Zqother"')),
        sign("series", ('"Zqseries"', '"Zqanother"')),
        sign("marks", ('end_point = "Zqend"', 'end_point = "zqend!"')),
    ]
    assert same == [(probe, words)] * 3
    named = [sign(who, ('end_point = "Zqend"', f'end_point = "Zqend by {who}"')) for who in ("Zqoperator", "Zqsigned")]
    assert named[0] == named[1], "names are not among the words"
    other = [
        sign("region", ('"Zqregion"', '"Zqcoast"')),
        sign("end", ('end_point = "Zqend"', 'end_point = "Zqtilted"')),
        sign("thermostat", ('"Zqthermostat"', '"Zqcoldest"')),
        sign("probe", ('"Zqprobe"', '"in the air by Zq"')),
    ]
    assert len({words, *(each for _, each in other)}) == 5
    assert other[-1][0] == "air"


def test_left_out_is_said_in_the_language_of_the_report(secret: Path) -> None:
    spoken = Speech(tag="fr", messages={"left out of this edition": ("LEFT",)})
    trial = anonymised(read(secret / "Zqfolder"))
    with speaking(spoken):
        view = build_view(trial, compute(trial), draw=lambda *_: ())
        assert ("Operator", "LEFT") in view.facts
        shown = repr(view)
    assert WITHHELD not in shown.replace("in words left out of this edition", "").replace("reason is left out of", "")
    assert view.outcome == "This trial was aborted; the reason is left out of this edition."


def test_texts_are_kept_on_purpose_without_names(secret: Path, tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    shutil.copytree(secret / "Zqfolder", folder)
    words = SHEET.replace('id = "Zqid"', 'id = "Zqid"\npublish_texts = true').replace(
        "Zqnotes with children", "Zqnotes of ZQOPERATOR  zqfamily and zqsigned at Zqsite with Zqfamily"
    )
    (folder / "trial.toml").write_text(words, encoding="utf-8")
    assert run(["report", str(folder), "--out", str(tmp_path / "out"), "--anonymous"]) == 0
    text = (tmp_path / "out" / "report.md").read_text(encoding="utf-8")
    assert "Zqnotes of the operator and the operator at Zqregion with the operator" in text
    assert {"Zqnotes", "Zqincidents", "Zqcaption"} <= secrets_in(text)
    gone = {"zqoperator", "zqfamily", "zqsigned", "zqsite", "zqid", "zqlog", "zqcell", "zqpaid", "zqcitation"}
    assert gone.isdisjoint(word.lower() for word in secrets_in(text))


def sheet(**texts: str) -> Sheet:
    return parse_sheet("\n".join(f'{key} = "{text}"' for key, text in texts.items()).encode())


@pytest.mark.parametrize(
    ("title", "public", "is_own"),
    [
        ("Harbour canteen, run 3", "south coast, run 3", True),
        ("Run 3 of N. Example", "Run 3 of the operator", True),
        ("Ice from waste", "Ice from waste", True),
        ("The canteen's third run", "Biogas-to-ice trial, south coast", False),
        ("EXAMPLE'S ice", "the operator'S ice", True),
    ],
)
def test_a_title_loses_the_names_in_it(title: str, public: str, is_own: bool) -> None:
    stated = sheet(title=title, site="Harbour canteen", operator="N. Example", region="south coast")
    assert public_title(stated) == (public, is_own)


def test_without_a_region_the_site_is_not_named_at_all() -> None:
    stated = sheet(title="Harbour canteen, run 3", site="Harbour canteen")
    assert public_title(stated) == ("the site, run 3", True)
    assert without_names("harbour\n canteen", stated) == "the site"


def test_short_words_of_names_are_no_names() -> None:
    stated = sheet(title="t", operator="Al de Ruiter")
    assert without_names("de Ruiter saw Al de Ruiter and de others", stated) == (
        "de the operator saw the operator and de others"
    )


@pytest.mark.parametrize(
    ("method", "public"),
    [
        ("analyser", "analyser"),
        ("absorption in Zqlye, syringe", "absorption"),
        ("guessed by Zq", "assumed"),
        ("Zq's own way", WITHHELD),
        ("", ""),
    ],
)
def test_whether_the_methane_was_measured_stays_known(tmp_path: Path, method: str, public: str) -> None:
    (tmp_path / "trial.toml").write_text(f'title = "t"\n[gas]\nmethane_method = "{method}"\n', encoding="utf-8")
    assert anonymised(read_trial(tmp_path)).sheet.gas.methane_method == public


def test_a_published_name_stays_when_the_log_is_corrected(secret: Path, tmp_path: Path) -> None:
    folder = tmp_path / "Zqfolder"
    shutil.copytree(secret / "Zqfolder", folder)
    (folder / "Zqlog.csv").write_text(LOG.replace("182,26.4", "181,26.4"), encoding="utf-8")
    assert anonymised(read(folder)).folder == anonymised(read(secret / "Zqfolder")).folder


def test_photos_without_consent_are_left_out(secret: Path, tmp_path: Path) -> None:
    folder = tmp_path / "Zqfolder"
    shutil.copytree(secret / "Zqfolder", folder)
    (folder / "trial.toml").write_text(SHEET.replace("photo_consent = true\n", ""), encoding="utf-8")
    public = anonymised(read(folder))
    assert public.photos == ()
    assert not any(source.file.startswith("photo") for source in public.inputs)
    assert "photos" in public.left_out


def test_what_is_published_stands_apart_from_what_holds_names(
    secret: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = str(secret / "Zqfolder")
    assert run(["report", folder]) == 0
    assert run(["report", folder, "--anonymous"]) == 0
    assert (tmp_path / "reports" / "Zqfolder" / "report.html").is_file()
    (published,) = (tmp_path / "reports-anonymous").iterdir()
    assert re.fullmatch(r"trial-[0-9a-f]{8}", published.name)
    capsys.readouterr()
    assert run(["report", folder, "--anonymous", "--out", "reports/Zqfolder"]) == 1
    assert run(["batch", folder, "--anonymous", "--out", "reports"]) == 1
    assert run(["batch", folder, "--out", "reports-anonymous"]) == 1
    errors = capsys.readouterr().err
    assert errors.count("a report with names stands there, and this is an anonymous edition") == 2
    assert errors.count("an anonymous edition stands there, and this is a report with names") == 1
