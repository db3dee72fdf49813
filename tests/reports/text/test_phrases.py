"""Numbers in the units that people read."""

from __future__ import annotations

import pytest

from drybox.readable import Figure, MetricText
from drybox.reports.text.phrases import retold, say, the


@pytest.mark.parametrize(
    ("litres", "text"),
    [
        (0.1, "3.4 fl oz"),
        (0.5, "17 fl oz"),
        (0.946353, "1.0 qt"),  # a US quart, 57.75 cubic inches (NIST Handbook 44, appendix C)
        (6.4, "1.7 gal"),
        (3.785412, "1.0 gal"),  # a US gallon, 231 cubic inches, likewise
    ],
)
def test_a_us_volume_is_in_the_measure_one_would_take(litres: float, text: str) -> None:
    assert say("water_l", litres, "us") == text
    assert say("amount_ml", 1e3 * litres, "us") == text


def test_sentences_told_in_metric_are_retold_in_us_units() -> None:
    air, plate = Figure("temp_c", 20.0, "20 °C"), Figure("temp_c", -5.5, "-5.5 °C")
    wind = MetricText("wind ", Figure("wind_m_s", 10.0, "10 m/s"))
    told = MetricText("Air of ", air, ", ", wind, " and a plate at ", plate, ".")
    assert told == "Air of 20 °C, wind 10 m/s and a plate at -5.5 °C."
    assert retold(told, "us") == "Air of 68 °F, wind 22 mph and a plate at 22 °F."
    assert retold(told) == told
    assert retold("20 °C, in words of the user's own", "us").startswith("20 °C")


def test_an_article_is_said_once() -> None:
    assert the("the houses") == "the houses"
    assert the("theatre") == "the theatre"
