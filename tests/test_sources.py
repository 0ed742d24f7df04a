"""The list of sources is well formed."""

from __future__ import annotations

import dataclasses

import pytest

from reportgen import sources


def test_no_key_is_used_twice() -> None:
    assert len(sources.SOURCES) == len(sources._ALL)


@pytest.mark.parametrize("source", sources.SOURCES.values(), ids=lambda source: source.key)
def test_each_source_says_what_it_is_and_how_it_is_known(source: sources.Source) -> None:
    assert sources.SOURCES[source.key] is source
    assert source.known in sources.KNOWN
    assert source.text.endswith(".")
    assert 40 < len(source.text) < 300


def test_a_source_cannot_be_changed() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        sources.SOURCES["plank"].known = "read"  # type: ignore[misc]
