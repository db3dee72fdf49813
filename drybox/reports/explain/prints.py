"""The method in plain words, second half: print, dry, ways, washing, baths, limits, numbers."""

from __future__ import annotations

from drybox.reports.explain.topic import Topic

PRINT = Topic(
    "How a print gives up its water",
    (
        "A squeegeed double-weight print holds about "
        "[[papers/fibre double weight/water_squeegeed!]] of water. While its surface is wet it "
        "dries like a puddle: as fast as the air film carries vapour off, cooling itself by what "
        "evaporates. Below about [[isotherms/critical/moisture!]] of the fibre's own mass the "
        "water has drawn back into the sheet and each gram takes longer: the falling-rate period.",
        "The last water is held by paper and gelatin; how tightly is told by their sorption "
        "curves, and it takes extra heat to free it. On a plate the print is fed with heat through "
        "its back and dries from its face only; on a line both faces dry, but only the air and "
        "what light falls on it feed them.",
        "A wet print lies flat and touches the plate with "
        "[[papers/fibre double weight/contact_wet!]]. When its water has fallen to about "
        "[[contact/magnets/lifts_at!]] of its fibre and gelatin it lifts between its magnets, and "
        "what is left is the air beneath it, [[contact/magnets/gap]] of it or so. Nobody has "
        "published these figures; 'drybox explain measuring' shows how to find your own.",
    ),
    (
        ("evaporation", "m = k (p_surface - p_air), k from the heat transfer by analogy"),
        ("analogy", "h / k_mass = rho c_p (alpha / D)^2/3"),
        ("falling rate", "inner resistance = R_dry (1 - X / X_critical)"),
        ("sorption", "X = m C K a / ((1 - K a)(1 - K a + C K a))"),
        ("heat", "C dT/dt = sun + contact - convection - long wave - m (latent + sorption)"),
    ),
    (
        "T. H. Chilton and A. P. Colburn, Ind. Eng. Chem. 26 (1934) 1183: the analogy.",
        "R. B. Bird, W. E. Stewart and E. N. Lightfoot, Transport Phenomena: blowing.",
        "Heritage Science 1:14 (2013), doi 10.1186/2050-7445-1-14: gelatin; ASHRAE's table of "
        "sorption, from memory: paper.",
        "C. J. Geankoplis, Transport Processes and Unit Operations, ch. 9: drying periods.",
    ),
    (
        "differences of temperature through the sheet",
        "the gelatin side drying slower than the paper side",
        "edges that dry first, and curl while it happens",
    ),
)

DRY = Topic(
    "What counts as dry, and when to pull",
    (
        "Dry is not bone-dry. A print is dry when it holds what it would keep in air of "
        "[[isotherms/dry/activity!]] humidity: limp, flat, not cool to the lip. Left on heat "
        "beyond the balance with [[isotherms/over_dry/activity!]] it curls, turns brittle and may "
        "crack.",
        "Pull it between the two. 'Look at it' is when one print in ten is dry, 'pull at' when one "
        "in two is, 'before' when one in two is over-dry. Then lay it under a flat weight for "
        "[[limits/flatten/time]] or so. In air as damp as the dry mark a print never gets there "
        "without heat, and the answer says so.",
    ),
    (("dry", "X = sorption at the dry mark"), ("over-dry", "X = sorption at the over-dry mark")),
    (
        "ISO 187 and TAPPI T 402 condition paper at 23 °C; both marks are common practice, no "
        "source. Set your own under [drying] in the event file.",
    ),
    ("that paper drying holds a little more water than paper taking it up (hysteresis)",),
)

WAYS = Topic(
    "The ways of drying, and how one is chosen",
    (
        "The same print is run at the same moment on the sun plate, on a line in shade or sun, on "
        "a screen, in a blotter book and, if you have one, on a powered plate or in warm air. Only "
        "what surrounds it differs: faces open to the air, share of the wind, light, heat from "
        "behind.",
        "A line in the shade gets [[ways/line_shade/wind_share!]] of the wind at its height and "
        "[[ways/line_shade/light_share]] of the sky's light; a line in the sun "
        "[[ways/line_sun/wind_share]]; a screen [[ways/screen_shade/wind_share]]. A blotter book "
        "holds [[ways/blotters/prints]] prints, and the boards take up the water that they share.",
        "Chosen is the way by which nine prints in ten are dry soonest; one with less to carry "
        "wins if it is within a tenth, or five minutes, of it. Ways that pass a limit, or are not "
        "sure within the time followed, are out. A dry breeze often beats the plate.",
    ),
    (
        ("powered plate", "heater up to its watts, held by a thermostat; Wh to the moment of dry"),
        ("warm air", "rise = watts / (rho c_p x speed x duct of 0.1 m²)"),
    ),
    (
        "The same equations as 'drybox explain print'; what sets a way apart stands in "
        "data/tables/ways.csv, mostly judgement.",
    ),
    ("prints that touch or shade each other on a line", "changing the blotters midway"),
)

WASH = Topic(
    "How fixer leaves a print",
    (
        "In each still bath the print drifts towards balance with the water. Most of the fixer "
        "leaves by diffusion, the slower the thicker the paper and the colder the water; a small "
        "share held by fibre and baryta leaves much slower. A bath takes what is its due and is "
        "thrown away; what clings to the print is carried on.",
        "Fixed long, half a double-weight print's fixer leaves in a few minutes (time constant "
        "[[washing/long_fix/free_time_constant]]); fixed short and strong, "
        "[[washing/short_fix/free_time_constant!]]. A sulfite wash aid shortens it. 10 degrees "
        "more speed the wash by a factor of [[washing/temperature/rate_per_10_k!]].",
        "Aim: [[wash_targets/everyday/residual!]] of fixer salt for everyday prints, "
        "[[wash_targets/keeping/residual]] for prints to keep. No published limit for paper prints "
        "was found. Test a margin with a drop of silver nitrate before you trust any figure.",
    ),
    (
        ("balance", "r = carried over / (water + carried over)"),
        ("one bath", "left = r + (1 - r) exp(-t / tau)"),
        (
            "time constant",
            "tau = tau_ref (mass / mass_ref)^[[washing/paper/mass_exponent]] "
            "x factor^((20 °C - T)/10)",
        ),
    ),
    (
        "First-order washing law, mass balance; time constants fitted to routines as "
        "data/tables/washing.csv says.",
    ),
    ("stagnant water round prints that lie still or stick together",),
)

BATHS = Topic(
    "How long a bath lasts",
    (
        "A bath is judged by whichever comes first: the area of paper it is rated for, its level "
        "as each sheet carries liquid off, what earlier liquid thins it, silver built up in the "
        "fixer, and the clock since it was poured into an open tray or slot.",
        "Cold makes developers slow: times are lengthened by a fixed share for each degree. "
        "'drybox baths' counts sheets for your day and says which limit bites, what to bring and "
        "what to carry home.",
    ),
    (
        ("level", "V - sheets x carry-over"),
        ("strength", "exp(-sheets x carry-over / V)"),
        ("area", "volume x capacity / area of a sheet"),
    ),
    (
        "Capacities and lives stand in data/tables/baths.csv with their source or the word "
        "judgement.",
    ),
    ("contamination by the wrong chemistry, which ends a bath at once",),
)

RANGES = Topic(
    "Why every time is a range",
    (
        "Nobody knows the day's cloud to the minute, nor how wet your squeegee leaves a sheet. So "
        "the print is run some hundreds of times, each with its own weather, squeegee, contact "
        "and losses, drawn around what was told. Of the times that come out, one in ten is "
        "shorter than the first figure and one in ten longer than the last.",
        "Sun and shade alternate within broken cloud, some for minutes and some for hours (drawn "
        "with [[spreads/broken_cloud/short_lasts!]] and [[spreads/broken_cloud/long_lasts!]]); a "
        "plate lives on minutes. Around a forecast, air is drawn by "
        "[[lead_times/air_temp/day_1]] and its dew point by [[lead_times/dew_point/day_1]] a day "
        "ahead, by [[lead_times/air_temp/day_5]] and [[lead_times/dew_point/day_5]] at five; "
        "around the usual air of a place, by [[spreads/usual day beyond 40 deg/air_temp]] from day "
        "to day and [[spreads/usual at the place/air_temp]] for the place.",
        "The draws come from a seed: same question, same answer. Write down what you measure "
        "('drybox note', 'drybox calibrate') and your own ranges narrow.",
        "What the plate read on the day itself counts at once: [[spreads/noted/plate_temp]] of "
        "error, or a slip one time in twenty. Many more days are drawn than wanted, and those "
        "whose plate agrees are kept, with their weather and their box.",
    ),
    (
        ("p10, p50, p90", "a tenth, a half, nine tenths of the draws are below"),
        ("promise", "p90 and flattening, rounded up to 5 minutes"),
    ),
    ("The spreads stand in data/tables/spreads.csv; most are judgement.",),
    ("a forecast that is plainly wrong, and rain",),
)

LIMITS = Topic(
    "What is too hot",
    (
        "Judged is what the print itself is kept at for a minute. While free water is in it: "
        "[[limits/wet_emulsion/most!]] hardened in manufacture, [[limits/wet_emulsion_alum/most]] "
        "with alum, [[limits/wet_emulsion_bleached/most!]] after a bleach, "
        "[[limits/wet_emulsion_none/most]] not hardened or coated by hand. As it dries the limit "
        "rises to [[limits/dry_print/most!]]; resin-coated paper has "
        "[[limits/resin_coated/most!]] throughout.",
        "A way by which one print in two passes its limit is out. Where one in ten is kept above "
        "[[limits/wet_emulsion/careful!]], or the limit less "
        "[[limits/wet_emulsion/careful_margin]], dry one test sheet first: the figure for paper "
        "hardened in manufacture rests on practice and model, not on a measurement.",
        "Cooler, in this order, each with its minutes in 'drybox dry': a plate set out only 10 min "
        "before, a cloth under the print, a lighter aim, and holding it off the sun last.",
        "Bare metal burns at a touch of 1 s from [[limits/bare_metal/touch_1_s]], of 10 s from "
        "[[limits/bare_metal/touch_10_s]], of a minute from [[limits/bare_metal/touch_1_min!]].",
    ),
    (
        ("kept", "the highest temperature stayed above for 60 s on end"),
        (
            "limit",
            "T_wet + (T_dry - T_wet)(w_critical - w)/(w_critical - w_dry), from T_wet to T_dry",
        ),
    ),
    ("ISO 13732-1 for burns, from memory; the rest as marked in data/tables/limits.csv.",),
    ("what heat does over months: gloss, yellowing, size change",),
)

NUMBERS = Topic(
    "How far to trust the numbers",
    (
        "Energy and water close to 0.1 % in every run, and halving the step moves a drying time by "
        "less than 0.5 %. That is arithmetic, and says nothing of the world.",
        "Sun, bearings, prop heights and clock times are exact for all use here. A declination is "
        "good to about half a degree. Light under a clear sky is good to some 5 %, under cloud to "
        "a factor of two in a single hour. Flat-plate coefficients outdoors are good to about "
        "15 %. These shares are judgement.",
        "Least is known of the paper: water left by your squeegee, contact with the plate and the "
        "sheet's resistance. These stand on memory or judgement and carry most of the range. Weigh "
        "one sheet wet and dry and put the figures into the event file; best of all, weigh a print "
        "while it dries ('drybox explain measuring').",
        "Every table row says how it is known: published, from memory, common practice, or "
        "judgement.",
    ),
    (("moisture", "(wet mass - dry mass) / area"),),
    ("The published figures that the formulas are tested against: data/reference.",),
    ("anything that the answer's last section does not name",),
)

UNITS = Topic(
    "Units and how to write them",
    (
        'A quantity in the event file carries its unit: "3 mm", "1/8 in", "95 °F", "45 %", '
        '"200 g/m2", "4x5 in". A bare number is refused where a unit is needed, and the right form '
        "is shown. A decimal comma is understood.",
        "Answers are metric; --units us turns the text into °F, inches, mph, ounces. JSON and CSV "
        "stay metric: each key ends in its unit (plate_temp_c, prop_height_mm). Times there are "
        "local, with the offset from UTC.",
        "Bearings are from true north unless the word compass stands beside them; 90 is east. Tilt "
        "is from level. Moisture is per dry mass or per area of print. Wind is at 10 m over open "
        "ground.",
    ),
    (("°F", "°C x 9/5 + 32"), ("1 okta", "one eighth of the sky")),
    ("definitions",),
    (),
)
