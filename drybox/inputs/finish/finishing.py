"""Boards, weight, blotters and press of ``[finishing]``, and where the prints go."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drybox.inputs.event.day import COUNTS, COUNTS_FROM_1
from drybox.inputs.finish.stages import FinishStage, read_stages
from drybox.inputs.text.near_names import plain_name
from drybox.inputs.text.ranges import check_ranges

if TYPE_CHECKING:
    from drybox.inputs.text.settings import Section, Settings

KEYS = (
    *("boards", "prints_per_pair", "weight", "blotters", "blotter_humidity"),
    *("press", "press_temp", "home_humidity", "hottest", "stages", "minutes", "helpers"),
)
HOTTEST = ("in the hand", "bag in the sun", "parked car")
"""The hottest place that a print meets on its way home, each an item of table ``flattening``."""

MOST_PRINTS = 100
LIMITS = {
    "board_mass_kg": (0.0, 200.0),
    "blotter_activity": (0.05, 0.95),
    "press_w": (1.0, 5000.0),
    "press_temp_k": (323.15, 393.15),
    "home_activity": (0.1, 0.9),
}


@dataclass(frozen=True, kw_only=True)
class Finishing:
    """What finishes a dry print.

    ``pairs`` of boards each take ``prints_per_pair`` prints under ``board_mass_kg``;
    ``blotters`` go to each print, in balance with ``blotter_activity``, None where that is the
    day's own air. ``press_w`` is a heated press's power, None without one. ``home_activity`` is
    the humidity of the room that the print will hang in, ``hottest`` the place on its way there.
    ``stages`` are what a print goes through after drying, none where only flat weight is planned;
    ``helpers`` are pairs of hands that do nothing else.
    """

    pairs: int
    prints_per_pair: int
    board_mass_kg: float
    blotters: int
    blotter_activity: float | None
    press_w: float | None
    press_temp_k: float
    home_activity: float
    hottest: str
    stages: tuple[FinishStage, ...]
    helpers: int

    def __post_init__(self) -> None:
        check_ranges(self, LIMITS)


@dataclass(frozen=True, kw_only=True)
class Pulled:
    """What is told of one dry print, or of a batch alike.

    ``dried`` is the way it was dried by, None for the event's first; ``pulled_activity`` the
    humidity it is in balance with, None for the dry mark; ``plate_k`` None where it was not read.
    ``mass_kg`` and ``sheet_kg`` are a print on the scale and a sheet of the same box.
    """

    dried: str | None = None
    pulled_activity: float | None = None
    plate_k: float | None = None
    prints: int = 1
    mass_kg: float | None = None
    sheet_kg: float | None = None


def read_finishing(settings: Settings, *, flatten_s: float) -> Finishing:
    """Return what the table ``[finishing]`` says; what is left out comes from table ``flattening``.

    ``flatten_s`` is how long a print lies under flat weight. [s]
    """
    section = settings.section("finishing")
    section.only(*KEYS)

    def of(key: str, dimension: str, field: str, *, row: tuple[str, str]) -> float:
        item, column = row
        return section.property(key, dimension, LIMITS[field], row=("flattening", item, column))

    pairs = section.count("boards", COUNTS, row=("flattening", "boards", "pairs"))
    together = section.count("prints_per_pair", COUNTS_FROM_1, row=("flattening", "boards"))
    press_w = section.quantity(
        "press", "power", LIMITS["press_w"], default=None, source="default: no press"
    )
    return Finishing(
        pairs=pairs,
        prints_per_pair=together,
        board_mass_kg=of("weight", "mass", "board_mass_kg", row=("boards", "mass")),
        blotters=section.count("blotters", COUNTS, row=("flattening", "blotter", "per_print")),
        blotter_activity=section.quantity(
            "blotter_humidity",
            "fraction",
            LIMITS["blotter_activity"],
            default=None,
            source="default: as damp as the day's air",
        ),
        press_w=press_w,
        press_temp_k=of("press_temp", "temperature", "press_temp_k", row=("press", "temp")),
        home_activity=of("home_humidity", "fraction", "home_activity", row=("home", "humidity")),
        hottest=_hottest(section),
        stages=read_stages(
            section, flatten_s=flatten_s, places=pairs * together, powered=press_w is not None
        ),
        helpers=section.whole_number(
            "helpers", COUNTS, 0, source="default: nobody for finishing alone"
        ),
    )


def _hottest(section: Section) -> str:
    told = plain_name(section.text("hottest", HOTTEST[0]))
    if told not in HOTTEST:
        words = f"choose one of: {', '.join(HOTTEST)}"
        raise section.error("hottest", f"hottest '{told}' is not known", words)
    return told
