"""The method in plain words, first half: sun, light, weather, aim, plate."""

from __future__ import annotations

from drybox.reports.explain.topic import Topic

SUN = Topic(
    "Where the sun is, and when it rises and sets",
    (
        "The sun's height and bearing come from the Solar Position Algorithm, good to a few "
        "thousandths of a degree, as carried by pvlib. Bearings run clockwise from true north. "
        "Near the horizon the air lifts the sun's image by about half a degree; the light follows "
        "the lifted sun.",
        "Rise and set are found as the moments when the sun's centre, without air, stands 50 "
        "minutes of arc below a level horizon. They are looked for between two local midnights, "
        "so polar day, polar night, the date line and days of 23 or 25 hours come out right.",
    ),
    (
        ("rise and set", "elevation without air = -50'"),
        ("light on a slope", "cos i = sin e cos b + cos e sin b cos(a - facing)"),
    ),
    (
        "I. Reda and A. Andreas, Solar Energy 76 (2004) 577: the Solar Position Algorithm.",
        "Rise and set at 50': the usual almanac rule.",
    ),
    (
        "hills on the horizon, unless you name them as obstacles, and the dip of the horizon seen "
        "from a height",
    ),
)

LIGHT = Topic(
    "How much light falls on the plate",
    (
        "A clear sky gives direct sun and blue-sky light according to the sun's height, the "
        "place's elevation and the haze (Linke turbidity): as you say, or from a climatology "
        "of all days, of whose haze above clean air a cloudless hour has "
        "[[cloud_light/clear_sky/haze_share]]. "
        "Cloud takes its share of the direct light as it takes hours of sunshine, and a smaller "
        "one of all light; what is left is diffuse. Light told above a clear sky's is kept; how "
        "clear the air of a day is, is read from its hours with the sun high, for one low hour "
        "says little.",
        "On the tilted plate the two are joined with the glow around the sun, the bright band at "
        "the horizon and the light from the ground. Then the place takes its part: an obstacle "
        "hides the sun while it stands before it, and part of the sky all the time; the bin's own "
        "walls throw a shadow on the plate when the sun is off its axis; a cover reflects and "
        "absorbs some, more at a slant.",
    ),
    (
        (
            "at 2, 4 and 6 oktas",
            "direct [[cloud_light/okta_2/beam_share]], [[cloud_light/okta_4/beam_share]], "
            "[[cloud_light/okta_6/beam_share]] of a clear sky's; all light "
            "[[cloud_light/okta_2/global_share]], [[cloud_light/okta_4/global_share]], "
            "[[cloud_light/okta_6/global_share]]",
        ),
        ("on the slope", "direct cos i + circumsolar + horizon + even sky + ground (1 - cos b)/2"),
        ("wall shadow", "shift of the rim's shadow = depth x tan(angle off the axis)"),
        ("ground light", "albedo: grass [[grounds/grass/albedo]], snow [[grounds/snow/albedo]]"),
    ),
    (
        "P. Ineichen and R. Perez, Solar Energy 73 (2002) 151: clear sky.",
        "J. Doorenbos and W. O. Pruitt, FAO Irrigation and Drainage Paper 24 (1977), and a year of "
        "minutes at Graz (sunpeek-exampledata): cloud.",
        "R. Perez and others, ASHRAE Transactions 98 (1992) 354: the split of global light.",
        "R. Perez and others, Solar Energy 44 (1990) 271: light on a slope.",
        "J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes: covers.",
    ),
    (
        "light sent back by walls, stalls and the bin's own sides, so that a plate beside a white "
        "wall gets a little more",
        "the kind of cloud: a single hour may be half or twice as bright as the rule says",
    ),
)

WEATHER = Topic(
    "What weather is used, and how",
    (
        "You may say it in words (--sky, --cloud), name a forecast (a CSV table) or name a typical "
        "year (EPW, TMY2, TMY3, PVGIS). Air, humidity and wind that you do not tell are what is "
        "usual at the place in that month from 10 to 17 h, by monthly maps, and every answer that "
        "rests on them says so in its first lines. Cloud is never guessed: a clear and a closed "
        "sky are both worked out.",
        "A row of a typical year stands for its hour: the sun is taken at the middle of it and the "
        "hour's mean is kept while the sun moves within it. Missing codes are gaps, never sun. "
        "Air, humidity and wind run straight from row to row. Wind is brought down from 10 m to "
        "the box over the kind of ground you name; a wind felt at the plate (wind_at_plate) is "
        "taken there.",
        "A typical year is stitched from real months of several years. It says what is usual on "
        "such a day, and is no forecast. 'drybox check' lists what was understood of a file.",
    ),
    (
        (
            "wind at height z",
            "u_10 up to 60 m over open country and down again, each by ln(1 + z/z0)",
        ),
        (
            "rough ground, z0",
            "open field [[terrains/open field/roughness_length]], village "
            "[[terrains/village/roughness_length]]",
        ),
    ),
    (
        "J. Wieringa, Quarterly Journal of the Royal Meteorological Society 112 (1986) 867: wind.",
        "Davenport-Wieringa classes, in Stull, Meteorology for Scientists and Engineers: z0.",
        "W. Marion and K. Urban (1995), S. Wilcox and W. Marion (2008): users' manuals of TMY2 and "
        "TMY3.",
    ),
    ("gusts, eddies behind stalls, and a sea breeze that no forecast mentions",),
)

AIM = Topic(
    "Which way the box faces",
    (
        "For a stretch of the day every bearing and tilt is tried on a grid and refined: the aim "
        "with the most light on the plate, as told, wins. No rule by latitude is used, so the "
        "southern hemisphere, the tropics, obstacles and cloud come out by themselves.",
        "The list of turns is the shortest that keeps [[limits/useful/turns_share]] of what "
        "always turning would give (--share), on quarter hours; but at most "
        "[[limits/useful/most_turns]] turns, [[limits/useful/turns_apart]] apart, none that brings "
        "less than [[limits/useful/turn_gain!]] of the day, none while the sun is behind something "
        "(no shadow to sight by) and none after the last print worth laying on. No aim tilts more "
        "than [[limits/tilt/most]], which is what stands on a prop.",
        "Wind from behind tips the box over its low edge or slides it. Gusts at the box are taken "
        "as [[box_wind/gust/below_gust]] times the gusts told at 10 m, else as "
        "[[box_wind/gust/near_ground]] times the wind told there, or from a wind felt at the "
        "plate, brought back to that outside the box, by 1 + [[box_wind/gust/peak_factor]] times "
        "the turbulence over such ground, [[box_wind/gust/most_turbulence]] at most; the force "
        "coefficient as [[box_wind/pressure/warning]]. Where they pass what the box stands, it is "
        "tilted less. A wind that nobody told warns of nothing.",
        "The box faces the sun. Only where you ask for it (--hold-below, hold_below) no aim brings "
        "more light than would hold the empty plate below that, as told: such an aim stands off "
        "the sun, at times far off. A print that gets too hot is cooled in better ways first: see "
        "'drybox explain limits'.",
        "A compass shows magnetic north: take the declination off the true bearing. The model of "
        "it holds from 2025 to the end of 2029. Steel, magnets and cars pull the needle; read it "
        "some steps away, or sight by shadow: a peg square on the plate throws none when the "
        "plate faces the sun. Never sight by eye.",
    ),
    (
        ("compass bearing", "true bearing - declination (east positive)"),
        ("prop height", "distance of the prop from the hinge x sin(tilt)"),
        ("light allowed", "losses of the empty plate at the limit / absorptance"),
        ("peg's shadow", "peg length x tan(angle between plate's axis and sun)"),
        ("tips at", "V = (m g cos(tilt) / (0.75 rho C A))^1/2"),
        ("slides at", "V = (2 mu m g / (rho C A (sin(tilt) + mu cos(tilt))))^1/2"),
    ),
    (
        "A. Chulliat and others, The US/UK World Magnetic Model for 2025-2030, NOAA/NCEI and BGS.",
        "EN 1991-1-4, Wind actions, table 7.6: force on a canopy.",
    ),
    ("turns between quarter hours", "iron in the ground", "the direction of the wind"),
)

PLATE = Topic(
    "How hot the plate gets",
    (
        "The plate warms until what it loses equals what it takes in. It takes in most of the "
        "light (matt black paint [[finishes/matt black paint/absorptance]]); it loses heat to the "
        "wind, to the air that rises from it, to the cold sky by radiation, and through its back. "
        "Under each print lies a cooler patch, joined to the rest by conduction along the metal.",
        "Wind and rising air are worked out apart and joined. The sky radiates like a body colder "
        "than the air, the colder the drier the air; cloud warms it. With a cover, the air gap, "
        "the cover's own temperature and the damp air inside are followed too.",
        "All parts are stepped together by a method that stays stable with thin wet paper, in "
        "steps short enough that halving them moves a drying time by less than 0.5 %.",
    ),
    (
        ("balance", "C dT/dt = absorbed sun - convection - long wave - back - print"),
        ("wind", "Nu = 0.86 Re^1/2 Pr^1/3"),
        ("rising air", "Nu = 0.54 Ra^1/4 or 0.15 Ra^1/3, with the slope's share of gravity"),
        ("both", "h = (h_wind^3 + h_rising^3)^1/3"),
        ("sky", "T_sky = T_air (emissivity)^1/4"),
    ),
    (
        "E. M. Sparrow, J. W. Ramsey and E. A. Mass, J. Heat Transfer 101 (1979) 199: wind.",
        "G. D. Raithby and K. G. T. Hollands, in Handbook of Heat Transfer (1998): rising air.",
        "M. Martin and P. Berdahl, Solar Energy 33 (1984) 321; M. H. Unsworth and J. L. Monteith, "
        "Q. J. R. Meteorol. Soc. 101 (1975) 13: the sky.",
        "K. G. T. Hollands and others, J. Heat Transfer 98 (1976) 189: the gap below a cover.",
        "J. G. Verwer and others, SIAM J. Sci. Comput. 20 (1999) 1456: the steps.",
    ),
    (
        "how the bin's walls stir or still the wind, but for one figure of shelter, in an open "
        "box [[boxes/open box/wind_shelter!]]",
        "heat held by the walls",
        "hot and cold corners of the plate",
    ),
)
