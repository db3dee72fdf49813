"""The method in plain words: curl, and what makes a print flat."""

from __future__ import annotations

from drybox.reports.explain.topic import Topic

CURL = Topic(
    "Why a print curls, and what makes it flat",
    (
        "Gelatin shrinks about four times as far as paper while the air dries, and the two bend "
        "like a bimetal: edges up, towards the picture. What counts is the humidity in which the "
        "print was last flat and free of stress, and the air it lies in now. A print that hung "
        "free set while it was still damp, at 75 to 80 %, however late it is taken down; one held "
        "flat on warm metal set drier, near 60 %, and so curls half as far.",
        "Held flat, gelatin forgets its stress in time: fast where it is warm and damp enough to "
        "soften, hardly at all in ten minutes under a cold board. Those ten minutes do another "
        "thing: they even out the moisture of the two faces, of which a difference of two points "
        "bends a sheet as far as gelatin does, and they stop cockling. For lasting flatness it "
        "takes warmth under weight (boards warmed beside the plate, a press), or two weeks in a "
        "book.",
        "Blotters take up water only if they are drier than the print: at "
        "[[flattening/blotter/too_damp!]] they dry nothing, and wetter they wet it. Weight: curl "
        "itself wants no more than a board; cockles want [[flattening/boards/mass!]] on a 4x5.",
        "Enclosing: a card folder from the dry mark; smooth plastic only where the gelatin's "
        "softening lies [[flattening/enclose/plastic_margin!]] above the hottest place it meets, "
        "or it sticks or turns glossy in patches; else between blotters, with a note for the "
        "evening.",
        "Measure a lift with the print standing on edge on its long side, and note it with its "
        "ticket: drybox note curl 7 12mm. Lying down, its own weight hides part of the curl.",
    ),
    (
        ("two layers", "k = 6 e (1+m)² / (h (3 (1+m)² + (1+m n)(m² + 1/(m n))))"),
        (
            "strain",
            "e = ([[curl/gelatin/strain_damp]] - [[curl/paper/strain]]) (a0 - a), in air above "
            "[[curl/gelatin/bend_at]]; [[curl/gelatin/strain_dry]] below",
        ),
        ("lift of the edges", "H = (1 - cos(k L / 2)) / k"),
        (
            "softening",
            "T = ((1-w) [[curl/gelatin/dry_softening]] + [[curl/gelatin/plasticiser]] w 136 K) / "
            "((1-w) + [[curl/gelatin/plasticiser]] w), w = X / (1+X)",
        ),
        (
            "set while held",
            "a0' = a + (1-f)(a0 - a), f = 1 - exp(-(t/tau)^[[curl/set/exponent]]), "
            "tau = [[curl/set/at_softening]] x 10^((T_soft - T) / [[curl/set/decade]])",
        ),
        ("blotters", "tau = R C1 C2 / (C1 + C2); in the end both hold what they held apart"),
        ("cockles", "p = D A (2 pi / l)^4, D = E h³ / 12"),
    ),
    (
        "S. Timoshenko, J. Opt. Soc. Am. 11 (1925) 233: two layers. J. M. Calhoun, J. SMPE 43 "
        "(1944) 260: shrinkage of emulsions, curl of film.",
        "Gelatin's softening: Polymer 46 (2005) 12577; Pinhas and others (1996). Its stress: IS&T "
        "49th conference (1996). Moduli of photographic base paper: patent US 5888643.",
        "Judgement: how holding sets it, the blotters' resistance, the margin for plastic. Film "
        "measured in 1944 curls 0.65 and 0.87 times as far as the law says; for baryta paper no "
        "measurement was found, so the range is 0.5 to 1.6 times.",
    ),
    (
        "the weight of a sheet that lies",
        "creep over weeks, and hysteresis of paper",
        "twist of a sheet cut askew to the grain",
    ),
)
