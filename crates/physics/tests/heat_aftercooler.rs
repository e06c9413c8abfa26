//! The aftercooler's march against its dry limit, real-gas enthalpies and the approaches that it is
//! said to give.

mod air_support;

use air_support::{near, near_rel, table};
use physics::air::{Formulation, dry_air_mass_flow};
use physics::heat::aftercooler::*;
use physics::quantity::{AbsolutePressure, FreeAir, Temperature, TemperatureDifference};
use physics::validity::Answer;

const SEA: AbsolutePressure = AbsolutePressure::new(101_325.0);

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}
fn cooler(transfer_units: f64, hot_side_share: f64, cool: f64) -> Cooler {
    Cooler {
        transfer_units,
        hot_side_share,
        cooling_air: celsius(cool),
    }
}

/// Dry air: ε = 1 − e^(−N), whatever the share (closed form).
#[test]
fn dry_limit() -> Answer<()> {
    let air = HotAir {
        temperature: celsius(80.0),
        humidity_ratio: 0.0,
        pressure: AbsolutePressure::from_bar(8.0),
    };
    for n in [0.1_f64, 0.5, 1.0, 2.0, 3.0, 5.0] {
        for share in [0.3, 0.5, 0.7] {
            let out = march(air, cooler(n, share, 20.0))?;
            let want = 20.0 + 60.0 * (-n).exp();
            near(&format!("N {n}"), out.temperature.celsius(), want, 1e-9);
            near("water", out.liquid, 0.0, 0.0);
        }
    }
    // Air that is cooler than the cooling air is warmed.
    let cold = HotAir {
        temperature: celsius(5.0),
        ..air
    };
    let out = march(cold, cooler(1.0, 0.5, 20.0))?;
    near(
        "warmed",
        out.temperature.celsius(),
        20.0 - 15.0 * (-1.0_f64).exp(),
        0.02,
    );
    Ok(())
}

/// CoolProp 8.0.0 and PsychroLib 2.5.0 enthalpies (library, computed). The table's duty ends at
/// saturation; the march may leave a little less vapour than that, so the transfer units are chosen
/// for the outlet temperature and the heat is compared within 1 % of the ideal mixture, whose
/// enthalpies this crate uses. Real air gives up 0.3 to 0.9 % more (its specific heat rises with
/// pressure), so against it 1.2 % is allowed: 1.0 % off at 11 bar(a).
#[test]
fn duty_with_condensation() -> Answer<()> {
    for row in table(include_str!("data/heat_aftercooler.csv")) {
        let w = Formulation::REAL.humidity_ratio(celsius(row.num("t_in_c")), row.num("rh"), SEA)?;
        let flow = FreeAir::from_m3_per_min(row.num("fad_m3_h") / 60.0);
        let mass = dry_air_mass_flow(flow, celsius(row.num("t_in_c")), w, SEA)?;
        let air = HotAir {
            temperature: celsius(row.num("t_hot_c")),
            humidity_ratio: w,
            pressure: AbsolutePressure::new(101_325.0 + 1.0e5 * row.num("gauge_bar")),
        };
        let cool = celsius(row.num("t_out_c") - 10.0);
        for share in [0.3, 0.5, 0.7] {
            let n = transfer_units_at(air, cool, TemperatureDifference::new(10.0), share)?;
            let out = march(
                air,
                Cooler {
                    transfer_units: n,
                    hot_side_share: share,
                    cooling_air: cool,
                },
            )?;
            near(
                "outlet",
                out.temperature.celsius(),
                row.num("t_out_c"),
                1e-4,
            );
            let duty = out.heat * mass.si();
            near_rel(
                &format!("ideal, share {share}"),
                duty,
                row.num("ideal_w"),
                1e-2,
            );
            near_rel(
                &format!("real, share {share}"),
                duty,
                row.num("real_w"),
                1.2e-2,
            );
            // Latent heat is a third to a half of the duty: the dry duty is far off.
            assert!(row.num("dry_w") < 0.75 * duty);
        }
    }
    Ok(())
}

/// 8 K of rated dry approach (air end 80 °C, cooling air 20 °C, 8 bar(a)): the true approach is
/// 9–12 K at 20 °C and 60 %, 13–20 K at 35 °C and 80 % over hot-side shares of 0.3 to 0.7 (the
/// design statement that the module repeats). It holds when the air end rises with the weather, with
/// 12.5 K rounded up at a share of 0.7; with the air end kept at 80 °C the humid day gives 11–16 K.
#[test]
fn approach_on_a_mild_and_on_a_humid_day() -> Answer<()> {
    let p = AbsolutePressure::from_bar(8.0);
    let dry = HotAir {
        temperature: celsius(80.0),
        humidity_ratio: 0.0,
        pressure: p,
    };
    for share in [0.3, 0.4, 0.5, 0.6, 0.7] {
        let n = transfer_units_at(dry, celsius(20.0), TemperatureDifference::new(8.0), share)?;
        near_rel("N", n, 7.5_f64.ln(), 1e-12);
        for (day, rh, low, high) in [(20.0, 0.6, 9.0, 12.0), (35.0, 0.8, 12.5, 20.0)] {
            let w = Formulation::REAL.humidity_ratio(celsius(day), rh, SEA)?;
            let air = HotAir {
                humidity_ratio: w,
                temperature: celsius(60.0 + day),
                ..dry
            };
            let out = march(air, cooler(n, share, day))?;
            let approach = out.temperature.celsius() - day;
            assert!(
                (low..=high).contains(&approach),
                "{approach} at {day}, share {share}"
            );
        }
        let w = Formulation::REAL.humidity_ratio(celsius(35.0), 0.8, SEA)?;
        let out = march(
            HotAir {
                humidity_ratio: w,
                ..dry
            },
            cooler(n, share, 35.0),
        )?;
        assert!((10.9..=16.5).contains(&(out.temperature.celsius() - 35.0)));
    }
    Ok(())
}

/// First law and water balance from inlet to outlet.
#[test]
fn the_balance_closes() -> Answer<()> {
    let w = Formulation::REAL.humidity_ratio(celsius(35.0), 0.8, SEA)?;
    let air = HotAir {
        temperature: celsius(95.0),
        humidity_ratio: w,
        pressure: AbsolutePressure::from_bar(8.0),
    };
    let out = march(air, cooler(2.0, 0.5, 35.0))?;
    near("water", out.humidity_ratio + out.liquid, w, 1e-15);
    let start = physics::air::enthalpy_moist_air(air.temperature, w, 0.0)?;
    let end = physics::air::enthalpy_moist_air(out.temperature, out.humidity_ratio, out.liquid)?;
    near_rel("heat", out.heat, start - end, 1e-9);
    let most = Formulation::REAL.saturated_humidity_ratio(out.temperature, air.pressure)?;
    assert!(
        out.humidity_ratio <= most * (1.0 + 1e-9),
        "no more vapour than the air can hold"
    );
    Ok(())
}

/// SciPy 1.17.1 with CoolProp 8.0.0 (computed; `data/scripts/aftercooler_march.py`): the same film model by an
/// adaptive solver in 400 stretches, with the library's real-gas saturation.
#[test]
fn the_march_is_that_of_a_general_solver() -> Answer<()> {
    for row in table(include_str!("data/heat_aftercooler_march.csv")) {
        let air = HotAir {
            temperature: celsius(row.num("t_in_c")),
            humidity_ratio: row.num("w_in"),
            pressure: AbsolutePressure::new(row.num("p_pa")),
        };
        let cool = row.num("t_cool_c");
        let out = march(air, cooler(row.num("units"), row.num("share"), cool))?;
        let (t, want) = (out.temperature.celsius(), row.num("t_out_c"));
        near(&format!("outlet at {cool} °C"), t, want, 0.03);
        near_rel("vapour", out.humidity_ratio, row.num("w_out"), 4e-3);
    }
    Ok(())
}
