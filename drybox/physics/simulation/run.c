/* Runs of the step in C: one step of all cases, and prints from laying on until they are dry.

   Repeats step.Course, forcing.Forcing.at, step_control.StepControl, kept.Kept and run._Block,
   each case by itself; see rates.c. */

#include "step.c"

/* The hash of the three files when this was built: a library of older text is not used. */
#ifndef SOURCE
#define SOURCE ""
#endif
const char *drybox_source(void) { return SOURCE; }

/* Put a state into plate (cases,), patch, sheet and water (cases, slots), one after another. */
static void put(const State *from, double *into, ptrdiff_t number, ptrdiff_t cases, ptrdiff_t slots)
{
    size_t row = (size_t)slots * sizeof(double);
    double *rows = into + cases + number * slots;
    into[number] = from->plate;
    memcpy(rows, from->patch, row);
    memcpy(rows + cases * slots, from->sheet, row);
    memcpy(rows + 2 * cases * slots, from->water, row);
}

/* One step of all cases; `given` and `told` hold arrays (cases,) or (cases, slots) one after
   another, as CompiledStep.__call__ lays them out. Returns 0, or 1 where there is no memory. */
int drybox_step(const Box *box, ptrdiff_t cases, ptrdiff_t slots, double pressure,
                const unsigned char *occupied, const double *given, double *told)
{
    ptrdiff_t places = cases * slots;
    const double *outside = given, *later = outside + OUTSIDES * cases;
    const double *length = later + OUTSIDES * cases, *plates = length + cases;
    const double *patch = plates + cases, *sheet = patch + places, *water = sheet + places;
    double *moved = told, *error = moved + cases + 3 * places, *bare = error + cases + 3 * places;
    double *coeff = bare + cases, *growth = coeff + places, *evaporated = growth + places;
    double *heater = evaporated + places;
    Room room = {0};
    if (!make_room(&room, slots)) {
        leave(&room);
        return 1;
    }
    for (ptrdiff_t number = 0; number < cases; number++) {
        ptrdiff_t first = number * slots;
        double there[OUTSIDES], then[OUTSIDES];
        State now = {plates[number], (double *)patch + first, (double *)sheet + first,
                     (double *)water + first};
        Plate plate;
        for (ptrdiff_t each = 0; each < OUTSIDES; each++) {
            there[each] = outside[each * cases + number];
            then[each] = later[each * cases + number];
        }
        for (ptrdiff_t each = 0; each < slots; each++)
            room.slot[each].occupied = occupied[first + each] != 0;
        plate = step(box, number, slots, there, then, pressure, length[number], &now, &room);
        bare[number] = plate.bare_coeff, heater[number] = plate.heater;
        put(&room.moved, moved, number, cases, slots);
        put(&room.error, error, number, cases, slots);
        for (ptrdiff_t each = 0; each < slots; each++) {
            const Slot *s = room.slot + each;
            coeff[first + each] = s->coeff, growth[first + each] = s->growth;
            evaporated[first + each] = s->water;
        }
    }
    leave(&room);
    return 0;
}

/* forcing.Forcing: instants one after the other, member by member. */
typedef struct { const double *instants; ptrdiff_t times; double start, step, pressure; } Forcing;

static void outside_at(const Forcing *forcing, ptrdiff_t member, double time, double *outside)
{
    double position = (time - forcing->start) / forcing->step, last = (double)forcing->times - 1.0;
    ptrdiff_t left;
    const double *before, *after;
    position = least(most(position, 0.0), last);
    left = (ptrdiff_t)position;
    if (left > forcing->times - 2)
        left = forcing->times - 2;
    before = forcing->instants + (member * forcing->times + left) * OUTSIDES;
    after = before + OUTSIDES;
    for (ptrdiff_t each = 0; each < OUTSIDES; each++)
        outside[each] = before[each] + (after[each] - before[each]) * (position - (double)left);
}

/* What a run is asked, with the choices of step_control.StepControl and kept.Kept. */
typedef struct {
    double largest, temp_error, time_error_frac, first, shortest;
    double most_growth, most_shrinking, safety, soon, least_share, band_share, saturated;
    double touch_dry, dry, over_dry, horizon, wait_over_dry, wet_limit, dry_limit;
    double every, area;
} Asked;

enum { SAMPLES = 6 };

/* What a run tells of a case, in the order of compiled.TOLD. */
enum { TOUCH, DRY, OVER, WET_MOST, MOST, PLATE_MOST, HEATER, STEPS, KEPT, OVER_LIMIT, TOLD };

/* step_control.StepControl.fitted_s. */
static double fitted(const Asked *asked, double wanted, double clock, double left)
{
    double into = fmod(clock, asked->largest), stretch;
    if (into < 0.0)
        into += asked->largest;
    stretch = asked->largest - into;
    if (stretch < 1e-6)
        stretch = asked->largest;
    return least(stretch / ceil(stretch / least(wanted, stretch) - 1e-9), left);
}

/* step_control.StepControl.miss_ratio of a box with one slot. */
static double miss_ratio(const Box *box, const Asked *asked, double full, const Room *room,
                         double elapsed)
{
    double bound = asked->time_error_frac * asked->saturated;
    double drying = fabs(room->slot->water) * asked->time_error_frac * (elapsed + asked->soon);
    double water = least(most(drying, asked->least_share * bound), bound);
    double plate = fabs(room->error.plate) / asked->temp_error, slot;
    slot = most(fabs(*room->error.sheet) / asked->temp_error, fabs(*room->error.water) / water);
    slot = most(slot, fabs(*room->error.patch) / asked->temp_error);
    if (full)
        plate = most(plate, fabs(room->error.plate) / (asked->band_share * box->heater_band));
    return most(slot, plate);
}

/* step_control.StepControl.next_s. */
static double next_length(const Asked *asked, double taken, double wanted, double miss)
{
    double factor = asked->safety / sqrt(most(miss, 1e-6)), grown;
    factor = least(most(factor, asked->most_shrinking), asked->most_growth);
    grown = most(taken * factor, factor > 1.0 ? wanted : 0.0);
    return least(most(grown, asked->shortest), asked->largest);
}

/* A print's temperature, and what it is over its limit by water: kept.limit_at_k. */
static void judge(const Asked *asked, double critical, double temp, double water, double *judged)
{
    double span = most(critical - asked->dry, 1e-6), limit = asked->wet_limit;
    if (asked->wet_limit != asked->dry_limit)
        limit += least(most((critical - water) / span, 0.0), 1.0)
                 * (asked->dry_limit - asked->wet_limit);
    judged[0] = temp, judged[1] = temp - limit;
}

/* kept.Kept.passed. */
static void keep(const Asked *asked, double last[2][SAMPLES], const double *before,
                 const double *after, double begun, double length, double *told)
{
    double from = floor(begun / asked->every + 1e-9);
    double to = floor((begun + length) / asked->every + 1e-9);
    for (double number = from + 1.0; number <= to; number += 1.0) {
        double at = number * asked->every, share = least((at - begun) / length, 1.0);
        for (ptrdiff_t row = 0; row < 2; row++) {
            double value = before[row] + share * (after[row] - before[row]), lowest = value;
            for (ptrdiff_t each = 0; each < SAMPLES; each++)
                lowest = least(lowest, last[row][each]);
            memmove(last[row], last[row] + 1, (SAMPLES - 1) * sizeof(double));
            last[row][SAMPLES - 1] = value;
            if (at <= told[DRY])
                told[KEPT + row] = most(told[KEPT + row], lowest);
        }
    }
}

/* step.crossing_s. */
static double crossing(double mark, double was, double is, double begun, double length)
{
    return was > mark && is <= mark ? begun + (was - mark) / (was - is) * length : INFINITY;
}

/* run._Block._tally of a step that was taken. */
static void tally(const Box *box, const Asked *asked, double critical, double full, double heater,
                  const State *was, const State *is, double begun, double length, double *told)
{
    const double marks[3] = {asked->touch_dry, asked->dry, asked->over_dry};
    int drying = isinf(told[DRY]);
    for (ptrdiff_t each = TOUCH; each <= OVER; each++)
        told[each] = least(told[each], crossing(marks[each], *was->water, *is->water, begun, length));
    if (*is->water >= critical)
        told[WET_MOST] = most(told[WET_MOST], *is->sheet);
    told[STEPS] += 1.0;
    if (!drying)
        return;
    told[MOST] = most(told[MOST], *is->sheet);
    told[PLATE_MOST] = most(told[PLATE_MOST], is->plate);
    if (full) {
        double after = least(most((box->heater_temp - is->plate) / box->heater_band, 0.0), 1.0);
        told[HEATER] += length * 0.5 * (heater + after * full) * asked->area;
    }
}

static int done(const Asked *asked, double elapsed, const double *told)
{
    double dry = told[DRY];
    return isfinite(told[OVER]) || elapsed >= asked->horizon - 1e-6
           || elapsed > dry + most(0.5 * dry, asked->wait_over_dry);
}

/* run.run_print of a box with one slot: state (4, cases) plate, patch, sheet, water as laid on is
   moved to where each ends; told (cases, TOLD). Returns 0, or 1 where there is no memory. */
int drybox_run(const Box *box, const Asked *asked, const Forcing *forcing, ptrdiff_t cases,
               const ptrdiff_t *member, const double *laid, double *state, double *told)
{
    Room room = {0};
    if (!make_room(&room, 1)) {
        leave(&room);
        return 1;
    }
    room.slot->occupied = 1;
    for (ptrdiff_t number = 0; number < cases; number++, told += TOLD) {
        double *part[4] = {state + number, state + cases + number, state + 2 * cases + number,
                           state + 3 * cases + number};
        State now = {*part[0], part[1], part[2], part[3]}, was;
        double critical = of(box->critical_water, number, 0), elapsed = 0.0, length = asked->first;
        double here[OUTSIDES], then[OUTSIDES], before[2], judged[2], last[2][SAMPLES];
        double of_was[3], full = of(box->heater, number, 0); /* power of a heater, 0 without */
        for (ptrdiff_t each = TOUCH; each <= OVER; each++)
            told[each] = *now.water <= (&asked->touch_dry)[each] ? 0.0 : INFINITY;
        told[WET_MOST] = -INFINITY, told[MOST] = *now.sheet, told[PLATE_MOST] = now.plate;
        told[HEATER] = told[STEPS] = 0.0;
        judge(asked, critical, *now.sheet, *now.water, judged);
        told[KEPT] = judged[0], told[OVER_LIMIT] = judged[1];
        for (ptrdiff_t each = 0; each < SAMPLES; each++)
            last[0][each] = judged[0], last[1][each] = judged[1];
        outside_at(forcing, member[number], laid[number], here);
        while (!done(asked, elapsed, told)) {
            double clock = laid[number] + elapsed, taken, miss;
            Plate plate;
            taken = fitted(asked, length, clock - forcing->start, asked->horizon - elapsed);
            outside_at(forcing, member[number], clock + taken, then);
            plate = step(box, number, 1, here, then, forcing->pressure, taken, &now, &room);
            miss = miss_ratio(box, asked, full, &room, elapsed);
            length = next_length(asked, taken, length, miss);
            if (!(miss <= 1.0 || taken <= asked->shortest))
                continue;
            of_was[0] = *now.patch, of_was[1] = *now.sheet, of_was[2] = *now.water;
            was = (State){now.plate, of_was, of_was + 1, of_was + 2};
            now.plate = room.moved.plate, *now.patch = *room.moved.patch;
            *now.sheet = *room.moved.sheet, *now.water = *room.moved.water;
            tally(box, asked, critical, full, plate.heater, &was, &now, elapsed, taken, told);
            memcpy(before, judged, sizeof before);
            judge(asked, critical, *now.sheet, *now.water, judged);
            keep(asked, last, before, judged, elapsed, taken, told);
            memcpy(here, then, sizeof here);
            elapsed += taken;
        }
        *part[0] = now.plate;
    }
    leave(&room);
    return 0;
}
