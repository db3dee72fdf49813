"""An invented clear day of three hours, quick to plan and to aim for."""

from __future__ import annotations

SHORT_DAY: dict[str, object] = {
    "place.latitude": 47.2,
    "place.longitude": 12.3,
    "place.timezone": "Europe/Vienna",
    "event.date": "2027-06-12",
    "event.opens": "11:00",
    "event.closes": "14:00",
    "weather.sky": "clear",
    "weather.air_temp": "24 °C",
}
