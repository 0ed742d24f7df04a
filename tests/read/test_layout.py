"""Lines taken for headers or for numbers, and their cells."""

from __future__ import annotations

import csv

import pytest

from reportgen.read.layout import looks_like_numbers, split


@pytest.mark.parametrize(
    "lines",
    [
        ["2026-03-14 09:05;24.5"],
        ["# by hand", "", "09:05,-3.5,1.2e3"],
        ["1\t2"],
        ["09:05 \u22123.5"],  # a typographic minus sign
    ],
)
def test_a_file_that_begins_with_numbers_has_no_header(lines: list[str]) -> None:
    assert looks_like_numbers(lines)


@pytest.mark.parametrize(
    "lines", [["time,cabinet", "09:05,24.5"], ["24.5"], ["09:05,warm"], ["# 1,2"], ["24.5 degC;x"], []]
)
def test_words_or_a_number_alone_are_no_table_without_a_header(lines: list[str]) -> None:
    assert not looks_like_numbers(lines)


def test_a_delimiter_within_quotation_marks_parts_nothing() -> None:
    assert split('09:05,"cold, at last",3', ",") == ["09:05", "cold, at last", "3"]
    assert split("09:05   cold  3", "  ") == ["09:05", "cold", "3"]
    assert split("", ",") == []


def test_a_cell_longer_than_any_log_has_leaves_its_line_whole() -> None:
    line = "x" * (csv.field_size_limit() + 1) + ",3"
    assert split(line, ",") == [line]
