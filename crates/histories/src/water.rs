//! Where the water goes in one minute, and the dew point after the dryer.
//!
//! Must not know: readers, gauges, files.

use crate::moist_air::{
    AIR_KJ_PER_KG_K, ANR_KG_PER_M3, content_kg_per_kg, saturated_heat_kj_per_kg,
    saturated_kg_per_kg,
};
use crate::severities::Severities;
use crate::simulate::Station;
use crate::weather::Air;

impl Station<'_> {
    /// One minute of water: what is drawn in, what falls out where, what goes on.
    pub(crate) fn follow_the_water(&mut self, air: &Air, sev: &Severities) {
        let plant = self.plant;
        let atmosphere_bar = air.atmosphere_hpa / 1000.0;
        let bar_a = self.mean_pressure() + atmosphere_bar;
        let drawn = content_kg_per_kg(air.vapour_hpa, air.atmosphere_hpa);
        let (mut dry_kg, mut vapour_kg, mut liquid_kg, mut warmth) = (0.0, 0.0, 0.0, 0.0);
        for (i, (state, machine)) in self.machines.iter().zip(&plant.machines).enumerate() {
            let kg = state.duty * state.capacity * ANR_KG_PER_M3;
            let left = drawn.min(saturated_kg_per_kg(state.outlet_c, bar_a));
            let fallen = kg * (drawn - left);
            let drained = fallen * machine.truth.water_caught * (1.0 - sev.machines[i].blocked);
            self.water.drawn_in += kg * drawn;
            self.water.package_drains += drained;
            dry_kg += kg;
            vapour_kg += kg * left;
            liquid_kg += fallen - drained;
            warmth += kg * state.outlet_c;
        }
        if dry_kg <= 0.0 {
            return;
        }
        // The vessel cools towards the room; half as much again for the heat of the vapour.
        let receiver = &plant.receiver;
        let heat_kw_per_k = dry_kg / 60.0 * AIR_KJ_PER_KG_K * 1.5;
        let inlet_c = warmth / dry_kg;
        let cooled = (-receiver.wall_kw_per_k / heat_kw_per_k).exp();
        let vessel_c = self.room_c + (inlet_c - self.room_c) * cooled;
        let vessel = (vapour_kg / dry_kg).min(saturated_kg_per_kg(vessel_c, bar_a));
        liquid_kg += vapour_kg - dry_kg * vessel;
        let caught = liquid_kg * receiver.water_caught;
        let mut onward_kg = liquid_kg - caught;
        let drained = caught * (1.0 - sev.receiver_blocked);
        self.water.receiver_held += caught - drained;
        let mut out = drained;
        if sev.receiver_blocked <= 0.0 {
            out += self.water.receiver_held;
            self.water.receiver_held = 0.0;
        }
        let over = (self.water.receiver_held - receiver.holds_l).max(0.0);
        self.water.receiver_held -= over;
        onward_kg += over;
        self.water.receiver_drain += out;
        self.collected_l += out;

        // Air that is lost before the dryer takes its vapour with it.
        let delivered = dry_kg / ANR_KG_PER_M3;
        let onward = (self.header_flow / delivered).clamp(0.0, 1.0);
        self.water.vapour += (1.0 - onward) * dry_kg * vessel;
        let header_kg = onward * dry_kg;
        self.dew_point_c = self.dew_point(header_kg / 60.0, vessel_c, vessel, bar_a, sev);
        let dried = vessel.min(saturated_kg_per_kg(self.dew_point_c, bar_a));
        let at_dryer = header_kg * (vessel - dried) + onward_kg;
        let dryer_out = at_dryer * plant.dryer.water_caught * (1.0 - sev.dryer_blocked);
        self.water.dryer_drain += dryer_out;
        self.water.header_liquid += at_dryer - dryer_out;
        self.water.vapour += header_kg * dried;
    }

    /// Pressure dew point after the dryer, °C.
    fn dew_point(&self, kg_s: f64, in_c: f64, content: f64, bar_a: f64, sev: &Severities) -> f64 {
        let dryer = &self.plant.dryer;
        let inlet = AIR_KJ_PER_KG_K * in_c + content * (2500.0 + 1.86 * in_c);
        let rated_kg_s = dryer.rated_m3_min * 1.19 / 60.0;
        let rated_kw = rated_kg_s
            * (saturated_heat_kj_per_kg(35.0, 8.013)
                - saturated_heat_kj_per_kg(dryer.dew_point_c, 8.013));
        let warm_room = 1.0 - dryer.capacity_per_k * (self.room_c - 25.0);
        let able_kw = rated_kw * dryer.capacity * warm_room * (1.0 - sev.dryer);
        let light_c = dryer.true_dew_point_c;
        let needed_kw = |c: f64| kg_s * (inlet - saturated_heat_kj_per_kg(c, bar_a));
        let load = (needed_kw(light_c) / able_kw).max(0.0);
        if load <= 1.0 {
            return light_c + 1.2 * load * load;
        }
        let (mut low, mut high) = (light_c, in_c);
        for _ in 0..24 {
            let middle = 0.5 * (low + high);
            if needed_kw(middle) > able_kw {
                low = middle;
            } else {
                high = middle;
            }
        }
        high + 1.2
    }
}
