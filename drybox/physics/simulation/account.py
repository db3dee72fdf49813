"""Does heat and water close? An account kept beside a run, independent of its step."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array, Flags
from drybox.physics.air import latent_heat_j_kg
from drybox.physics.box_heat import radiated_w_m2
from drybox.physics.constants import WATER_SPECIFIC_HEAT_J_KG_K
from drybox.physics.simulation.balance import Rates, rates, straight_to_sky_w
from drybox.physics.simulation.forcing import Outside
from drybox.physics.simulation.state import BoxSystem, State, stored_j
from drybox.physics.simulation.step import step


def over_edge_w(
    system: BoxSystem, state: State, occupied: Flags, *, now: Rates
) -> tuple[Array, Array]:
    """Return heat gained over the box's boundary, net, and all that passes it, (n,). [W]

    Vapour leaves with the heat it took at the sheet, and with the warmth of its water.
    """
    plate, area, outside = system.plate, system.sheet.area_m2, now.outside
    bare, slots = system.bare_area_m2, np.where(occupied, 0.0, area)
    prints, air_k = now.sheet, outside.air_temp_k

    def faces(w_m2: Array, slots_w_m2: Array) -> Array:
        return np.asarray(bare * w_m2 + (slots * slots_w_m2).sum(axis=1))

    sun = plate.absorbed_frac(plate.absorptance_frac) * outside.front_sun_w_m2
    lit = faces(sun, sun[:, None]) + area * (occupied * prints.sun_w_m2).sum(axis=1)
    back = plate.back_w_m2_k(outside.wind_m_s)
    own = bare * (now.heater_w_m2 - back * (state.plate_temp_k - air_k))
    patches = now.heater_w_m2[:, None] - np.asarray(back)[..., None] * (
        state.patch_temp_k - air_k[:, None]
    )
    own = own + area * patches.sum(axis=1)
    carried = prints.latent_j_kg + WATER_SPECIFIC_HEAT_J_KG_K * state.sheet_temp_k
    vapour = area * (occupied * prints.water_kg_m2_s * carried).sum(axis=1)
    if plate.cover is None:
        share, sky = plate.emittance_frac, outside.front_radiant_temp_k
        dry_w_m2 = prints.sun_w_m2 - prints.water_kg_m2_s * prints.latent_j_kg - prints.heat_w_m2
        lost = faces(
            now.box.bare_coeff_w_m2_k * (state.plate_temp_k - air_k)
            + radiated_w_m2(share, state.plate_temp_k, sky),
            now.box.sheet_coeff_w_m2_k * (state.patch_temp_k - air_k[:, None])
            + radiated_w_m2(np.asarray(share)[..., None], state.patch_temp_k, sky[:, None]),
        )
        lost = lost + area * (occupied * dry_w_m2).sum(axis=1)
    else:
        cover = plate.cover
        lit = lit + outside.cover_sun_w_m2 * plate.area_m2
        top = now.cover_coeff_w_m2_k * (state.cover_temp_k - air_k) + radiated_w_m2(
            cover.emittance_frac, state.cover_temp_k, outside.front_radiant_temp_k
        )
        vented = now.box.vent_w_m2_k * (now.box.air_temp_k - air_k)
        lost = (top + vented) * plate.area_m2
        lost = lost + straight_to_sky_w(system, state, outside, occupied=occupied)
        vapour = vapour - now.condensed_kg_s * np.asarray(latent_heat_j_kg(state.cover_temp_k))
    gross = lit + np.abs(lost) + np.abs(vapour) + np.abs(own)
    return lit + own - lost - vapour, gross


class Audit:
    """Flows over the boundary summed by Simpson's rule, to set against what is stored.

    The state at half a step comes of a step half as long, so that the sum errs far less than the
    step itself and shows the step's own defect.
    """

    def __init__(self, system: BoxSystem, start: State, occupied: Flags) -> None:
        self.system, self.start, self.occupied = system, start, occupied
        n = start.plate_temp_k.shape[0]
        self.net, self.gross, self.gone = np.zeros(n), np.zeros(n), np.zeros(n)

    def passed(
        self,
        step_s: Array,
        before: State,
        now: Rates,
        *,
        after: State,
        then: Rates,
        between: Outside,
    ) -> None:
        """Add one step; ``between`` is the weather at its middle."""
        system, occupied = self.system, self.occupied
        halfway, _ = step(
            system, before, now, later=between, occupied=occupied, step_s=0.5 * step_s
        )
        mid = rates(system, halfway, between, occupied=occupied)
        sixth = step_s / 6
        for weight, state, there in ((1, before, now), (4, halfway, mid), (1, after, then)):
            net, gross = over_edge_w(system, state, occupied, now=there)
            self.net += sixth * weight * net
            self.gross += sixth * weight * gross
        water = now.sheet.water_kg_m2_s + 4 * mid.sheet.water_kg_m2_s + then.sheet.water_kg_m2_s
        self.gone += sixth * (water * occupied).sum(axis=1)

    def errors_frac(self, end: State) -> tuple[Array, Array]:
        """Return the errors of heat (of all that flowed) and of water (of all there was)."""
        gained = stored_j(self.system, end, self.occupied) - stored_j(
            self.system, self.start, self.occupied
        )
        held = (self.start.water_kg_m2 * self.occupied).sum(axis=1)
        lost = held - (end.water_kg_m2 * self.occupied).sum(axis=1)
        heat = (gained - self.net) / np.maximum(self.gross, 1.0)
        return heat, (lost - self.gone) / np.maximum(held, 1e-6)
