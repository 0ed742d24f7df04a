"""Sentences with gaps."""

from __future__ import annotations

import copy
import inspect
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen import errors, units
from reportgen.message import Message, printable, say, say_counted

values = st.one_of(st.integers(), st.floats(allow_nan=False), st.text(max_size=8), st.booleans(), st.none())


def test_gaps_are_filled_by_name() -> None:
    assert str(say("{n} rows of {file} are not used", n=3, file="gas.csv")) == "3 rows of gas.csv are not used"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (58.12345, "58.12"),
        (-6.0, "−6"),
        (np.float64(0.1), "0.1"),
        (np.int64(7), "7"),
        (1234567, "1234567"),
        (ufloat(58.1234, 1.1), "58.1"),
        (ufloat(-18.0, 0.2), "−18.00"),
        (1.7976931348623157e308, "1.798e+308"),
        ("{text}", "{text}"),
        (None, "None"),
    ],
)
def test_a_value_is_shown_with_the_digits_that_suit_it(value: object, shown: str) -> None:
    assert str(say("{value}", value=value)) == shown


def test_one_is_spoken_of_as_one() -> None:
    said = [str(say_counted(n, "{file}: a row", "{file}: {n} rows", file="gas.csv")) for n in (0, 1, 2)]
    assert said == ["gas.csv: 0 rows", "gas.csv: a row", "gas.csv: 2 rows"]


def test_a_gap_may_be_called_text() -> None:
    assert str(say('"{text}" is no time', text="noon")) == '"noon" is no time'


def test_values_cannot_be_changed() -> None:
    message = say("{n}", n=1)
    with pytest.raises(TypeError):
        message.values["n"] = 2  # type: ignore[index]
    with pytest.raises(AttributeError):
        message.text = "other"  # type: ignore[misc]


@given(st.dictionaries(st.sampled_from(["a", "b", "text", "n"]), values))
def test_a_message_survives_pickling_and_copying(filled: dict[str, object]) -> None:
    message = say(" ".join(f"{{{name}}}" for name in filled), **filled)
    for twin in (pickle.loads(pickle.dumps(message)), copy.deepcopy(message)):
        assert isinstance(twin, Message)
        assert twin == message
        assert str(twin) == str(message)
        assert hash(twin) == hash(message)


@given(st.integers(-(10**9), 10**9))
def test_equal_messages_have_equal_hashes(number: int) -> None:
    whole, real = say("{n}", n=number), say("{n}", n=float(number))
    assert whole == real
    assert hash(whole) == hash(real)


def test_messages_differ_by_text_or_value() -> None:
    assert len({say("{n} rows", n=1), say("{n} rows", n=2), say("{n} cells", n=1), say("{n} rows", n=1)}) == 3


ERRORS = [kind for _, kind in inspect.getmembers(errors, inspect.isclass)] + [units.UnitError]


@pytest.mark.parametrize("kind", [kind for kind in ERRORS if issubclass(kind, errors.ReportgenError)])
def test_errors_survive_pickling(kind: type[errors.ReportgenError]) -> None:
    try:
        raise kind("nothing-read", "log.csv, row 2: no time", "log.csv", 2) from KeyError("time")
    except kind as error:
        twin = pickle.loads(pickle.dumps(error))
    assert type(twin) is kind
    assert str(twin) == "log.csv, row 2: no time"
    assert (twin.code, twin.file, twin.row) == ("nothing-read", "log.csv", 2)


@pytest.mark.parametrize("kind", [kind for kind in ERRORS if kind.__module__ == errors.__name__])
def test_every_error_is_one_for_the_user(kind: type[Exception]) -> None:
    assert issubclass(kind, errors.ReportgenError)


def test_a_text_for_a_terminal_shows_and_does_nothing_else() -> None:
    assert printable("a\x1b[31mb\r\x9b\u202ec\u2066\x07") == "a�[31mb���c��"
    kept = "två ℃ −4\n\u0645\u06cc\u200c\u062e\u0648\u0627\u0647 क्\u200dष"
    assert printable(kept) == kept
