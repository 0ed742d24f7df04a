"""What the numbers of a log tell of its decimal mark, and when it has to be asked for."""

from __future__ import annotations

import pytest

from reportgen.errors import LogFileError
from reportgen.read.decimals import Mark
from reportgen.read.table import find_tables


def told(header: str, *cells: str) -> Mark | None:
    rows = "".join(f"09:{n:02d};{cell}\n" for n, cell in enumerate(cells))
    (found,) = find_tables(f"time;{header}\n{rows}", "log.csv", {})
    return found.told


@pytest.mark.parametrize(
    ("header", "cells", "mark"),
    [
        pytest.param("cabinet_temperature [degC]", ("24,5", "1,234"), "comma", id="another number tells"),
        pytest.param("cabinet_temperature [degC]", ("24.5", "18.25"), "point", id="points alone"),
        pytest.param("cabinet_temperature [degC]", ("24,125", "18,250"), "comma", id="24125 degrees cannot be"),
        pytest.param("cabinet_temperature [degC]", ("24", "18"), None, id="whole numbers tell nothing"),
        # 212 °F are 100 °C, which a boiler may have; 212125 °F it cannot.
        pytest.param("boiler_temperature [degF]", ("212,125",), "comma", id="limits hold in the unit of the header"),
    ],
)
def test_numbers_tell_their_decimal_mark(header: str, cells: tuple[str, ...], mark: Mark | None) -> None:
    assert told(header, *cells) == mark


@pytest.mark.parametrize(
    "header",
    [
        pytest.param("gas_volume [L]", id="1.5 litres and 1500"),
        # Nothing is known of what such a column may hold: no reading of it is ruled out.
        pytest.param("cabinet_temperature [furlong]", id="a unit that nobody knows"),
    ],
)
def test_what_both_marks_allow_is_asked(header: str) -> None:
    with pytest.raises(LogFileError, match=r'row 2: .* "1,500" may be 1.500 or 1500') as caught:
        told(header, "1,500")
    assert (caught.value.code, caught.value.row) == ("decimal-open", 2)


def test_any_number_of_minutes_may_have_passed() -> None:
    with pytest.raises(LogFileError, match=r'row 2: elapsed "1,500" may be 1.500 or 1500'):
        find_tables("elapsed [min];ice\n1,500;liquid\n", "log.csv", {})
