"""Folders sent by others: whatever stands in them, a clear error or a harmless report, in bounded time and memory."""

from __future__ import annotations

import csv
import html.parser
import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import markdown
import pytest

from reportgen.cli import run
from reportgen.errors import LogFileError, ReportgenError, TrialFileError
from reportgen.message import printable
from reportgen.read import files as files_reading
from reportgen.read.folder import read_trial
from reportgen.read.slips import why_no_trial
from reportgen.trial import Trial

SHEET = 'title = "t"\ndate = 2026-03-14\ntime_zone = "UTC"\n[burner]\nlit = "09:05"\nout = "12:40"\n'
LOG = "time,cabinet_temperature [degC],ice,event\n09:05,24.5,liquid,\n09:15,21.0,,\n12:30,-9,solid,\n"


def write(folder: Path, sheet: str = SHEET, **logs: str | bytes) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "trial.toml").write_text(sheet, encoding="utf-8")
    for name, text in logs.items():
        (folder / f"{name}.csv").write_bytes(text.encode() if isinstance(text, str) else text)
    return folder


def linked(link: Path, target: Path) -> None:
    try:
        link.symlink_to(target)
    except OSError:
        pytest.skip("this machine makes no symbolic links")


def outcome(folder: Path) -> Trial | str:
    """Return the trial that is read, or the error, which is a few plain lines."""
    try:
        return read_trial(folder)
    except ReportgenError as error:
        assert 1 <= len(str(error).split("\n")) <= 3
        assert len(str(error)) < 2000
        return str(error)


# Size


def test_files_of_gigabytes_are_refused_unread(tmp_path: Path) -> None:
    write(tmp_path, log="time,ice\n")
    with (tmp_path / "log.csv").open("r+b") as file:
        file.truncate(2 * 1024**3)  # large on paper only
    started = time.process_time()
    assert "2147 MB are too many for a log" in str(outcome(tmp_path))
    with (tmp_path / "trial.toml").open("r+b") as file:
        file.truncate(2 * 1024**3)
    assert "too many for a trial sheet" in str(outcome(tmp_path))
    assert time.process_time() - started < 2


@pytest.mark.parametrize(
    "log",
    [
        ",".join(f"c{n}" for n in range(200_000)) + "\n" + LOG,
        LOG + "," * 1_000_000 + "\n",
        "time,ice," + "x," * 40_000 + "\n09:05,liquid\n",
        LOG.replace("24.5", '"' + "x" * 3_000_000 + '"'),
        LOG.replace("24.5", "9" * 3_000_000),
        LOG.replace("liquid", "x" * 3_000_000),
        "x" * 3_000_000,
        "(" * 3_000_000,
        "time,ice\n" * 30_000,
        "time,ice\n" + '"' * 300_001 + "\n",
        "time,ice\n" + '"a\n' * 30_000,
        "\n" * 2_000_000,
        "#" * 2_000_000,
        ",\n" * 500_000,
    ],
    ids=[
        "a wide line above the header",
        "a million columns",
        "a wide header",
        "a long quoted cell",
        "a long number",
        "a long word",
        "one long line",
        "brackets",
        "headers only",
        "quotation marks",
        "open quotation marks",
        "line ends",
        "comment",
        "commas",
    ],
)
def test_absurd_shapes_take_bounded_time(tmp_path: Path, log: str) -> None:
    write(tmp_path, log=log)
    started = time.process_time()
    outcome(tmp_path)
    assert time.process_time() - started < 10  # it is a fraction of a second; a machine may be slow


def test_memory_is_bounded_where_a_log_is_as_hostile_as_can_be(tmp_path: Path) -> None:
    resource = pytest.importorskip("resource")
    assert resource is not None
    write(tmp_path, log=LOG + '"' + "a,\n" * 2_000_000)
    code = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (3 * 1024**3,) * 2)\n"
        "from reportgen.cli import run; sys.exit(run(['check', sys.argv[1]]))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1)
    assert "Traceback" not in done.stderr
    assert "MemoryError" not in done.stderr


def test_a_folder_of_thousands_of_files(tmp_path: Path) -> None:
    write(tmp_path)
    for number in range(2_000):
        (tmp_path / f"log{number}.csv").touch()
    started = time.process_time()
    assert "2000 logs are too many for one trial" in str(outcome(tmp_path))
    (tmp_path / "trial.toml").unlink()
    assert why_no_trial(tmp_path) is None
    assert time.process_time() - started < 5


def test_a_log_that_grows_or_vanishes_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path, log=LOG)
    monkeypatch.setattr(files_reading, "LARGEST_LOG", len(LOG) + 10)
    opened = Path.open

    def grown(path: Path, mode: str) -> object:
        if path.suffix == ".csv":
            with opened(path, "ab") as file:
                file.write(LOG.encode())
        return opened(path, mode)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "open", grown)
        assert "too many for a log" in str(outcome(tmp_path))

    write(tmp_path, log=LOG)

    def gone(path: Path, mode: str) -> object:
        if path.suffix == ".csv":
            path.unlink()
        return opened(path, mode)

    monkeypatch.setattr(Path, "open", gone)
    assert re.search(r"log\.csv: cannot be read \(No such file or directory\)\.", str(outcome(tmp_path)))


# Bytes and cells that are no log


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\x7fELF\x02\x01\x01" + bytes(range(256)) * 4, "not a text file"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a text file"),
        (LOG.encode().replace(b"24.5", b"24\x005"), "not a text file"),
        (b"PK\x03\x04\0\0", "not a text file"),
    ],
)
def test_bytes_that_are_no_text(tmp_path: Path, data: bytes, said: str) -> None:
    write(tmp_path, log=data)
    assert said in str(outcome(tmp_path))


@pytest.mark.parametrize("log", [",,,,\n,,,,\n", "\r\r\r", '"""""""\n', "\ufeff"])
def test_logs_of_nothing(tmp_path: Path, log: str) -> None:
    write(tmp_path, log=log)
    assert isinstance(outcome(tmp_path), str)
    write(tmp_path, other=LOG)
    outcome(tmp_path)


@pytest.mark.parametrize("log", ["time,ice\n", "time,ice"])
def test_a_header_alone_is_a_log_not_yet_filled_in(tmp_path: Path, log: str) -> None:
    write(tmp_path, log=log)
    assert "nothing-filled-in" in {finding.code for finding in read_trial(tmp_path).findings}


def test_lines_that_end_in_a_carriage_return_alone(tmp_path: Path) -> None:
    write(tmp_path, log=LOG.replace("\n", "\r"))
    trial = read_trial(tmp_path)
    assert len(trial.readings["cabinet_temperature"]) == 3


@pytest.mark.parametrize("number", ["1e308", "-1e308", "1e400", "inf", "nan", "9" * 400, "0x10", "1_000", "١٢"])
def test_numbers_no_instrument_shows(tmp_path: Path, number: str) -> None:
    write(tmp_path, log=LOG.replace("21.0", number))
    trial = outcome(tmp_path)
    assert isinstance(trial, Trial)
    assert all(-60 <= value <= 70 for value in trial.readings["cabinet_temperature"].values)
    assert run(["check", str(tmp_path)]) == 0


# trial.toml


@pytest.mark.parametrize(
    "line",
    [
        "a = " + "[" * 50_000,
        "a = " + "{b=" * 50_000,
        ".".join("a" * 20_000) + " = 1",
        "[" + ".".join("a" * 20_000) + "]",
        "altitude = " + "9" * 100_000,
        "altitude = 1e999999999",
        'altitude = "' + "9" * 100_000 + ' m"',
        'altitude = "1e999999999 m"',
        'altitude = "' + "(" * 100_000 + '"',
        'notes = "' + "*" * 100_000 + '"',
        'notes = "' + "[" * 50_000 + "](" * 20_000 + '"',
        'time_zone = "../../../../etc/passwd"',
        'time_zone = "/etc/passwd"',
        "date = 9999-12-31",
        "[gas]\nlevel_table = [" + "[1,1]," * 50_000 + "]",
        "[costs]\n" + "\n".join(f"c{n} = 1" for n in range(5_000)),
    ],
    ids=lambda line: line[:24].strip(),
)
def test_a_hostile_sheet_is_an_error_or_harmless(tmp_path: Path, line: str) -> None:
    write(tmp_path, f'title = "t"\n{line}\n', log="time,ice\n2026-03-14 09:05,liquid\n")
    started = time.process_time()
    assert run(["report", str(tmp_path), "--out", str(tmp_path / "out"), "--format", "md"]) in (0, 1)
    assert time.process_time() - started < 20


# What lies outside the folder


def test_nothing_outside_the_folder_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    secret = tmp_path / "elsewhere"
    write(secret, 'title = "SECRET"\n', secret="time,note\n2026-03-14 09:05,SECRET\n")
    (secret / "secret.jpg").write_bytes(b"SECRET")
    trial = write(
        tmp_path / "trial",
        SHEET.replace('"UTC"\n', '"UTC"\nphotos = ["linked.jpg", "below/secret.jpg"]\nphoto_consent = true\n'),
        log=LOG,
    )
    for name, target in (
        ("linked.csv", secret / "secret.csv"),
        ("linked.ods", secret / "secret.csv"),
        ("folder.csv", secret),
        ("linked.jpg", secret / "secret.jpg"),
        ("below", secret),
        ("lost.csv", tmp_path / "nowhere"),
    ):
        linked(trial / name, target)
    assert run(["report", str(trial), "--out", str(tmp_path / "out")]) == 0
    written = "".join(path.read_text() for path in sorted((tmp_path / "out").rglob("*.*")))
    assert "SECRET" not in written + str(capsys.readouterr())
    places = {found["file"] for found in json.loads((tmp_path / "out" / "results.json").read_text())["findings"]}
    assert {"linked.csv", "linked.ods", "folder.csv", "lost.csv"} <= places
    linked(tmp_path / "season", secret)
    (trial / "trial.toml").unlink()
    linked(trial / "trial.toml", secret / "trial.toml")
    with pytest.raises(TrialFileError, match="link to a file outside"):
        read_trial(trial)


def test_a_batch_follows_no_link_out_of_its_folder(tmp_path: Path) -> None:
    write(tmp_path / "elsewhere", log=LOG)
    write(tmp_path / "season" / "run-1", log=LOG)
    linked(tmp_path / "season" / "run-2", tmp_path / "elsewhere")
    linked(tmp_path / "season" / "round", tmp_path / "season")
    assert run(["batch", str(tmp_path / "season"), "--out", str(tmp_path / "out"), "--format", "md"]) == 0
    assert sorted(path.parent.name for path in (tmp_path / "out").rglob("results.json")) == ["run-1"]


@pytest.mark.parametrize(
    "photo", ["../secret.jpg", "a/../../secret.jpg", "/etc/passwd", "C:\\secret.jpg", "..\\x.jpg", "~"]
)
def test_a_photo_lies_below_the_folder(tmp_path: Path, photo: str) -> None:
    (tmp_path / "secret.jpg").write_bytes(b"SECRET")
    write(tmp_path / "trial", f"photos = ['{photo}']\n{SHEET}", log=LOG)
    if photo == "~":
        assert isinstance(outcome(tmp_path / "trial"), Trial)  # a file of that name, which is not there
    else:
        assert "expected a relative path inside the trial folder" in str(outcome(tmp_path / "trial"))


@pytest.mark.parametrize("kind", ["folder", "pipe", "link to a device"])
def test_what_is_no_file_is_not_opened(tmp_path: Path, kind: str) -> None:
    for name in ("log.csv", "trial.toml"):
        write(tmp_path, other=LOG)
        place = tmp_path / name
        place.unlink(missing_ok=True)
        if kind == "folder":
            place.mkdir()
        elif kind == "pipe":
            if not hasattr(os, "mkfifo"):
                pytest.skip("this machine has no named pipes")
            os.mkfifo(place)
        else:
            linked(place, Path(os.devnull))
        read = outcome(tmp_path)
        if name == "log.csv":
            assert isinstance(read, Trial)
            code = "link-outside" if kind == "link to a device" else "file-not-readable"
            assert (code, "log.csv") in [(finding.code, finding.file) for finding in read.findings]
        else:
            assert "trial.toml" in str(read)
            place.rmdir() if kind == "folder" else place.unlink()


# Words that would be code elsewhere

LIVE = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "</title></style><svg/onload=alert(1)>",
    '"><iframe src=javascript:alert(1)>',
    "[a](javascript:alert(1))",
    "![a](https://example.org/a.png)",
    "<https://example.org/a>",
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "`<script>alert(1)</script>`",
    "{{ 7 * 191 }}{% raw %}",
    "=cmd|' /C calc'!A0",
]


class Tags(html.parser.HTMLParser):
    """The tags, and where links lead."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.targets: set[str] = set()
        self.handlers: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        for name, value in attrs:
            if name in ("href", "src", "action", "srcdoc", "data"):
                self.targets.add((value or "").strip())
            if name.startswith("on"):
                self.handlers.add(name)


def tags_of(text: str) -> Tags:
    parser = Tags()
    parser.feed(text)
    return parser


def hostile_trial(folder: Path) -> Path:
    text = json.dumps(" ".join(LIVE))
    raw = " ".join(LIVE).replace('"', '""')
    sheet = (
        f"title = {text}\nid = {text}\nsite = {text}\nregion = {text}\noperator = {text}\nsigned_by = {text}\n"
        f'incidents = {text}\nlicence = {text}\noutcome = "aborted"\nreason = {text}\nseries = {text}\n'
        f"notes = {json.dumps(chr(10).join(LIVE))}\n"
        f'date = 2026-03-14\ntime_zone = "UTC"\n[burner]\nlit = "09:05"\nout = "12:40"\ndescription = {text}\n'
        f'[gas]\nkind = "holder"\nmethane = "60 %"\nmethane_method = {text}\n'
        f"[cabinet]\nappliance = {text}\nprobe_position = {text}\nthermostat = {text}\n"
        f'[water]\nmass = "1 kg"\nend_point = {text}\n[digester]\nsource = {text}\n'
        f'[reference]\nheat_source = {text}\nsource = {text}\ntime_to_0 = "1 h"\n'
        f"[audience]\n{text} = 3\n[costs]\n{text} = {text}\n"
    )
    log = (
        f'time,cabinet_temperature [degC],gas_volume [L],ice,container,event,note,"{raw}"\n'
        f'09:05,24.5,200,liquid,"{raw}","burner lit","{raw}","{raw}"\n'
        f'10:05,"{raw}",180,"{raw}","{raw}","{raw}","{raw}",1\n"{raw}",3,3,,,,,\n'
        f'11:05,2,160,,,,,\n12:40,-9,140,solid,"{raw}",burner out,,\n'
    )
    feed = f'date,fresh_mass [kg],material\n2026-03-12,2,"{raw}"\n2026-03-13,2,"{raw}"\n'
    write(folder, sheet, log=log, feed=feed)
    (folder / "<img src=x onerror=alert(1)>.csv").write_text(log, encoding="utf-8")
    return folder


def test_words_in_a_trial_never_come_alive(tmp_path: Path) -> None:
    name = "<img src=x onerror=alert(1)>"
    season = tmp_path / "<b onclick=alert(1)>"
    hostile_trial(season / name)
    (season / "<i onclick=alert(1)>").mkdir()
    (season / "<i onclick=alert(1)>" / "log.csv").write_text(LOG, encoding="utf-8")
    out = tmp_path / "out"
    assert run(["batch", str(season), "--out", str(out)]) == 0
    for page in (out / "index.html", out / name / "report.html"):
        found = tags_of(page.read_text(encoding="utf-8"))
        assert ("script" in found.tags) == (page.name == "index.html")
        assert not found.tags & {"iframe", "object", "embed", "form", "i", "base"}
        assert not found.handlers
        outward = {target for target in found.targets if not target.startswith(("data:image/", "#"))}
        assert not {target for target in outward if "javascript" in target.casefold() and ":" in target.split("/")[0]}
        images = re.findall(r"<img[^>]*>", page.read_text(encoding="utf-8"))
        assert all(re.search(r' src="data:image/', image) for image in images)
        assert "1337" not in page.read_text(encoding="utf-8")
    text = (out / name / "report.md").read_text(encoding="utf-8")
    found = tags_of(markdown.markdown(text, extensions=["tables"]))
    assert not found.tags & {"script", "iframe", "svg", "b", "i", "style"}
    assert not found.handlers
    assert {target for target in found.targets if not target.startswith("charts/")} == set()
    with (out / "results.csv").open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert not [cell for cell in cells if cell[:1] in "=+@\t\r" and cell]
    assert not [cell for cell in cells if cell[:1] == "-" and not re.fullmatch(r"-[\d.e+-]+", cell)]


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r=", "a\r=", "\n=", " ="])
def test_no_cell_of_the_table_over_all_trials_is_a_formula(tmp_path: Path, sign: str) -> None:
    word = json.dumps(f"{sign}1+1|cmd")
    write(tmp_path / "season" / "run", f"id = {word}\nsite = {word}\n{SHEET}", log=LOG)
    assert run(["batch", str(tmp_path / "season"), "--out", str(tmp_path / "out"), "--format", "md"]) == 0
    with (tmp_path / "out" / "results.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len({row["basis"] for row in rows} - {"measured", "derived", "assumed", "not given"}) == 0
    assert all(row[name][0] not in "=+-@\t\r\n" for row in rows for name in ("trial", "site"))


# Names on a terminal

NAUGHTY = "run\x1b[31m\u202e\u2066\x07\x9b1m"


def test_names_on_a_terminal_show_and_do_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    season = tmp_path / NAUGHTY
    write(season / f"a\n{NAUGHTY}", SHEET, **{NAUGHTY: LOG + "soon,3,,\n"})
    write(season / f"b{NAUGHTY}", 'title = ""\n')
    (season / f"c{NAUGHTY}").mkdir()
    (season / f"c{NAUGHTY}" / f"{NAUGHTY}.csv").write_text(LOG, encoding="utf-8")
    trial = season / f"a\n{NAUGHTY}"
    assert run(["batch", str(season), "--out", str(tmp_path / "out"), "--format", "md"]) == 1
    assert run(["report", str(trial), "--out", str(tmp_path / "one"), "--format", "md"]) == 0
    errors = capsys.readouterr().err
    assert run(["check", str(trial)]) == 0
    assert run(["check", str(season / f"b{NAUGHTY}")]) == 1
    assert run(["check", str(tmp_path / f"none{NAUGHTY}")]) == 1
    checked = capsys.readouterr()
    for text in (errors, checked.err, checked.out):
        assert text == printable(text)
        assert "\N{REPLACEMENT CHARACTER}" in text


def test_a_log_of_a_naughty_name_does_not_stop_a_trial(tmp_path: Path) -> None:
    write(tmp_path, **{"a\nb\u202e": LOG, "\x7f": "time,ice\n09:20,partial\n"})
    trial = read_trial(tmp_path)
    assert {part.file for part in trial.inputs} == {"trial.toml", "a\nb\u202e.csv", "\x7f.csv"}


def test_an_error_in_a_log_of_a_naughty_name_is_a_few_lines(tmp_path: Path) -> None:
    write(tmp_path, **{"a\nb\nc\nd": "time,ice\n" + '"' * 7 + "\n", "e": LOG})
    try:
        read_trial(tmp_path)
    except LogFileError as error:
        assert len(str(error).split("\n")) <= 6
