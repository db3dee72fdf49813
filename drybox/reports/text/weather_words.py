"""What is said of the weather in the first lines of every answer that rests on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.scenario.rain import Spell, chance_of_dry, rain_spells
from drybox.readable import MetricText
from drybox.reports.text.phrases import listed, say, sentence, span
from drybox.units import celsius

BOTH_SKIES = "The cloud is not told, so here are a clear and a closed sky; --sky says which it is."
DULL_FRAC = 0.875
"""From this much cloud on it matters that rain was not told: 7 eighths (judgement). [-]"""


def under_both(clear: Sequence[str], closed: Sequence[str]) -> list[str]:
    """Return what is said where the cloud was not told, of a clear and of a closed sky."""
    return [BOTH_SKIES, f"Clear sky. {' '.join(clear)}", f"Closed sky. {' '.join(closed)}"]


def source_said(source: str, what: str = "Weather") -> MetricText:
    """Return where the weather is from, as a sentence."""
    return MetricText(f"{what}: ", source, "" if source.endswith(".") else ".")


def usual_said(event: Event, units: str = "metric") -> list[str]:
    """Return the line on air, humidity and wind that nobody told; none where all were told."""
    weather, parts = event.weather, []
    if "air_temp_k" in weather.usual:
        parts.append(f"air about {say('temp_c', celsius(float(weather.air_temp_k[0])), units)}")
    if "humidity_frac" in weather.usual:
        humidity = say("humidity_frac", float(weather.humidity_frac[0]), units)
        parts.append(humidity if parts else f"humidity about {humidity}")
    if "wind_10m_m_s" in weather.usual:
        wind = say("wind_m_s", float(weather.wind_10m_m_s[0]), units)
        parts.append(f"wind {'' if parts else 'about '}{wind}")
    if not parts:
        return []
    return [sentence(f"{', '.join(parts)}: usual for this place in {event.date:%B}, not told")]


def rain_said(event: Event) -> list[str]:
    """Return the lines on rain told for the event's hours; none where it stays dry."""
    zone, weather = event.place.timezone, event.weather
    spells = rain_spells(weather, event.opens_at, event.closes_at)
    found = []
    for stops in (True, False):
        when = [
            f"{span(spell.begin_at, spell.end_at, zone)}{_how_much(spell)}"
            for spell in spells
            if spell.stops is stops
        ]
        if when and stops:
            found.append(
                f"Rain {listed(when)}: nothing dries out of doors then but under a roof; take "
                "prints in before it and cover the box."
            )
        elif when:
            dry = chance_of_dry(weather, event.opens_at, event.closes_at)
            odds = "" if dry is None else f" It stays dry all day with about {100 * dry:.0f} %."
            found.append(f"Rain may come {listed(when)}: cover at hand, stay by the box.{odds}")
    return found or _rain_unknown(event)


def _how_much(spell: Spell) -> str:
    parts = []
    if spell.chance_frac is not None:
        parts.append(say("chance_frac", spell.chance_frac))
    if spell.amount_kg_m2 is not None:
        parts.append(f"{spell.amount_kg_m2:.2g} mm an hour")
    return f" ({', '.join(parts)})"


def _rain_unknown(event: Event) -> list[str]:
    """Return that rain was not told, where a forecast closes the sky over the event."""
    weather = event.weather
    untold = weather.rain_kg_m2_s is None and weather.rain_frac is None
    if weather.kind != "forecast" or not untold or weather.cloud_frac is None:
        return []
    during = (weather.mid_at >= event.opens_at) & (weather.mid_at <= event.closes_at)
    cloud = weather.cloud_frac[during]
    if not (cloud[np.isfinite(cloud)] >= DULL_FRAC).any():
        return []
    return ["The forecast tells much cloud and nothing of rain: that is not told, so keep a cover."]


def with_weather(
    lead: Sequence[str],
    event: Event,
    units: str = "metric",
    *,
    after: int = 1,
    rests_on_air: bool = True,
) -> list[str]:
    """Return the first lines of an answer with those on its weather after so many of them."""
    air = usual_said(event, units) if rests_on_air else []
    return [*lead[:after], *rain_said(event), *air, *lead[after:]]
