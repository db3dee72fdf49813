"""The half hour with a scale that teaches most: what to do, in order, and what to type."""

from __future__ import annotations

from drybox.reports.explain.topic import Topic

MEASURING = Topic(
    "Half an hour with a scale: the measurement that teaches most",
    (
        "Nobody has published how a print dries on a sun plate: how much water your squeegee "
        "leaves, when the sheet lifts off between its magnets, and when its face runs short of "
        "water. A drying time alone cannot tell these apart. A print weighed a few times while it "
        "dries tells all three.",
        "You need: a pocket scale that shows 0.05 g, out of the wind (a shoe box on its side "
        "will do); a thermometer; a clock that shows seconds, or a phone; tongs; three wet prints "
        "of one paper and size; half an hour of steady sun. Keep magnets off the scale.",
        "Beforehand weigh one dry sheet of the paper. Set the box out as you always do. Note sky, "
        "air and wind, and the plate's temperature as you lay on.",
        "Squeegee the first print as you always do and weigh it at once. Lay it on with its "
        "magnets on the full minute, and note that; without --way it counts as on the sun plate.",
        "After 3, 6, 9, 12 and 15 minutes, on the full minute: magnets off, lift it by a corner "
        "with the tongs, onto the scale, read, back on the same place with its magnets, all "
        "within 20 seconds; then write it with its minute. A minute late is no harm if it is "
        "noted so. On a slow day every 5 minutes will do. The first two weighings tell the contact "
        "of the wet sheet, the middle ones when it lifts, the last ones how it gives up its last "
        "water, so weigh until it feels dry.",
        "Do the same with the second and the third print. Give each its own ticket. Read the plate "
        "again between them, beside the prints.",
        "Next day, when they lie flat in the room, weigh each dry: that is what its water is "
        "counted from. Left out, the paper's usual mass stands in, known to "
        "[[spreads/noted/dry_mass_frac]] of itself; the run still counts, for less.",
        "The plate burns fingers: from [[limits/bare_metal/touch_1_s]] at a touch of a second. "
        "Tongs and gloves, and mind that strong magnets pinch.",
    ),
    (
        ("a dry sheet", "drybox note weighed dry 3.8g"),
        ("the weather", "drybox note sky clear 24C 45% 2m/s"),
        ("print 7, squeegeed", "drybox note weighed 7 squeegeed 6.4g"),
        ("the plate", "drybox note plate 50C"),
        ("laid on", "drybox note laid 7 at 13:40"),
        ("after 3 minutes", "drybox note weighed 7 5.7g at 13:43"),
        ("after 6 minutes", "drybox note weighed 7 5.1g at 13:46"),
        ("after 9 minutes", "drybox note weighed 7 4.7g at 13:49"),
        ("after 12 minutes", "drybox note weighed 7 4.35g at 13:52"),
        ("after 15 minutes", "drybox note weighed 7 4.1g at 13:55"),
        ("it feels dry", "drybox note dry 7 at 13:58"),
        ("next day", "drybox note weighed 7 3.8g dry"),
        ("then", "drybox calibrate fair.toml"),
    ),
    (
        "To practise without a fair: 'drybox init practice --practice' writes one whose day is "
        "past, and its notes with --at are of that day.",
        "Invented figures of a 4x5 in double-weight print. With the event file behind 'note' each "
        "line knows box, paper and size: drybox note fair.toml laid 7 at 13:40.",
        "Taken as known: a weighing to [[spreads/noted/mass!]], its moment to "
        "[[spreads/noted/weighed_clock!]], the laying-on to [[spreads/noted/clock!]].",
    ),
    (
        "that a print off the plate for 20 seconds dries a little slower meanwhile",
        "that another place on the plate may be warmer",
    ),
    second="what to type",
)
