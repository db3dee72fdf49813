/* The rates of balance.py for a box without a cover, case by case.

   The numpy functions are the reference: whoever changes one changes the other, and
   tests/physics/simulation/test_compiled.py holds them together. Names are theirs, units SI;
   constants and tables come from Python. run.c, which includes step.c and this, is what is built. */

#include <math.h>
#include <stddef.h>
#include <stdint.h>
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

/* Cosine, not below 0, and sine of the tilt. */
typedef struct { double flat, steep; } Slope;

static double of(Field field, ptrdiff_t number, ptrdiff_t slot)
{
    return field.at[number * field.by_case + slot * field.by_slot];
}

static double least(double a, double b) { return a < b ? a : b; }
static double most(double a, double b) { return a > b ? a : b; }
static double fourth(double value) { return value * value * value * value; }

/* Return the cube root of a number from 1e-300 on, 0 below: within 1e-12, in a third of cbrt's time.
   A third of the exponent as a first guess (its constant as in the C libraries' own, from memory),
   then Halley's rule twice. */
static double root3(double value)
{
    uint64_t bits;
    double root, cube;
    if (value < 1e-300)
        return 0.0;
    memcpy(&bits, &value, sizeof bits);
    bits = bits / 3 + 0x2A9F7893782DA1CEu;
    memcpy(&root, &bits, sizeof root);
    cube = root * root * root;
    root *= (cube + 2.0 * value) / (2.0 * cube + value);
    cube = root * root * root;
    return root * (cube + 2.0 * value) / (2.0 * cube + value);
}

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
                   const Slope *slope, double surface, double *growth)
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
        double level = drive * (natural_length * natural_length * natural_length * slope->flat);
        double upright = drive * (height * height * height * slope->steep);
        double root = sqrt(sqrt(level)), hot_up = 0.54 * root, hot_down = 0.27 * root;
        double rising = 0.825 + 0.387 * sqrt(root3(upright)) * between(&box->air, node, 5, share);
        if (level > 4e6) /* where the turbulent form may be the larger: from 3.6^12 on */
            hot_up = most(hot_up, 0.15 * root3(level));
        natural = most((hot_down + warm * (hot_up - hot_down)) / natural_length,
                       rising * rising / height) * conductivity;
    }
    both = root3(forced * forced * forced + natural * natural * natural);
    part = natural / both;
    *growth = part * part * part * delta / (3.0 * size * size);
    return both;
}

static double box_film(const Box *box, ptrdiff_t number, const double *outside, double pressure,
                       const Slope *slope, double surface, double *growth)
{
    if (!isnan(box->fixed_convection)) {
        *growth = 0.0;
        return box->fixed_convection;
    }
    return film(box, number, outside, pressure, slope, surface, growth)
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
               / root3(heat_times_temp * (atmospheres * atmospheres));
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
    Slope slope = {most(cos(outside[TILT]), 0.0), sin(outside[TILT])};
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
    plate.bare_coeff = box_film(box, number, outside, pressure, &slope, now->plate, &unused);
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
        s->coeff = box_film(box, number, outside, pressure, &slope, surface, &s->growth);
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
