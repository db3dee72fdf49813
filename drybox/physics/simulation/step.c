/* The step of step.py and the rates of balance.py for a box without a cover, case by case.

   The numpy functions are the reference: whoever changes one changes the other, and
   tests/physics/simulation/test_compiled.py holds them together. Names are theirs, units SI.
   Constants and tables come from Python, so that each number stands once. */

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* A parameter of each case and slot; a stride of 0 where it is the same for all. */
typedef struct { const double *at; ptrdiff_t by_case, by_slot; } Field;

/* lookup.Lookup: several functions of one variable. */
typedef struct { const double *values; double low, nodes_per_unit, last; ptrdiff_t columns; } Table;

typedef struct {
    Table air, vapour, water, sorption;
    Field absorbed_frac, plate_emittance_frac, back_loss, heater, convection_factor, forced_factor;
    Field absorptance_frac, contact_wet, contact_dry, lifts_at_moisture, dry_resistance,
        critical_water, lone_film_factor;
    const double *inner_frac;
    double lone_w_k, full_w_k, inner_places;
    double slot_area, bare_area, plate_capacity, length, natural_length, height;
    double heater_temp, heater_band, fixed_convection, hanging, back_in_wind;
    double dry_heat, sorbing, sheet_emittance_frac, front_open, back_open, cover_resistance,
        lewis_factor;
    double stefan_boltzmann, gas_constant_vapour, water_specific_heat, reference_temp;
    double vapour_dry, vapour_more, standard_pressure, uneven_air, lift_width, patchiness;
    double still_outer, windy_outer, light_wind, gamma;
} Box;

enum { FRONT_SUN, BACK_SUN, COVER_SUN, AIR, VAPOUR, WIND, FRONT_RADIANT, BACK_RADIANT, TILT,
       OUTSIDES };

typedef struct { double plate, *patch, *sheet, *water; } State;

/* What balance.Rates has of one slot, and the eliminated matrix of step._Slopes. */
typedef struct {
    int occupied;
    double coeff, growth, lateral, contact, touched_slope, patch_heat, patch_slope;
    double sheet_heat, sheet_slope, water, water_slope, water_temp_slope, latent, capacity;
    double conductance, transfer;
    double water_temp, water_diag, sheet_water, patch_water, sheet_diag, touch, touch_back,
        patch_diag, along_patch, along_bare;
    double forced_patch, forced_sheet, forced_water, k_patch, k_sheet, k_water;
} Slot;

typedef struct { double heat, slope, bare_coeff, heater; } Plate;

static double of(Field field, ptrdiff_t number, ptrdiff_t slot)
{
    return field.at[number * field.by_case + slot * field.by_slot];
}

static double least(double a, double b) { return a < b ? a : b; }
static double most(double a, double b) { return a > b ? a : b; }
static double fourth(double value) { return value * value * value * value; }

/* Return the place in a table; `share` of the way to the next node. */
static const double *place(const Table *table, double variable, double *share)
{
    double position = (variable - table->low) * table->nodes_per_unit;
    ptrdiff_t node;
    position = position > 0.0 ? least(position, table->last) : 0.0;
    node = (ptrdiff_t)position;
    *share = position - (double)node;
    return table->values + node * table->columns;
}

static double between(const Table *table, const double *node, ptrdiff_t column, double share)
{
    return node[column] + (node[column + table->columns] - node[column]) * share;
}

/* convection.plate_film and sheet_film. */
static double film(const Box *box, ptrdiff_t number, const double *outside, double pressure,
                   double surface, double *growth)
{
    double share, delta, size, warm, forced, natural, both, part;
    const double *node = place(&box->air, 0.5 * (surface + outside[AIR]), &share);
    double conductivity = between(&box->air, node, 0, share);
    double viscosity = between(&box->air, node, 1, share) / pressure;
    double rayleigh = between(&box->air, node, 2, share) * (pressure * pressure);
    double height = box->height, length = box->length, natural_length = box->natural_length;
    delta = surface - outside[AIR];
    size = sqrt(delta * delta + box->uneven_air * box->uneven_air);
    warm = 0.5 + 0.5 * delta / size;
    forced = 0.86 * sqrt(outside[WIND] * length / viscosity) * between(&box->air, node, 4, share);
    forced = of(box->forced_factor, number, 0) * (forced * conductivity / length);
    if (box->hanging) {
        double drive = rayleigh * size * (height * height * height);
        natural = 0.68 + 0.670 * sqrt(sqrt(drive)) * between(&box->air, node, 6, share);
        natural = natural * conductivity / height;
    } else {
        double drive = rayleigh * size;
        double flat = most(cos(outside[TILT]), 0.0), steep = sin(outside[TILT]);
        double level = drive * (natural_length * natural_length * natural_length * flat);
        double upright = drive * (height * height * height * steep);
        double root = sqrt(sqrt(level));
        double hot_up = most(0.54 * root, 0.15 * cbrt(level)), hot_down = 0.27 * root;
        double slope = 0.825 + 0.387 * sqrt(cbrt(upright)) * between(&box->air, node, 5, share);
        natural = most((hot_down + warm * (hot_up - hot_down)) / natural_length,
                       slope * slope / height) * conductivity;
    }
    both = cbrt(forced * forced * forced + natural * natural * natural);
    part = natural / both;
    *growth = part * part * part * delta / (3.0 * size * size);
    return both;
}

static double box_film(const Box *box, ptrdiff_t number, const double *outside, double pressure,
                       double surface, double *growth)
{
    if (!isnan(box->fixed_convection)) {
        *growth = 0.0;
        return box->fixed_convection;
    }
    return film(box, number, outside, pressure, surface, growth)
           * of(box->convection_factor, number, 0);
}

/* PlateModel.back_w_m2_k. */
static double back(const Box *box, ptrdiff_t number, double wind)
{
    double loss = of(box->back_loss, number, 0), whole, outer, light, now;
    if (!box->back_in_wind)
        return loss;
    light = box->still_outer + box->windy_outer * box->light_wind;
    now = box->still_outer + box->windy_outer * wind;
    whole = 1.0 / most(loss, 1e-9);
    outer = least(whole, 1.0 / light);
    return 1.0 / (whole - outer + outer * light / now);
}

/* print_drying.sheet_rates, with the vapour film of balance._prints. */
static void sheet(const Box *box, ptrdiff_t number, ptrdiff_t slot, const double *outside,
                  double pressure, double own_film, double temp, double held, Slot *out)
{
    double share, mass, vapour = outside[VAPOUR];
    double heat_times_temp = box->vapour_dry * pressure + box->vapour_more * vapour;
    double faces = box->front_open + box->back_open, square = temp * temp;
    const double *node;
    if (!isnan(box->lewis_factor)) {
        mass = out->coeff / (heat_times_temp * box->lewis_factor * box->gas_constant_vapour);
    } else {
        double atmospheres = pressure / box->standard_pressure;
        node = place(&box->vapour, 0.5 * (temp + outside[AIR]), &share);
        mass = out->coeff * between(&box->vapour, node, 0, share)
               / cbrt(heat_times_temp * (atmospheres * atmospheres));
    }
    mass *= own_film;

    /* surface_vapour */
    node = place(&box->sorption, held, &share);
    double per_unit = box->sorption.nodes_per_unit;
    double activity = between(&box->sorption, node, 0, share);
    double heat = between(&box->sorption, node, 1, share);
    double activity_slope = (node[2] - node[0]) * per_unit;
    double heat_slope = (node[3] - node[1]) * per_unit;
    node = place(&box->water, temp, &share);
    double latent = between(&box->water, node, 1, share) + heat;
    double per_heat = (1.0 / box->reference_temp - 1.0 / temp) / box->gas_constant_vapour;
    double scale = exp(between(&box->water, node, 0, share) + heat * per_heat);
    double surface = scale * activity;
    double surface_slope = scale * activity_slope + surface * heat_slope * per_heat;

    /* internal_vapour_resistance */
    double whole = of(box->dry_resistance, number, slot);
    double critical = of(box->critical_water, number, slot);
    double past = most(1.0 + box->patchiness - held / critical, 0.0);
    double rising = least(past / (2.0 * box->patchiness), 1.0);
    double inner = whole * (rising * (past - box->patchiness * rising));
    double inner_slope = whole / critical * rising;

    double wet_side = least(surface, 0.9 * pressure);
    double vapour_film = mass * (pressure / (pressure - 0.5 * (vapour + wet_side)));
    double past_film = 1.0 / (1.0 + vapour_film * (inner + box->cover_resistance));
    double face = vapour_film * past_film;
    double conductance = faces * face, water = conductance * (surface - vapour);

    double radiant = box->front_open * fourth(outside[FRONT_RADIANT]);
    double light = box->front_open * outside[FRONT_SUN];
    if (box->back_open > 0) {
        radiant += box->back_open * fourth(outside[BACK_RADIANT]);
        light += box->back_open * outside[BACK_SUN];
    }
    double radiation = box->stefan_boltzmann * box->sheet_emittance_frac;
    double cubes = faces * square * temp, transfer = faces * out->coeff;
    double carried = transfer * (temp - outside[AIR]);
    double lost = carried + radiation * (cubes * temp - radiant);
    double water_temp_slope = conductance * surface * latent / (box->gas_constant_vapour * square);
    double slope = transfer + 4.0 * radiation * cubes + latent * water_temp_slope;
    double by_film = out->growth * water * past_film;
    slope += most(out->growth * carried + latent * by_film, 0.0);
    out->sheet_heat = of(box->absorptance_frac, number, slot) * light - lost - water * latent;
    out->sheet_slope = slope;
    out->water = water;
    out->water_temp_slope = water_temp_slope + most(by_film, 0.0);
    out->water_slope = conductance * surface_slope + most(water, 0.0) * inner_slope * face;
    out->latent = latent;
    out->capacity = box->dry_heat + most(held, 0.0) * box->water_specific_heat;
    out->conductance = conductance;
    out->transfer = transfer;
}

/* SheetModel.contact_w_m2_k. */
static double contact(const Box *box, ptrdiff_t number, ptrdiff_t slot, double held, double *slope)
{
    double width = box->lift_width * box->sorbing;
    double lifts = of(box->lifts_at_moisture, number, slot) / box->lift_width - 0.5;
    double share = least(most(held / width - lifts, 0.0), 1.0), square = share * share;
    double dry = of(box->contact_dry, number, slot);
    double fall = of(box->contact_wet, number, slot) - dry;
    *slope = 6.0 / width * fall * (share - square);
    return dry + fall * (square * (3.0 - 2.0 * share));
}

/* balance.rates of one case. */
static Plate rates(const Box *box, ptrdiff_t number, ptrdiff_t slots, const double *outside,
                   double pressure, const State *now, Slot *slot)
{
    Plate plate;
    ptrdiff_t taken = 0, each;
    double radiation = box->stefan_boltzmann * of(box->plate_emittance_frac, number, 0);
    double radiant = fourth(outside[FRONT_RADIANT]), air = outside[AIR], unused, cube, bare;
    double behind = back(box, number, outside[WIND]), full = of(box->heater, number, 0);
    double sun = of(box->absorbed_frac, number, 0) * outside[FRONT_SUN], own_film;
    double short_k = (box->heater_temp - now->plate) / box->heater_band, heater_slope = 0.0;
    for (each = 0; each < slots; each++)
        taken += slot[each].occupied;
    own_film = of(box->lone_film_factor, number, 0);
    if (slots > 2)
        own_film = 1.0 + (own_film - 1.0) * least(2.0 / (double)(taken > 1 ? taken : 1), 1.0);

    plate.heater = full * least(most(short_k, 0.0), 1.0);
    if (short_k > 0 && short_k < 1)
        heater_slope = full / box->heater_band;
    plate.bare_coeff = box_film(box, number, outside, pressure, now->plate, &unused);
    cube = now->plate * now->plate * now->plate;
    bare = plate.bare_coeff * (now->plate - air) + radiation * (cube * now->plate - radiant);
    plate.heat = sun + plate.heater - bare - behind * (now->plate - air);
    plate.slope = plate.bare_coeff + 4.0 * radiation * cube + behind + heater_slope;
    for (each = 0; each < slots; each++) {
        Slot *s = slot + each;
        double patch = now->patch[each], between_k = now->plate - patch, touched;
        double surface = s->occupied ? now->sheet[each] : patch;
        ptrdiff_t places = (ptrdiff_t)box->inner_places, inner = each < places ? each : places - 1;
        s->lateral = box->lone_w_k * box->inner_frac[inner];
        if (slots >= (places > 2 ? places : 2) && taken >= places)
            s->lateral = box->full_w_k;
        s->coeff = box_film(box, number, outside, pressure, surface, &s->growth);
        plate.heat -= s->lateral / box->bare_area * between_k;
        plate.slope += s->lateral / box->bare_area;
        s->patch_heat = plate.heater + s->lateral / box->slot_area * between_k
                        - behind * (patch - air);
        s->patch_slope = behind + s->lateral / box->slot_area;
        if (!s->occupied) {
            cube = patch * patch * patch;
            s->patch_heat += sun - s->coeff * (patch - air) - radiation * (cube * patch - radiant);
            s->patch_slope += s->coeff + 4.0 * radiation * cube;
            s->contact = s->touched_slope = s->sheet_heat = s->sheet_slope = s->water = 0.0;
            s->water_slope = s->water_temp_slope = s->latent = s->conductance = s->transfer = 0.0;
            s->capacity = 1.0;
            continue;
        }
        sheet(box, number, each, outside, pressure, own_film, surface, now->water[each], s);
        s->contact = contact(box, number, each, now->water[each], &s->touched_slope);
        touched = s->contact * (patch - surface);
        s->touched_slope = most(s->touched_slope * (patch - surface), 0.0);
        s->patch_heat -= touched;
        s->patch_slope += s->contact;
        s->sheet_heat += touched;
        s->sheet_slope += s->contact;
    }
    return plate;
}

/* step._eliminated; returns the plate's diagonal. */
static double eliminate(const Box *box, ptrdiff_t slots, const Plate *plate, double gh, Slot *slot)
{
    double back_and_forth = 0.0;
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each;
        s->water_temp = gh * s->water_temp_slope;
        s->water_diag = 1.0 + gh * s->water_slope;
        s->patch_water = gh * s->touched_slope / s->water_diag;
        s->sheet_water = gh * s->latent * s->water_slope / s->water_diag - s->patch_water;
        s->sheet_diag = s->capacity + gh * s->sheet_slope - s->sheet_water * s->water_temp;
        s->touch = gh * s->contact;
        s->touch_back = s->touch + s->patch_water * s->water_temp;
        s->patch_diag = box->plate_capacity + gh * s->patch_slope
                        - s->touch_back * s->touch / s->sheet_diag;
        s->along_patch = gh * (s->lateral / box->slot_area);
        s->along_bare = gh * (s->lateral / box->bare_area);
        back_and_forth += s->along_bare * (s->along_patch / s->patch_diag);
    }
    return box->plate_capacity + gh * plate->slope - back_and_forth;
}

/* step._solve: the k of slots go from right sides to the solution in place; returns the plate's. */
static double solve(ptrdiff_t slots, double plate_diag, double right, Slot *slot)
{
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each;
        s->k_sheet -= s->sheet_water * s->k_water;
        s->k_patch -= s->patch_water * s->k_water;
        s->k_patch += s->touch_back * s->k_sheet / s->sheet_diag;
        right += s->along_bare * s->k_patch / s->patch_diag;
    }
    right /= plate_diag;
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each;
        s->k_patch = (s->k_patch + s->along_patch * right) / s->patch_diag;
        s->k_sheet = (s->k_sheet + s->touch * s->k_patch) / s->sheet_diag * s->occupied;
        s->k_water = (s->k_water - s->water_temp * s->k_sheet) / s->water_diag * s->occupied;
    }
    return right;
}

/* step._forced; returns the plate's. */
static double force(const Box *box, ptrdiff_t number, ptrdiff_t slots, const Plate *plate,
                    const double *before, const double *later, Slot *slot)
{
    double light = later[FRONT_SUN] - before[FRONT_SUN], air = later[AIR] - before[AIR];
    double vapour = later[VAPOUR] - before[VAPOUR], lit = box->front_open * light;
    double on_plate = of(box->absorbed_frac, number, 0) * light + plate->bare_coeff * air;
    if (box->back_open > 0)
        lit += box->back_open * (later[BACK_SUN] - before[BACK_SUN]);
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each;
        s->forced_patch = s->occupied ? 0.0 : on_plate;
        s->forced_water = s->conductance * vapour;
        s->forced_sheet = (of(box->absorptance_frac, number, each) * lit + s->transfer * air
                           + s->latent * s->forced_water) * s->occupied;
    }
    return on_plate;
}

/* The hash of this file when it was built: a library of an older text is not used. */
#ifndef SOURCE
#define SOURCE ""
#endif
const char *drybox_source(void) { return SOURCE; }

/* step.step_and_doubt of all cases. Arrays (cases,) or (cases, slots); `outside` and `later` one
   row a quantity. Returns 0, or 1 where there is no memory. */
int drybox_step(const Box *box, ptrdiff_t cases, ptrdiff_t slots, const double *const *outside,
                const double *const *later, double pressure, const double *length,
                const unsigned char *occupied, const double *const *state, double *const *moved,
                double *const *doubt, double *bare_coeff, double *coeff, double *growth,
                double *evaporated, double *heater)
{
    Slot *slot = malloc(2 * (size_t)(slots + 1) * sizeof(Slot)), *ahead = slot + slots + 1;
    double *work = malloc(3 * (size_t)(slots + 1) * sizeof(double));
    double gamma = box->gamma, capacity = box->plate_capacity, there[OUTSIDES], then[OUTSIDES];
    if (!slot || !work) {
        free(slot), free(work);
        return 1;
    }
    for (ptrdiff_t number = 0; number < cases; number++) {
        ptrdiff_t first = number * slots, each;
        double h = length[number], forced, diag, right, k1, k2;
        State now, next;
        Plate plate, after;
        for (each = 0; each < OUTSIDES; each++)
            there[each] = outside[each][number], then[each] = later[each][number];
        for (each = 0; each < slots; each++)
            slot[each].occupied = ahead[each].occupied = occupied[first + each] != 0;
        now.plate = state[0][number];
        now.patch = (double *)state[1] + first;
        now.sheet = (double *)state[2] + first;
        now.water = (double *)state[3] + first;
        plate = rates(box, number, slots, there, pressure, &now, slot);
        diag = eliminate(box, slots, &plate, gamma * h, slot);
        forced = force(box, number, slots, &plate, there, then, slot);
        for (each = 0; each < slots; each++) {
            Slot *s = slot + each;
            s->k_patch = s->patch_heat + gamma * s->forced_patch;
            s->k_sheet = s->sheet_heat + gamma * s->forced_sheet;
            s->k_water = -s->water + gamma * s->forced_water;
        }
        k1 = solve(slots, diag, plate.heat + gamma * forced, slot);

        next.plate = now.plate + h * k1;
        next.patch = work, next.sheet = work + slots, next.water = work + 2 * slots;
        for (each = 0; each < slots; each++) {
            next.patch[each] = now.patch[each] + h * slot[each].k_patch;
            next.sheet[each] = now.sheet[each] + h * slot[each].k_sheet;
            next.water[each] = most(now.water[each] + h * slot[each].k_water, 0.0);
        }
        after = rates(box, number, slots, then, pressure, &next, ahead);
        right = after.heat - 2.0 * capacity * k1 - gamma * forced;
        for (each = 0; each < slots; each++) {
            Slot *s = slot + each, *a = ahead + each;
            double of_first[3] = {s->k_patch, s->k_sheet, s->k_water};
            s->k_patch = a->patch_heat - 2.0 * capacity * of_first[0] - gamma * s->forced_patch;
            s->k_sheet = a->sheet_heat * (s->capacity / a->capacity)
                         - 2.0 * s->capacity * of_first[1] - gamma * s->forced_sheet;
            s->k_water = -a->water - 2.0 * of_first[2] - gamma * s->forced_water;
            a->k_patch = of_first[0], a->k_sheet = of_first[1], a->k_water = of_first[2];
        }
        k2 = solve(slots, diag, right, slot);

        bare_coeff[number] = plate.bare_coeff;
        heater[number] = plate.heater;
        doubt[0][number] = h * (0.5 * (k1 + k2));
        moved[0][number] = now.plate + h * k1 + doubt[0][number];
        doubt[4][number] = 0.0;
        moved[4][number] = state[4][number];
        for (each = 0; each < slots; each++) {
            Slot *s = slot + each, *a = ahead + each;
            ptrdiff_t at = first + each;
            coeff[at] = s->coeff, growth[at] = s->growth, evaporated[at] = s->water;
            doubt[1][at] = h * (0.5 * (a->k_patch + s->k_patch));
            doubt[2][at] = h * (0.5 * (a->k_sheet + s->k_sheet));
            doubt[3][at] = h * (0.5 * (a->k_water + s->k_water));
            moved[1][at] = now.patch[each] + h * a->k_patch + doubt[1][at];
            moved[2][at] = now.sheet[each] + h * a->k_sheet + doubt[2][at];
            moved[3][at] = most(now.water[each] + h * a->k_water + doubt[3][at], 0.0);
        }
    }
    free(slot), free(work);
    return 0;
}
