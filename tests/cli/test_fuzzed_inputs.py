"""Inputs put together by chance: no traceback, no NaN, no harm, no end of waiting."""

from __future__ import annotations

import datetime

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, given, settings

from tests.cli.fuzzing import (
    ASKED,
    CELLS,
    INNER_KEYS,
    KEYS,
    NOTED,
    NUMBERS,
    UNITS,
    WORDS,
    event_fault,
    event_of,
    forecast_fault,
    note_fault,
    option_fault,
)

bounded = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
quantities = st.builds(
    "{}{}{}".format, st.sampled_from(NUMBERS), st.sampled_from(["", " "]), st.sampled_from(UNITS)
)
texts = st.one_of(quantities, st.sampled_from(WORDS), st.text(max_size=30))
plain = st.one_of(
    texts,
    st.integers(),
    st.floats(),
    st.booleans(),
    st.dates(),
    st.times(),
    st.datetimes(),
)
values = st.recursive(
    plain,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(INNER_KEYS) | st.text(max_size=5), inner, max_size=4),
    ),
    max_leaves=8,
)
keys = st.sampled_from(KEYS)


@pytest.mark.slow
@given(st.dictionaries(keys, values, min_size=1, max_size=4))
@bounded
def test_an_event_of_any_values(told: dict[str, object]) -> None:
    assert event_fault(event_of(told).encode("utf-8")) == ""


@pytest.mark.slow
@given(keys, texts)
@bounded
def test_an_event_with_one_odd_text(key: str, text: str) -> None:
    assert event_fault(event_of({key: text}).encode("utf-8")) == ""


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
@bounded
def test_an_event_of_any_bytes(content: bytes) -> None:
    assert event_fault(content) == ""


@given(
    st.sampled_from([",", ";", "\t"]),
    st.lists(st.sampled_from(CELLS), min_size=1, max_size=8),
    st.lists(st.lists(st.sampled_from(CELLS) | st.text(max_size=8), max_size=8), max_size=6),
)
@bounded
def test_a_forecast_of_any_cells(mark: str, head: list[str], rows: list[list[str]]) -> None:
    table = "\n".join(mark.join(cells) for cells in (head, *rows))
    assert forecast_fault(table.encode("utf-8")) == ""


@given(
    st.lists(
        st.tuples(
            st.datetimes(datetime.datetime(2027, 6, 11), datetime.datetime(2027, 6, 14)),
            st.lists(st.floats() | st.sampled_from(CELLS), min_size=3, max_size=3),
        ),
        min_size=1,
        max_size=6,
    ),
    st.permutations(["air_temp_c", "RH", "wind km/h", "ghi", "cloud cover (%)"]),
)
@bounded
def test_a_forecast_of_any_numbers(
    rows: list[tuple[datetime.datetime, list[object]]], columns: list[str]
) -> None:
    head = ";".join(["time", *columns[:3]])
    lines = [";".join([time.isoformat(), *map(str, cells)]) for time, cells in rows]
    assert forecast_fault("\n".join([head, *lines]).encode("utf-8")) == ""


@given(st.binary(max_size=300))
@bounded
def test_a_forecast_of_any_bytes(content: bytes) -> None:
    assert forecast_fault(content) == ""


@given(st.lists(st.sampled_from(NOTED) | texts, max_size=6))
@bounded
def test_a_note_of_any_words(words: list[str]) -> None:
    assert note_fault(words) == ""


@given(
    st.sampled_from(["check", "wash", "baths", "explain"]),
    st.lists(st.sampled_from(ASKED) | texts, max_size=6),
)
@bounded
def test_options_of_any_words(command: str, words: list[str]) -> None:
    assert option_fault(command, words) == ""
