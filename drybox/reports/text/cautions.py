"""The usual cautions by topic, each one sentence, with where its figures come from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """A sentence and the ground it stands on."""

    text: str
    source: str


WARM_BATH_K = 297.15
"""Baths above this are warm (judgement). [K]"""

_LOCAL = "Where a local rule is stricter, it goes before this."

CAUTIONS: dict[str, Caution] = {
    "hot_metal": Caution(
        "Bare metal burns at a touch: in about 1 s at 65 to 70 °C (150 to 160 °F), 10 s at 55 °C "
        "(131 °F), 1 min at 51 °C (124 °F). Use gloves or tongs, put a HOT label on "
        "the box and keep children off.",
        "contact burn thresholds as in ISO 13732-1, from memory",
    ),
    "sun": Caution(
        "Never look at the sun or sight along the box at it; aim by a shadow. Cap lenses and "
        "mirrors when idle, and see that the plate throws no glare on people or a road.",
        "common practice, no source",
    ),
    "magnets": Caution(
        "Strong magnets pinch; keep them from pacemakers, implants, cards, phones, compasses and "
        "small children. They lose strength above about 80 °C (176 °F).",
        "common practice; 80 °C from memory",
    ),
    "plastics": Caution(
        "Resin-coated paper, sleeves, acrylic and tape soften between about 60 and 100 °C "
        "(140 to 212 °F); keep them off the hot plate.",
        "softening range from memory",
    ),
    "chemicals": Caution(
        "Gloves, eye protection, open air, eyewash water set aside; add acid to water; never let "
        "acid and fixer or sulfite meet. No food or drink at the table.",
        "common practice, no source",
    ),
    "silver_waste": Caution(
        "Carry all used fixer and the first wash home in a labelled, locked container for "
        "recovery or hazardous collection; nothing on soil, in a storm drain or a septic tank. "
        + _LOCAL,
        "common practice; rules differ by place",
    ),
    "wind": Caution(
        "Weight and guy the box, close it in gusts, and keep the ground around it clear. " + _LOCAL,
        "common practice, no source",
    ),
    "electricity": Caution(
        "Electricity and wet baths: the powered drier on a dry stand, behind a residual-current "
        "breaker; battery and inverter off the wet table; dry hands at a switch. " + _LOCAL,
        "common practice, no source",
    ),
    "warm_baths": Caution(
        "Baths warmer than 24 °C (75 °F) give off more fumes and work faster, and wet gelatin is "
        "softer in them: keep them in the shade, open to the wind, gloves on.",
        "24 °C is judgement: the warm end of common practice",
    ),
    "press": Caution(
        "A press or iron burns at a touch and sets paper alight when left: pads and gloves, never "
        "leave it on alone, let it cool before packing.",
        "common practice, no source",
    ),
    "blades": Caution(
        "A trimmer cuts fingers as paper: guard down, blade locked when it is carried, never "
        "within reach of a child.",
        "common practice, no source",
    ),
    "solvents": Caution(
        "Solvents of spotting and mounting: open air, no flame or hot metal near, lids on, rags "
        "in a closed tin.",
        "common practice, no source",
    ),
    "estimate": Caution(
        "These are estimates: dry one test sheet first and do not leave the box unattended.",
        "judgement: the box, the paper and the sky differ from any model of them",
    ),
}


def cautions(*topics: str | bool) -> list[str]:
    """Return the sentences of some topics, in the order asked for; False asks for none.

    >>> [text.split(";")[0] for text in cautions("sun", False and "wind")]
    ['Never look at the sun or sight along the box at it']
    """
    return [CAUTIONS[topic].text for topic in topics if isinstance(topic, str)]
