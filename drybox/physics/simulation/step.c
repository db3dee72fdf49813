/* The step of step.py, of one case; see rates.c. */

#include "rates.c"

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

/* Room for one case with so many slots: its state, the state a step ahead, and where it ends. */
typedef struct { Slot *slot, *ahead; State next, moved, error; double *numbers; } Room;

static int make_room(Room *room, ptrdiff_t slots)
{
    size_t size = (size_t)slots + 1;
    double **part[9] = {&room->next.patch, &room->next.sheet, &room->next.water,
                        &room->moved.patch, &room->moved.sheet, &room->moved.water,
                        &room->error.patch, &room->error.sheet, &room->error.water};
    room->slot = malloc(2 * size * sizeof(Slot));
    room->numbers = malloc(9 * size * sizeof(double));
    if (!room->slot || !room->numbers)
        return 0;
    room->ahead = room->slot + size;
    for (ptrdiff_t each = 0; each < 9; each++)
        *part[each] = room->numbers + each * (ptrdiff_t)size;
    return 1;
}

static void leave(Room *room) { free(room->slot), free(room->numbers); }

/* step.step of one case; `room->slot` says which slots are occupied. */
static Plate step(const Box *box, ptrdiff_t number, ptrdiff_t slots, const double *there,
                  const double *then, double pressure, double h, const State *now, Room *room)
{
    double gamma = box->gamma, capacity = box->plate_capacity, k1, k2, right;
    Slot *slot = room->slot, *ahead = room->ahead;
    State *next = &room->next, *moved = &room->moved, *error = &room->error;
    Plate plate = rates(box, number, slots, there, pressure, now, slot), after;
    double diag = eliminate(box, slots, &plate, gamma * h, slot);
    double forced = force(box, number, slots, &plate, there, then, slot);
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each;
        s->k_patch = s->patch_heat + gamma * s->forced_patch;
        s->k_sheet = s->sheet_heat + gamma * s->forced_sheet;
        s->k_water = -s->water + gamma * s->forced_water;
    }
    k1 = solve(slots, diag, plate.heat + gamma * forced, slot);

    next->plate = now->plate + h * k1;
    for (ptrdiff_t each = 0; each < slots; each++) {
        ahead[each].occupied = slot[each].occupied;
        next->patch[each] = now->patch[each] + h * slot[each].k_patch;
        next->sheet[each] = now->sheet[each] + h * slot[each].k_sheet;
        next->water[each] = most(now->water[each] + h * slot[each].k_water, 0.0);
    }
    after = rates(box, number, slots, then, pressure, next, ahead);
    right = after.heat - 2.0 * capacity * k1 - gamma * forced;
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each, *a = ahead + each;
        a->k_patch = s->k_patch, a->k_sheet = s->k_sheet, a->k_water = s->k_water;
        s->k_patch = a->patch_heat - 2.0 * capacity * a->k_patch - gamma * s->forced_patch;
        s->k_sheet = a->sheet_heat * (s->capacity / a->capacity)
                     - 2.0 * s->capacity * a->k_sheet - gamma * s->forced_sheet;
        s->k_water = -a->water - 2.0 * a->k_water - gamma * s->forced_water;
    }
    k2 = solve(slots, diag, right, slot);

    error->plate = h * (0.5 * (k1 + k2));
    moved->plate = now->plate + h * k1 + error->plate;
    for (ptrdiff_t each = 0; each < slots; each++) {
        Slot *s = slot + each, *a = ahead + each;
        error->patch[each] = h * (0.5 * (a->k_patch + s->k_patch));
        error->sheet[each] = h * (0.5 * (a->k_sheet + s->k_sheet));
        error->water[each] = h * (0.5 * (a->k_water + s->k_water));
        moved->patch[each] = now->patch[each] + h * a->k_patch + error->patch[each];
        moved->sheet[each] = now->sheet[each] + h * a->k_sheet + error->sheet[each];
        moved->water[each] = most(now->water[each] + h * a->k_water + error->water[each], 0.0);
    }
    return plate;
}
