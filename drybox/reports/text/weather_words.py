"""What is said of the weather in the first lines of every answer that rests on it."""

from __future__ import annotations

from collections.abc import Sequence

from drybox.inputs.event.event import Event
from drybox.reports.text.phrases import say, sentence
from drybox.units import celsius


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


def with_weather(
    lead: Sequence[str], event: Event, units: str = "metric", *, after: int = 1
) -> list[str]:
    """Return the first lines of an answer with those on its weather after so many of them."""
    return [*lead[:after], *usual_said(event, units), *lead[after:]]
