//! What units convert to, what they refuse, and that writing and reading are inverse.

use proptest::prelude::*;

use super::*;

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-9)
}

/// Factors: the SI brochure (BIPM, 9th edition, 2019) and NIST SP 811 (2008), appendix B; normal
/// conditions: DIN 1343 (1990); reference atmosphere ANR: ISO 8778 (2003).
#[test]
fn units_convert_as_published() {
    let cases: &[(Kind, &str, f64)] = &[
        (Kind::Temperature, "0 degC", 273.15),
        (Kind::Temperature, "-2 degC", 271.15),
        (Kind::Temperature, "212 degF", 373.15),
        (Kind::Temperature, "-40 °F", 233.15),
        (Kind::Temperature, "300 K", 300.0),
        (Kind::TemperatureDifference, "18 degF_diff", 10.0),
        (Kind::TemperatureDifference, "8 K", 8.0),
        (Kind::GaugePressure, "7.5 bar(g)", 7.5e5),
        (Kind::GaugePressure, "7.5bar(g)", 7.5e5),
        (Kind::GaugePressure, "100 psig", 689_475.729_316_8),
        (Kind::AbsolutePressure, "14.5 psia", 99_973.980_750_936),
        (Kind::AbsolutePressure, "1013.25 hPa(a)", 101_325.0),
        (Kind::PressureDifference, "12 inH2O", 2_989.066_92),
        (Kind::PressureDifference, "250 mbar", 25_000.0),
        (Kind::Power, "33.4 kW", 33_400.0),
        (Kind::Power, "40 hp", 29_827.994_863_28),
        (Kind::Energy, "1.5 MWh", 1_500.0),
        (Kind::Humidity, "60 %", 0.6),
        (Kind::Humidity, "60%", 0.6),
        (Kind::Percent, "85 %", 85.0),
        (Kind::Hours, "6000 h", 6_000.0),
        (Kind::Duration, "2 min", 120.0),
        (Kind::Speed, "1480 rpm", 1_480.0),
        (Kind::Litres, "14 l", 14.0),
        (Kind::Volume, "1000 L", 1.0),
        (Kind::Volume, "100 ft3", 2.831_684_659_2),
        (Kind::Length, "2 in", 0.0508),
        (Kind::Length, "160 mm", 0.16),
        (Kind::Mass, "10 lb", 4.535_923_7),
        (Kind::FreeAir, "5.3 m3/min", 5.3 / 60.0),
        (Kind::FreeAir, "5.3 m³/min", 5.3 / 60.0),
        (Kind::FreeAir, "100 cfm", 0.047_194_744_32),
        (Kind::ReferenceAir, "6 m3/min", 0.1),
        (Kind::ReferenceAir, "6 m3/min(ANR)", 0.1),
        // 1 Nm3 holds 1.01325 · 293.15 / 273.15 m3(ANR).
        (Kind::ReferenceAir, "3600 Nm3/h", 1.087_440_005_5),
        (Kind::Ventilation, "9 m3/s", 9.0),
        (Kind::Temperature, "\u{2212}2 degC", 271.15),
        (Kind::Power, "3.34e1 kW", 33_400.0),
    ];
    for (kind, text, si) in cases {
        let read = quantity(*kind, text).map_err(|p| p.what);
        assert!(
            read.as_ref()
                .is_ok_and(|r| (r - si).abs() <= 1e-8 * si.abs()),
            "{text}: {read:?}"
        );
    }
}

#[test]
fn what_is_no_quantity_says_why_and_how_to_mend_it() {
    let cases: &[(Kind, &str, &str, &str)] = &[
        (
            Kind::GaugePressure,
            "7.5 bar",
            "`bar` does not say whether it is gauge or absolute",
            "write `bar(g)` for what a gauge shows; above vacuum it would be `bar(a)`",
        ),
        (
            Kind::AbsolutePressure,
            "1013 hPa",
            "`hPa` does not say whether it is gauge or absolute",
            "write `hPa(a)` above vacuum; what a gauge shows would be `hPa(g)`",
        ),
        (
            Kind::GaugePressure,
            "7.5 bar(a)",
            "`bar(a)` is absolute, and a gauge pressure is expected",
            "write what a gauge shows: `bar(g)`, `kPa(g)`, `MPa(g)` or `psi(g)`",
        ),
        (
            Kind::PressureDifference,
            "0.2 bar(g)",
            "`bar(g)` is a pressure, and a pressure difference is expected",
            "a difference is neither gauge nor absolute: write `bar`",
        ),
        (
            Kind::TemperatureDifference,
            "8 degC",
            "`degC` is a temperature, and a temperature difference is expected",
            "write `K`: a difference of 1 degC is 1 K",
        ),
        (
            Kind::TemperatureDifference,
            "8 °F",
            "`°F` is a temperature, and a temperature difference is expected",
            "write `degF_diff`",
        ),
        (
            Kind::Temperature,
            "20 C",
            "`C` is not a unit of temperature",
            "did you mean `degC`?",
        ),
        (
            Kind::Temperature,
            "20",
            "the unit is missing: a temperature is expected",
            "write `degC`, `degF` or `K`",
        ),
        (
            Kind::Power,
            "7.5 bar(g)",
            "`bar(g)` is a unit of gauge pressure, and a power is expected",
            "write `kW`, `W`, `MW` or `hp`",
        ),
        (
            Kind::Power,
            "7.5 kw",
            "`kw` is not a unit of power",
            "did you mean `kW`? A power may carry `kW`, `W`, `MW` or `hp`",
        ),
        (
            Kind::FreeAir,
            "5 Nm3/h",
            "`Nm3/h` is referred to a standard state, and a flow of free air is expected",
            "write it at the intake's own pressure and temperature: `m3/min`, `m3/h`, `m3/s`, `L/s`, `L/min` or `cfm`",
        ),
        (
            Kind::ReferenceAir,
            "5 scfm",
            "`scfm` does not say which standard state it is referred to",
            "write `m3/min(ANR)`, `m3/h(ANR)`, `m3/s(ANR)`, `L/s(ANR)`, `L/min(ANR)`, `cfm(ANR)`, `Nm3/h` or `Nm3/min`",
        ),
        (
            Kind::GaugePressure,
            "7,5 bar(g)",
            "`7,5 bar(g)` has a comma in its number",
            "write a decimal point, and nothing between thousands: `7.5`, `1000`",
        ),
        (
            Kind::Volume,
            "1 000 L",
            "`1 000 L` has a gap in its number",
            "write nothing between thousands: `1000`, not `1 000`",
        ),
        (
            Kind::Volume,
            "1.2.3 L",
            "`1.2.3` is not a number that can be used",
            "write it as `1.5 L`",
        ),
        (
            Kind::Volume,
            "1e999 L",
            "`1e999` is not a number that can be used",
            "write it as `1.5 L`",
        ),
        (
            Kind::Volume,
            "NaN L",
            "a volume is expected, found `NaN L`",
            "write it as `1.5 L`",
        ),
        (
            Kind::Volume,
            "inf L",
            "a volume is expected, found `inf L`",
            "write it as `1.5 L`",
        ),
        (
            Kind::Volume,
            "",
            "a volume is expected, found ``",
            "write it as `1.5 L`",
        ),
        (
            Kind::Humidity,
            "0.6 %",
            "a relative humidity of 0.6 % looks like a share",
            "write per cent: `60` for 0.6",
        ),
        (
            Kind::Hours,
            "5 hrs",
            "`hrs` is not a unit of number of hours",
            "write `h`",
        ),
    ];
    for (kind, text, what, hint) in cases {
        let problem = quantity(*kind, text).expect_err(text);
        assert_eq!(
            (problem.what.as_str(), problem.hint.as_deref()),
            (*what, Some(*hint)),
            "{text}"
        );
    }
    let big = quantity(Kind::Power, "1e308 kW").expect_err("beyond f64");
    assert_eq!(big.what, "`1e308 kW` is too large a number");
}

#[test]
fn every_unit_is_found_under_its_own_name_and_no_other_kind_takes_it_unseen() {
    for &kind in Kind::ALL {
        for u in kind.units() {
            assert_eq!(unit(kind, u.name).as_ref(), Ok(u));
            assert!(u.factor > 0.0 && u.factor.is_finite());
        }
    }
    for (a, b) in [
        (Kind::GaugePressure, Kind::AbsolutePressure),
        (Kind::GaugePressure, Kind::PressureDifference),
        (Kind::AbsolutePressure, Kind::PressureDifference),
    ] {
        for u in a.units() {
            assert!(unit(b, u.name).is_err(), "{} as {b:?}", u.name);
        }
    }
}

#[test]
fn numbers_in_messages_are_short() {
    for (value, text) in [
        (7.5, "7.5"),
        (0.0, "0"),
        (-0.0, "0"),
        (92.000_000_01, "92"),
        (0.000_123_456_78, "0.000123457"),
        (123_456.7, "123457"),
        (1000.0, "1000"),
        (9.999_999_9, "10"),
        (-33.4, "-33.4"),
        (1.0e20, "1.00000e20"),
    ] {
        assert_eq!(digits(value), text);
    }
    assert_eq!(show(Kind::GaugePressure, 7.5e5), "7.5 bar(g)");
    assert_eq!(show(Kind::Temperature, 365.15), "92 degC");
    assert_eq!(show(Kind::Humidity, 0.6), "60 %");
}

proptest! {
    /// Writing a value in any unit and reading it gives the value again.
    #[test]
    fn writing_and_reading_are_inverse(number in -1.0e6..1.0e6_f64, kind in 0..Kind::ALL.len(), pick in 0..16_usize) {
        let kind = Kind::ALL[kind];
        let unit = kind.units()[pick % kind.units().len()];
        let text = format!("{number} {}", unit.name);
        match quantity(kind, &text) {
            Ok(si) => {
                prop_assert!(close(si, unit.to_si(number)));
                prop_assert!((unit.from_si(si) - number).abs() <= 1e-6 * number.abs().max(1.0));
            }
            Err(problem) => prop_assert!(kind == Kind::Humidity && number <= 1.0, "{text}: {problem:?}"),
        }
    }

    /// What a message shows can be read again, to six digits.
    #[test]
    fn what_a_message_shows_can_be_read(number in 1.01..1.0e6_f64, kind in 0..Kind::ALL.len()) {
        let kind = Kind::ALL[kind];
        let si = kind.units()[0].to_si(number);
        let again = quantity(kind, &show(kind, si)).map_err(|p| TestCaseError::fail(p.what))?;
        prop_assert!((kind.units()[0].from_si(again) - number).abs() <= 1e-5 * number);
    }

    /// Any text gives a finite number or a problem.
    #[test]
    fn any_text_gives_a_finite_number_or_a_problem(text in "\\PC{0,24}|[-+0-9.,eE]{0,12} ?[A-Za-z0-9/()%]{0,8}", kind in 0..Kind::ALL.len()) {
        match quantity(Kind::ALL[kind], &text) {
            Ok(si) => prop_assert!(si.is_finite()),
            Err(problem) => prop_assert!(!problem.what.is_empty()),
        }
    }

    /// Any number is finite, whatever the text.
    #[test]
    fn any_number_is_finite(bits in any::<u64>()) {
        let text = f64::from_bits(bits).to_string();
        prop_assert_eq!(number_of(&text).is_some(), f64::from_bits(bits).is_finite());
    }
}
