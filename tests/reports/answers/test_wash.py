"""What is said of an odd wash."""

from __future__ import annotations

import pytest

from tests.running import DEMO, plain


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--target", "until rewash"), "This wash is only a loan"),
        (("--water-temperature", "5 C"), "washes slowly; warming it"),
    ],
)
def test_a_wash_warns_of_what_it_is_not(options: tuple[str, ...], words: str) -> None:
    assert words in plain("wash", DEMO, *options)
    assert words not in plain("wash", DEMO)
