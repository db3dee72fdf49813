"""A look into a weather file on a day of which it lacks something."""

from __future__ import annotations

from pathlib import Path

from tests.running import plain


def test_a_day_without_temperatures_says_none(tmp_path: Path) -> None:
    rows = [f"2027-06-{day}T{hour:02d}:00Z,{20 if day == 12 else ''},{hour % 8}"
            for day in (12, 13) for hour in range(24)]  # fmt: skip
    path = tmp_path / "forecast.csv"
    path.write_text("\n".join(["time,air_temp_c,cloud_oktas", *rows]) + "\n", encoding="utf-8")
    look = ("weather", "show", str(path), "--timezone", "UTC", "--date")
    assert "2027-06-12: air 20 °C" in plain(*look, "2027-06-12")
    assert "air 20 °C" not in plain(*look, "2027-06-13")
