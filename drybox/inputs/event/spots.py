"""Named spots of a place, each with its own obstacles: one for the camera, one for the box."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drybox.errors import InputError
from drybox.inputs.event.place import Obstacle, Place, read_obstacle
from drybox.inputs.text.settings import Settings

SPOT_KEYS = ("name", "obstacle")
BOX, CAMERA = "box_spot", "camera_spot"


@dataclass(frozen=True)
class Spot:
    """One spot; its obstacles are its own and those of the whole place."""

    name: str
    obstacles: tuple[Obstacle, ...]


def read_spots(settings: Settings, common: Sequence[Obstacle]) -> tuple[Spot, ...]:
    """Return the spots of ``[[place.spot]]``, none if the place is one spot.

    ``common`` stands around the whole place.
    """
    found: dict[str, tuple[Spot, str]] = {}
    for entry in settings.section("place").entries("spot"):
        entry.only(*SPOT_KEYS)
        name = entry.text("name", None)
        if name is None:
            raise entry.error("name", "a spot has no name", 'write name = "under the arcade"')
        key = name.casefold()
        if key in found:
            what = f"spot '{name}' is there twice, first as {found[key][1]}"
            raise entry.error("name", what, "give each its own name")
        own = tuple(read_obstacle(obstacle) for obstacle in entry.entries("obstacle"))
        found[key] = (Spot(name, (*common, *own)), entry.where("name"))
    return tuple(spot for spot, _ in found.values())


def chosen_spot(settings: Settings, spots: Sequence[Spot], key: str) -> Spot | None:
    """Return the spot that ``[event]`` names under a key, or None if it names none."""
    section = settings.section("event")
    if key not in section:
        return None
    name = section.text(key, "")
    for spot in spots:
        if spot.name.casefold() == name.casefold():
            return spot
    mend = "its spots are: " + ", ".join(spot.name for spot in spots)
    if not spots:
        mend = "write it as a table headed [[place.spot]] with a name"
    raise InputError(f"the place has no spot '{name}'", section.where(key), mend)


def place_of_box(settings: Settings, place: Place) -> Place:
    """Return the place as the box sees it: with the obstacles of its spot where one is named."""
    spot = chosen_spot(settings, read_spots(settings, place.obstacles), BOX)
    return place if spot is None else replace(place, obstacles=spot.obstacles)
