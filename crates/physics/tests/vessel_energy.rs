//! Stored energy, venting and the shell of a receiver against library values and a published
//! standard. Each check names its source and how it is known.

mod air_support;

use air_support::{near, near_rel, table};
use physics::flow::orifice_area;
use physics::quantity::{AbsolutePressure, CUBIC_FOOT_M3, GaugePressure, PSI_PA, Temperature};
use physics::validity::Answer;
use physics::vessel::*;

/// Joule in one foot pound-force.
const FOOT_POUND_J: f64 = 1.355_817_948;
const POUND_KG: f64 = 0.453_592_37;

fn pa(p: f64) -> AbsolutePressure {
    AbsolutePressure::new(p)
}

/// ASME PCC-2–2008, Article 5.1, Mandatory Appendices II–III (formula published; numbers computed).
/// The publication prints the exponent as 0.286, which gives 0.06…0.08 % more; its TNT and
/// distances are computed from that.
#[test]
fn asme_pcc_2() -> Answer<()> {
    for row in table(include_str!("data/vessel_stored_energy.csv")) {
        let atmosphere = pa(101_000.0);
        let p = GaugePressure::new(row.num("p_gauge_Pa")).absolute(atmosphere);
        near("Pa", p.si(), row.num("p_abs_Pa"), 1e-9);
        let energy = stored_energy_j(p, row.num("V_m3"), atmosphere)?;
        near_rel("J", energy, row.num("E_J_exact"), 1e-9);
        near_rel("J", energy, row.num("E_J_0.286"), 8e-4);
        let printed = row.num("E_J_0.286");
        near_rel("kg", tnt_equivalent_kg(printed)?, row.num("TNT_kg"), 1e-9);
        let once = scaled_distance_m(printed, DistanceRule::Pcc2Of2008)?;
        near_rel("m", once, row.num("R_m_20"), 1e-9);
        let twice = scaled_distance_m(printed, DistanceRule::Pcc2Article501)?;
        near_rel("m", twice, row.num("R_m_20_2TNT"), 1e-9);
    }
    Ok(())
}

/// The same in US units (computed): 164.7 psia, 35.3147 ft³: 1 044 747.49 ft lbf. The print takes
/// 0.286, hence 0.1 %. Its two constants for TNT disagree: 1 488 617 ft lbf/lb, which gives
/// 0.701 824 lb, is 4.3 % more than 4 266 920 J/kg, which is used here and gives more TNT, so more
/// distance.
#[test]
fn asme_pcc_2_us() -> Answer<()> {
    let (p, atmosphere) = (pa(164.7 * PSI_PA), pa(14.7 * PSI_PA));
    let energy = stored_energy_j(p, 35.3147 * CUBIC_FOOT_M3, atmosphere)?;
    near_rel("ft lbf", energy / FOOT_POUND_J, 1_044_747.49, 1e-3);
    let pounds = tnt_equivalent_kg(energy)? / POUND_KG;
    near_rel("lb", pounds / 0.701_824_24, 1.0427, 2e-3);
    let us_constant = 1_488_617.0 * FOOT_POUND_J / POUND_KG;
    near_rel(
        "J/kg",
        us_constant / stored_energy::TNT_J_PER_KG,
        1.0428,
        1e-3,
    );
    Ok(())
}

/// ASME PCC-2–2008, Mandatory Appendix III (published): 30 m up to 135.5 MJ, 60 m up to 271 MJ, no
/// formula above.
#[test]
fn distance_steps() -> Answer<()> {
    let rule = DistanceRule::Pcc2Of2008;
    near("m", test_distance_m(1.0e6, rule)?, 30.0, 0.0);
    near(
        "m",
        test_distance_m(135.6e6, rule)?,
        20.0 * (135.6_f64 / 4.266_920).cbrt(),
        1e-9,
    );
    near(
        "m",
        test_distance_m(100.0e6, rule)?,
        20.0 * (100.0_f64 / 4.266_920).cbrt(),
        1e-9,
    );
    assert!(test_distance_m(271.1e6, rule).is_err());
    Ok(())
}

/// scipy 1.16.3 (library): choked part in closed form, the whole by integration.
#[test]
fn blowdown() -> Answer<()> {
    for row in table(include_str!("data/vessel_blowdown.csv")) {
        let vent = Vent {
            volume_m3: row.num("V_m3"),
            area_m2: orifice_area(row.num("d_m"))?,
            discharge_coefficient: row.num("Cd"),
            atmosphere: pa(row.num("p_atm_Pa")),
        };
        let (p0, t0) = (pa(row.num("p0_Pa")), Temperature::new(row.num("T0_K")));
        near_rel("τ", vent.time_constant_s(t0)?, row.num("tau_s"), 1e-9);
        let choke_end = row.num("p_choke_end_Pa");
        near_rel(
            "p*",
            vent.atmosphere.si() / physics::flow::critical_pressure_ratio(),
            choke_end,
            1e-9,
        );
        let end = pa(row.num("p_end_Pa"));
        let choked_to = pa(end.si().max(choke_end));
        for (expansion, choked, full) in [
            (Expansion::Isothermal, "t_iso_choked_s", "t_iso_full_s"),
            (Expansion::Adiabatic, "t_adiab_choked_s", "t_adiab_full_s"),
        ] {
            near_rel(
                choked,
                vent.time_s(p0, t0, choked_to, expansion)?,
                row.num(choked),
                1e-8,
            );
            near_rel(
                full,
                vent.time_s(p0, t0, end, expansion)?,
                row.num(full),
                1e-6,
            );
        }
    }
    Ok(())
}

/// To the atmosphere itself the time is finite, and only a little longer than to 10 Pa above.
#[test]
fn venting_ends() -> Answer<()> {
    let vent = Vent {
        volume_m3: 0.018,
        area_m2: orifice_area(0.004)?,
        discharge_coefficient: 0.65,
        atmosphere: pa(101_325.0),
    };
    let t0 = Temperature::from_celsius(60.0);
    for expansion in [Expansion::Isothermal, Expansion::Adiabatic] {
        let whole = vent.time_s(pa(9.0e5), t0, pa(101_325.0), expansion)?;
        let nearly = vent.time_s(pa(9.0e5), t0, pa(101_335.0), expansion)?;
        assert!(nearly < whole && whole < nearly * 1.01, "{nearly} {whole}");
        assert!(
            vent.time_s(pa(9.0e5), t0, pa(101_000.0), expansion)
                .is_err()
        );
    }
    Ok(())
}

/// Surface of closed upright cylinders (derived) against 6 V^(2/3): within 10 % for heights of one
/// to four diameters, exact for a cube.
#[test]
fn receiver_surface() -> Answer<()> {
    near("cube", receiver_area_m2(1.0)?, 6.0, 1e-12);
    near("cube of 2 m", receiver_area_m2(8.0)?, 24.0, 1e-12);
    for height in [1.0, 2.0, 3.0, 4.0] {
        let quarter_pi = core::f64::consts::FRAC_PI_4;
        let (volume, area) = (
            quarter_pi * height,
            4.0 * quarter_pi * height + 2.0 * quarter_pi,
        );
        near_rel("cylinder", receiver_area_m2(volume)?, area, 0.1);
    }
    near("W/K", receiver_ua_w_k(RECEIVER_U_W_M2K, 1.0)?, 30.0, 1e-12);
    Ok(())
}
