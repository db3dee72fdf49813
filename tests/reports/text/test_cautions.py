from __future__ import annotations

import pytest

from drybox.reports.text.cautions import CAUTIONS, cautions


def test_every_caution_is_short_and_says_what_it_stands_on() -> None:
    for caution in CAUTIONS.values():
        assert caution.text.endswith(".")
        assert len(caution.text) < 260
        assert caution.source


def test_an_unknown_topic_is_a_fault() -> None:
    with pytest.raises(KeyError):
        cautions("weather")
