"""Fetch a point forecast, keep a copy, and ask no more often than the service allows."""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Protocol

from drybox.errors import InputError, StoreError
from drybox.inputs.forecast.json_file import table_of
from drybox.inputs.forecast.web import Manners, Reply, get
from drybox.inputs.weather.weather import Site

HOUR_S = 3600.0


class ForecastSource(Protocol):
    """A service that gives point forecasts: where to ask, and how to read what it says."""

    @property
    def name(self) -> str:
        """Short name, also that of its cached copies."""

    @property
    def credit(self) -> str:
        """Whose data it is, for the file's first line."""

    def question(self, place: Site) -> tuple[str, Mapping[str, str]]:
        """Return the address and the parameters for a place."""

    def table(self, body: str) -> str:
        """Return the answer as a forecast table, or raise InputError."""


@dataclass(frozen=True)
class Locationforecast:
    """The Norwegian Meteorological Institute's forecast, for anywhere on Earth, without a key.

    The complete form: the compact one has neither gusts nor a chance of rain.
    """

    url: str = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
    name: str = "locationforecast"
    credit: str = "MET Norway, CC BY 4.0"

    def question(self, place: Site) -> tuple[str, Mapping[str, str]]:
        """Return the address; the service wants four decimals at most."""
        return self.url, {
            "lat": f"{place.latitude_deg:.4f}",
            "lon": f"{place.longitude_deg:.4f}",
            "altitude": f"{max(-500, min(9000, round(place.elevation_m)))}",
        }

    def table(self, body: str) -> str:
        """Return the answer as a forecast table."""
        return table_of(body, "the forecast")


SOURCES: dict[str, Callable[[str | None], ForecastSource]] = {
    "locationforecast": lambda url: Locationforecast(url) if url else Locationforecast()
}


@dataclass(frozen=True)
class Copy:
    """A service's answer as kept on the disk."""

    url: str
    body: str
    fetched_s: float
    expires_s: float
    last_modified: str


@dataclass(frozen=True)
class Fetched:
    """A forecast as a table, and how it came: ``age_s`` is 0 where it came just now."""

    table: str
    source: ForecastSource
    age_s: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Cache:
    """Where copies are kept, and the clock they are dated by."""

    folder: Path
    now_at: Callable[[], float] = field(default=time.time, compare=False)

    def path(self, source: ForecastSource, place: Site) -> Path:
        """Return the file of a place's copy."""
        _, params = source.question(place)
        return self.folder / ("_".join([source.name, *params.values()]) + ".json")

    def read(self, source: ForecastSource, place: Site) -> Copy | None:
        """Return the copy of the same question; None where there is none that can be read."""
        try:
            found = Copy(**json.loads(self.path(source, place).read_text(encoding="utf-8")))
            source.table(found.body)
        except (OSError, ValueError, TypeError, InputError):
            return None
        dated = all(isinstance(at, int | float) for at in (found.fetched_s, found.expires_s))
        return found if dated and found.url == source.question(place)[0] else None

    def write(self, source: ForecastSource, place: Site, copy: Copy) -> None:
        """Keep a copy, whole or not at all; a disk that takes none is no fault."""
        path = self.path(source, place)
        part = path.with_name(f".{os.urandom(6).hex()}.part")
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            try:
                part.write_text(json.dumps(asdict(copy)), encoding="utf-8")
                os.replace(part, path)
            finally:
                part.unlink(missing_ok=True)


def default_cache() -> Cache:
    """Return the cache in the user's own folder for such."""
    import platformdirs

    return Cache(Path(platformdirs.user_cache_dir("drybox")) / "forecasts")


def fetch_forecast(
    source: ForecastSource, place: Site, manners: Manners, *, cache: Cache, use_kept: bool = False
) -> Fetched:
    """Return the forecast of a place, from the service or from a copy that is still good.

    With ``use_kept`` an older copy stands in where the service cannot be asked.
    Before the time in ``Expires`` the copy is given and nothing is asked; after it the service is
    asked whether it has changed since (``If-Modified-Since``).
    """
    kept = cache.read(source, place)
    now_at = cache.now_at()
    if kept is not None and kept.fetched_s <= now_at < kept.expires_s:
        wait_min = (kept.expires_s - now_at) / 60
        note = f"the service has nothing newer for another {max(1.0, wait_min):.0f} min"
        return _from(source, kept, now_at, note=note)
    url, params = source.question(place)
    asked = {"If-Modified-Since": kept.last_modified} if kept and kept.last_modified else {}
    try:
        reply = get(url, params, manners, headers=asked)
        if reply.status == 304 and kept is not None:
            kept = replace(kept, expires_s=_expires_s(reply, now_at))
            cache.write(source, place, kept)
            return _from(source, kept, now_at, note="the service has nothing newer")
        try:
            table = source.table(reply.text)
        except InputError as error:
            raise StoreError(f"the service's answer is of no use: {error.what}") from None
    except StoreError as error:
        if kept is None:
            raise
        age = _age(now_at - kept.fetched_s)
        if use_kept:
            return _from(source, kept, now_at, note=f"{error.what}; this is the copy of {age} ago")
        mend = f"a copy {age} old is kept: add --cached to use it"
        raise StoreError(error.what, error.where, mend) from None
    copy = Copy(
        url=url,
        body=reply.text,
        fetched_s=now_at,
        expires_s=_expires_s(reply, now_at),
        last_modified=reply.headers.get("last-modified", ""),
    )
    cache.write(source, place, copy)
    ending = "the service says that it will end this form of its forecast"
    return Fetched(table, source, notes=(ending,) if reply.status == 203 else ())


def _from(source: ForecastSource, kept: Copy, now_at: float, *, note: str) -> Fetched:
    age_s = max(0.0, now_at - kept.fetched_s)
    return Fetched(table=source.table(kept.body), source=source, age_s=age_s, notes=(note,))


def _expires_s(reply: Reply, now_at: float) -> float:
    try:
        return parsedate_to_datetime(reply.headers.get("expires", "")).timestamp()
    except (ValueError, TypeError, IndexError):
        return now_at


def _age(age_s: float) -> str:
    if age_s < HOUR_S:
        return f"{max(0.0, age_s) / 60:.0f} min"
    return f"{age_s / HOUR_S:.0f} h" if age_s < 48 * HOUR_S else f"{age_s / 24 / HOUR_S:.0f} days"
