"""Where the box stands: position, clock, ground, wind exposure and what stands around it."""

from __future__ import annotations

from dataclasses import dataclass

from drybox.inputs.ranges import check_ranges

OBSTACLE_LIMITS = {
    "bearing_from_deg": (0.0, 360.0),
    "bearing_to_deg": (0.0, 360.0),
    "elevation_deg": (0.0, 90.0),
    "transmittance_frac": (0.0, 1.0),
}
PLACE_LIMITS = {
    "latitude_deg": (-90.0, 90.0),
    "longitude_deg": (-180.0, 180.0),
    "elevation_m": (-430.0, 6000.0),
    "ground_albedo_frac": (0.0, 1.0),
    "roughness_length_m": (1e-5, 3.0),
}


@dataclass(frozen=True)
class Obstacle:
    """Something between the box and part of the sky.

    It fills the sky from the horizon up to ``elevation_deg`` between two bearings, clockwise
    from true north, that may wrap over 360. ``transmittance_frac`` is the share of light let
    through: 0 for a wall, more for a tree.
    """

    name: str
    bearing_from_deg: float
    bearing_to_deg: float
    elevation_deg: float
    transmittance_frac: float = 0.0

    def __post_init__(self) -> None:
        check_ranges(self, OBSTACLE_LIMITS)


@dataclass(frozen=True)
class Place:
    """Where the box stands."""

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    timezone: str
    ground_albedo_frac: float
    roughness_length_m: float
    obstacles: tuple[Obstacle, ...] = ()

    def __post_init__(self) -> None:
        check_ranges(self, PLACE_LIMITS)
