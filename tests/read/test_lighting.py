"""Whether the first lighting that is understood was the first: what shows it, and what does not."""

from __future__ import annotations

import math

import pytest

from reportgen.figures import compute
from reportgen.read.sheet import FILE_NAME
from reportgen.trial import Finding, Trial

from .written import trial_of

SHEET = 'date = 2026-03-14\n[gas]\nkind = "{kind}"\nisolated = true\nresolution = "2 L"\n'
GAS, CABINET, AMBIENT = "gas_volume [L]", "cabinet_temperature [degC]", "ambient_temperature [degC]"


def minutes(clock: str) -> int:
    hour, minute = clock.split(":")
    return 60 * int(hour) + int(minute)


def readings(
    burning: list[tuple[str, str]],
    *,
    begins: str = "08:30",
    ends: str = "12:50",
    every: int = 10,
    rate: float = 60.0,
    cools: bool = True,
) -> dict[str, str]:
    """Return logs of gas and of cabinet and room, of a flame that burns from one clock time to another."""
    spans = [(minutes(lit), minutes(out)) for lit, out in burning]
    gas, cold = [f"time,{GAS}"], [f"time,{CABINET},{AMBIENT}"]
    for minute in range(minutes(begins), minutes(ends) + 1, every):
        burnt = sum(max(min(minute, out) - lit, 0) for lit, out in spans)
        clock = f"{minute // 60:02}:{minute % 60:02}"
        gas.append(f"{clock},{2 * round((300 - rate * burnt / 60) / 2)}")
        cold.append(f"{clock},{26 - (30 * (1 - math.exp(-burnt / 80)) if cools else 0):.1f},27.0")
    return {"gas.csv": "\n".join(gas) + "\n", "cold.csv": "\n".join(cold) + "\n"}


def rows_of(*rows: str) -> str:
    return "\n".join(["time,event", *rows, ""])


def read(events: str, logs: dict[str, str], *, kind: str = "holder", sheet: str = "") -> Trial:
    return trial_of(SHEET.format(kind=kind) + sheet, {"events.csv": events, **logs})


def found(trial: Trial) -> Finding | None:
    return next((finding for finding in trial.findings if finding.code == "lit-before"), None)


#: Lit at 09:05 in words that are not understood, out at 10:20, lit again at 10:32, out at 12:40.
BURNT = [("09:05", "10:20"), ("10:32", "12:40")]
UNREAD = ("09:05,fire on", "10:20,burner out", "10:32,{lit}", "12:40,burner out")
AGAIN = rows_of(*UNREAD).format(lit="lit again")
ANEW = rows_of(*UNREAD).format(lit="burner lit")
#: The relighting alone: nobody wrote the flame-out.
SHORT = rows_of("09:05,fire on", "10:32,burner lit", "12:40,burner out")


@pytest.mark.parametrize("events", [AGAIN, ANEW, SHORT])
@pytest.mark.parametrize("part", ["both", "gas", "cabinet", "neither"])
def test_a_flame_that_burnt_before_its_first_lighting_has_no_run(events: str, part: str) -> None:
    kept = {"both": ("gas.csv", "cold.csv"), "gas": ("gas.csv",), "cabinet": ("cold.csv",), "neither": ()}[part]
    logs = {name: log for name, log in readings(BURNT).items() if name in kept}
    trial = read(events, logs)
    said = found(trial)
    if part == "neither" and events == SHORT:
        assert said is None  # nothing but the words, which tell of no flame
        return
    assert said is not None
    assert (said.level, said.file, said.row) == ("caution", "events.csv", 3 if events == SHORT else 4)
    assert 'was it first lit at "fire on" (events.csv, row 2)?' in str(said.message)
    assert f'write lit = "2026-03-14 09:05" under [burner] in {FILE_NAME}' in str(said.message)
    assert (trial.lit_at, trial.burning, trial.end_recorded) == (None, (), False)


def test_the_reason_stands_at_every_figure_that_counts_from_lighting() -> None:
    looks = "time,ice\n09:10,liquid\n12:00,partial\n12:30,solid\n"
    results = compute(read(AGAIN, {**readings(BURNT), "ice.csv": looks}))
    for key in ("run_time", "burning_time", "gas_used", "gas_per_hour", "time_to_0", "cooling_rate_mean",
                "ice_making_time", "temperature_start", "ambient_mean"):  # fmt: skip
        assert not results[key].is_given, key
        assert (results[key].at_least, results[key].at_most) == (None, None), key
    for key in ("run_time", "gas_used_as_read", "time_to_0", "ice_making_time"):
        assert str(results[key].reason) == (
            'when the burner was lit is not recorded: "lit again" (events.csv, row 4) lights the burner again; was it '
            'first lit at "fire on" (events.csv, row 2)? write lit = "2026-03-14 09:05" under [burner] in trial.toml, '
            "or the time that is right"
        )


def test_what_it_says_to_write_gives_all_of_them() -> None:
    trial = read(AGAIN, readings(BURNT), sheet='[burner]\nlit = "2026-03-14 09:05"\n')
    assert found(trial) is None
    results = compute(trial)
    assert results["run_time"].value == pytest.approx(3 + 35 / 60)
    assert results["gas_per_hour_as_read"].value == pytest.approx(60, rel=0.03)
    # Who lit it again for the first time of this trial says so, and is believed.
    assert found(read(rows_of("10:32,lit again"), readings(BURNT), sheet='[burner]\nlit = "10:32"\n')) is None


@pytest.mark.parametrize("words", ["relit", "Burner RE-LIT", "rallumé", "encendido de nuevo", "moto umewashwa tena"])
def test_a_relighting_without_a_lighting_says_so_itself(words: str) -> None:
    if words == "encendido de nuevo":
        words = "llama encendida de nuevo"
    said = found(read(rows_of(f"10:32,{words}", "12:40,burner out"), {}))
    assert said is not None
    assert f'"{words}" (events.csv, row 2) lights the burner again, and no lighting before it is known' in str(
        said.message
    )
    assert 'lit = "…" under [burner]' in str(said.message)


def test_a_relighting_after_a_lighting_is_one() -> None:
    trial = read(rows_of("09:05,lit", "10:20,out", "10:32,lit again", "12:40,out"), readings(BURNT))
    assert found(trial) is None
    assert len(trial.burning) == 2


def test_a_flame_out_before_any_lighting_tells_where_gas_was_drawn_until_then() -> None:
    events = rows_of("10:20,burner out", "10:32,burner lit", "12:40,burner out")
    said = found(read(events, readings(BURNT)))
    assert said is not None
    assert "gas was drawn before" in str(said.message)
    assert "no lighting before it is known" in str(said.message)
    only_cold = {"cold.csv": readings(BURNT)["cold.csv"]}
    assert "the cabinet cooled before" in str(found(read(events, only_cold)).message)  # type: ignore[union-attr]
    # Nothing was drawn before: the row speaks of another day, or of a tap.
    assert found(read(events, readings(BURNT[1:]))) is None


@pytest.mark.parametrize("kind", ["meter", "flow"])
def test_meters_tell_it_as_holders_do(kind: str) -> None:
    logs = readings(BURNT)
    header, *rows = logs["gas.csv"].splitlines()
    if kind == "meter":
        rows = [f"{clock},{1000 - int(value)}" for clock, value in (row.split(",") for row in rows)]
    else:
        header = "time,gas_flow [L/min]"
        spans = [(minutes(lit), minutes(out)) for lit, out in BURNT]
        rows = [
            f"{clock},{float(any(lit <= minutes(clock) <= out for lit, out in spans)):.1f}"
            for clock in (row.partition(",")[0] for row in rows)
        ]
    gas = {"gas.csv": "\n".join([header, *rows, ""])}
    said = found(read(SHORT, gas, kind=kind))
    assert said is not None
    assert "gas was drawn before" in str(said.message)
    assert found(read(SHORT.replace("10:32", "09:08"), gas, kind=kind)) is None


@pytest.mark.parametrize(
    "row", ["08:50,stirred", "08:50,checked the seals", "09:04,fire on", "06:00,fed", "2026-03-12 09:00,gas tap mended"]
)
@pytest.mark.parametrize("every", [1, 10, 30])
def test_words_that_tell_of_no_flame_cost_nothing(row: str, every: int) -> None:
    events = rows_of(row, "09:05,burner lit", "12:40,burner out")
    if row.startswith("2026"):
        events = events.replace("\n09", "\n2026-03-14 09").replace("\n12", "\n2026-03-14 12")
    trial = read(events, readings([("09:05", "12:40")], begins="06:00", every=every))
    assert found(trial) is None
    assert compute(trial)["gas_per_hour_as_read"].value == pytest.approx(60, rel=0.05)


def test_a_log_that_begins_a_minute_after_lighting_keeps_its_figures() -> None:
    events = rows_of("09:05,ready", "09:06,burner lit", "12:40,burner out")
    assert found(read(events, readings([("09:05", "12:40")], begins="09:05", every=1))) is None


def test_gas_that_falls_by_less_than_its_scale_shows_or_for_a_stove_is_no_flame() -> None:
    cooled = readings([("06:00", "09:05")], begins="06:00", ends="09:05", rate=3.0, cools=False)["gas.csv"]
    last = int(cooled.splitlines()[-1].rpartition(",")[2])
    run = "".join(f"{9 + m // 60:02}:{m % 60:02},{last - (m - 5)}\n" for m in range(15, 220, 10))
    events = rows_of("06:30,stirred", "09:05,burner lit", "12:40,burner out")
    assert found(read(events, {"gas.csv": cooled + run})) is None
    stove = "time,gas_volume [L],gas_elsewhere [L]\n07:00,300,\n07:40,260,40\n09:00,260,\n10:00,205,\n11:00,145,\n"
    assert found(read(events.replace("06:30", "07:00"), {"gas.csv": stove})) is None
    assert found(read(events.replace("06:30", "07:00"), {"gas.csv": stove.replace(",40\n", ",\n")})) is not None


def test_a_slip_of_the_gas_scale_is_no_flame() -> None:
    logs = readings([("09:05", "12:40")])
    logs["gas.csv"] = logs["gas.csv"].replace("08:50,300", "08:50,30")
    assert found(read(rows_of("08:40,stirred", "09:05,burner lit", "12:40,burner out"), logs)) is None


def test_a_cabinet_that_cools_with_the_evening_is_not_being_cooled() -> None:
    rows = [f"time,{CABINET},{AMBIENT}"]
    rows += [f"{17 + m // 60}:{m % 60:02},{32 - m / 30:.1f},{33 - m / 30:.1f}" for m in range(0, 180, 30)]
    events = rows_of("17:05,stirred", "19:40,burner lit", "22:00,burner out")
    log = {"cold.csv": "\n".join([*rows, "20:00,20,27", "21:00,5,26", ""])}
    assert found(read(events, log)) is None
    assert found(read(events, {"cold.csv": log["cold.csv"].replace(AMBIENT, "note")})) is None
    cooled = log["cold.csv"].replace("19:30,27.0", "19:30,20.0").replace("19:00,28.0", "19:00,20.0")
    assert found(read(events, {"cold.csv": cooled})) is not None
    assert found(read(events, {"cold.csv": cooled.replace(AMBIENT, "note")})) is not None


def test_elapsed_times_do_not_count_from_a_relighting() -> None:
    log = f"elapsed [min],{CABINET}\n0,26\n60,20\n120,5\n"
    trial = read(AGAIN, {"cold.csv": log})
    assert "elapsed-without-zero" in {finding.code for finding in trial.findings}
    own = trial_of(
        "", {"log.csv": f"elapsed [min],{CABINET},event\n0,26,fire on\n75,12,out\n87,13,lit again\n200,-3,out\n"}
    )
    assert found(own) is None
    assert own.burning[0][0] == own.lit_at
