//! Which way the forward model must move when one thing changes, and by how much where that is
//! known: fouling, slip, weather, pressure, controls, fans, filters, dryers, vessels.

mod forward_support;

use forward_support::{
    day, example, machine, oil, one_machine, random_conditions, random_health, random_station,
    state,
};
use physics::machine::package::{specific_power, worth_of_air_kwh_per_m3};
use physics::quantity::{GaugePressure, Power, ReferenceAir, Temperature, TemperatureDifference};
use station::forward::{Conditions, Health, MachineHealth, MachineState, Running, expect};
use station::model::{Asset, Control, DryerKind, Fan, Known, MachineKind, Station};

const NEW: MachineHealth = MachineHealth::NEW;

/// Random stations, each with random weather and every running screw's index.
fn screws(mut law: impl FnMut(&Station, &Health, &Conditions, usize)) {
    let mut met = 0;
    for seed in 0..150 {
        let station = random_station(seed);
        let conditions = random_conditions(&station, seed);
        let health = random_health(&station, seed);
        for (i, m) in station.machines.iter().enumerate() {
            if m.kind == MachineKind::Screw && conditions.machines[i].duty > 0.0 {
                met += 1;
                law(&station, &health, &conditions, i);
            }
        }
    }
    assert!(met > 100, "{met}");
}

/// A machine's state in the air of its own room; the room is read, so that nothing else moves it.
fn with(
    station: &Station,
    health: &Health,
    conditions: &Conditions,
    i: usize,
    change: impl Fn(&mut MachineHealth),
) -> MachineState {
    let mut health = health.clone();
    change(&mut health.machines[i]);
    let room = conditions.room.unwrap_or(conditions.ambient);
    let conditions = Conditions {
        room: Some(room),
        demand: None,
        ..conditions.clone()
    };
    state(station, &health, &conditions).machines[i]
        .clone()
        .expect("it runs")
}

fn same(what: &str, a: f64, b: f64) {
    assert!(
        (a - b).abs() <= 1e-9 * a.abs().max(b.abs()),
        "{what}: {a}, {b}"
    );
}

/// A worn belt, a loaded separator, a choked intake, a leaking air end: what each costs.
#[test]
fn what_each_part_costs() {
    screws(|station, health, conditions, i| {
        let clean = with(station, health, conditions, i, |_| ());
        let slip = with(station, health, conditions, i, |m| m.belt -= 0.05);
        let constant = matches!(station.machines[i].cooling.fan, Fan::Constant);
        // A fan that follows the oil follows its heat too: only the motor's share stays.
        let alike = |what: &str, m: &MachineState| {
            let off = (m.power.si() / clean.power.si() - 1.0).abs();
            assert!(off < if constant { 1e-12 } else { 0.02 }, "{what}: {off}");
        };
        alike("slip and power", &slip);
        let k_b = health.machines[i].belt;
        same(
            "slip and air",
            slip.free_air / clean.free_air,
            (k_b - 0.05) / k_b,
        );
        assert!(
            slip.heat.surface > clean.heat.surface,
            "slip warms the surroundings"
        );

        let loaded = with(station, health, conditions, i, |m| m.separator_drop += 2.0);
        assert!(loaded.power > clean.power);
        same(
            "separator and air",
            loaded.free_air.si(),
            clean.free_air.si(),
        );
        assert!(loaded.air_end > clean.air_end && loaded.oil_dew_point > clean.oil_dew_point);

        let choked = with(station, health, conditions, i, |m| m.intake_drop += 2.0);
        assert!(choked.power < clean.power && choked.free_air < clean.free_air);
        let cost = |m: &MachineState| m.power.si() / m.free_air.si();
        assert!(
            cost(&choked) > cost(&clean),
            "a choked intake costs more for each m3"
        );

        let leaking = with(station, health, conditions, i, |m| m.delivery -= 0.1);
        alike("delivery and power", &leaking);
        assert!(leaking.free_air < clean.free_air);
    });
}

/// Fouling makes oil and outlet hotter, never colder; hotter air too. Humidity leaves more water.
#[test]
fn fouling_and_weather_make_it_hotter_and_wetter() {
    screws(|station, health, conditions, i| {
        let clean = with(station, health, conditions, i, |_| ());
        let hot = |m: &MachineState| oil(m) >= oil(&clean) - 1e-6;
        let fouled = with(station, health, conditions, i, |m| m.oil_cooler *= 0.8);
        let mat = with(station, health, conditions, i, |m| m.fan *= 0.8);
        assert!(hot(&fouled) && hot(&mat));
        if matches!(station.machines[i].cooling.fan, Fan::Constant) {
            assert!(
                mat.outlet > clean.outlet,
                "the fan cools the air too, in any weather"
            );
        }
        let after = with(station, health, conditions, i, |m| m.aftercooler *= 0.8);
        assert!(after.outlet > clean.outlet);
        same("aftercooler and oil", oil(&after), oil(&clean));

        let mut warm = conditions.clone();
        let by = TemperatureDifference::new(5.0);
        warm.room = Some(conditions.room.unwrap_or(conditions.ambient) + by);
        assert!(hot(&with(station, health, &warm, i, |_| ())));

        let mut wet = conditions.clone();
        wet.humidity = (conditions.humidity + 0.1).min(1.0);
        let wet = with(station, health, &wet, i, |_| ());
        if conditions.humidity < 0.95 {
            assert!(wet.oil_dew_point > clean.oil_dew_point);
            assert!(wet.humidity_ratio > clean.humidity_ratio);
            assert!(wet.liquid >= clean.liquid - 1e-9);
        }
    });
}

/// More pressure takes more power and never gives more air.
#[test]
fn pressure_costs_power() {
    screws(|station, health, conditions, i| {
        let mut higher = conditions.clone();
        let p = conditions.machines[i].pressure;
        higher.machines[i].pressure = GaugePressure::from_bar(p.bar() + 0.5);
        let low = with(station, health, conditions, i, |_| ());
        let high = with(station, health, &higher, i, |_| ());
        assert!(high.power > low.power && high.free_air <= low.free_air);
    });
}

/// A header below the minimum-pressure valve's setting no longer lowers the power.
#[test]
fn the_minimum_pressure_valve_keeps_the_power_up() {
    let station = one_machine(|_| ());
    let power = |bar: f64| {
        let mut c = day(&station, 20.0, 0.6, 1.0);
        c.machines[0].pressure = GaugePressure::from_bar(bar);
        machine(&station, NEW, &c).power.kw()
    };
    same("below the valve", power(2.0), power(3.0));
    assert!(power(6.0) > power(3.0) + 1.0);
}

/// A fouled oil cooler is invisible in cool weather: within 0.3 K where the oil would run 15 K below
/// what the thermostat holds. Above, it shows nearly whole.
#[test]
fn the_thermostat_hides_a_fouled_cooler() {
    let station = one_machine(|_| ());
    let held = station.machines[0].oil.held_at.value.celsius();
    let (mut hidden, mut shown) = (0, 0);
    for tenth in -150..400 {
        let c = day(&station, f64::from(tenth) * 0.1, 0.6, 1.0);
        let clean = machine(&station, NEW, &c);
        let fouled = machine(
            &station,
            MachineHealth {
                oil_cooler: 0.9,
                ..NEW
            },
            &c,
        );
        let rise = oil(&fouled) - oil(&clean);
        assert!(rise >= -1e-9);
        let free = |m: &MachineState| m.free_oil_temperature.expect("a screw").celsius();
        if free(&fouled) < held - 15.0 {
            assert!(
                rise < 0.3 && (oil(&clean) - held).abs() < 0.3,
                "{rise} at {tenth}"
            );
            hidden += 1;
        } else if free(&clean) > held + 10.0 {
            assert!(rise > 4.0, "{rise} at {tenth}");
            shown += 1;
        }
    }
    assert!(hidden > 20 && shown > 20, "{hidden} {shown}");
}

/// An on-load reading at half duty is 4–8 K off if the sump's lag is left out (engine.md, 2): what
/// the oil shows at half load of the last quarter of an hour, against what the mean heat alone
/// would give.
#[test]
fn half_duty_is_read_on_load() {
    let station = one_machine(|_| ());
    let c = day(&station, 35.0, 0.5, 0.5);
    let m = machine(&station, NEW, &c);
    let full = machine(&station, NEW, &day(&station, 35.0, 0.5, 1.0));
    // Mean heat: half that of load, half the unloaded input less what its surface gives off.
    let idle = 9.2e3 * 0.8;
    let mean = 0.5 * m.heat.oil + 0.5 * idle;
    let without = 35.0 + mean / m.conductance_w_k;
    let lag = m.free_oil_temperature.expect("a screw").celsius() - without;
    assert!((4.0..=8.0).contains(&lag), "{lag}");
    assert!(oil(&full) > oil(&m), "and full duty is hotter still");
}

/// A saved m³ under load/unload is worth the loaded less the unloaded power, not the whole.
#[test]
fn a_saved_cubic_metre_is_worth_less_than_the_specific_power() {
    screws(|station, health, conditions, i| {
        if !matches!(station.machines[i].control, Control::LoadUnload(_)) {
            return;
        }
        let m = with(station, health, conditions, i, |_| ());
        let worth = worth_of_air_kwh_per_m3(m.power, m.unloaded_power, m.free_air).expect("flow");
        let whole = specific_power(m.power, m.free_air).expect("flow") / 60.0;
        assert!(worth > 0.0 && worth < 0.9 * whole, "{worth} {whole}");
        // It is what the model itself saves: mean input at two duties over the air between them.
        let run = |duty: f64| duty * m.power.kw() + (1.0 - duty) * m.unloaded_power.kw();
        let air = 0.2 * m.free_air.m3_per_min() * 60.0;
        same("worth", worth, (run(0.7) - run(0.5)) / air);
    });
}

fn fan(fan: Fan) -> Station {
    one_machine(|s| s.machines[0].cooling.fan = fan)
}

fn at(celsius: f64) -> Known<Temperature> {
    Known {
        value: Temperature::from_celsius(celsius),
        sigma: 2.0,
        given: true,
    }
}

/// A variable fan holds its oil temperature and slows down in cool weather: a healthy machine then
/// shows a higher outlet approach than with a constant fan.
#[test]
fn a_variable_fan_holds_the_oil_and_lets_the_outlet_rise() {
    let (constant, variable) = (fan(Fan::Constant), fan(Fan::Variable(at(82.0))));
    for room in [5.0, 10.0, 15.0] {
        let a = machine(&constant, NEW, &day(&constant, room, 0.6, 1.0));
        let b = machine(&variable, NEW, &day(&variable, room, 0.6, 1.0));
        assert!((oil(&b) - 82.0).abs() < 2.0, "{} at {room}", oil(&b));
        assert!(
            b.fan_share < 0.9 && b.outlet > a.outlet,
            "{} at {room}",
            b.fan_share
        );
        assert!(b.power < a.power, "a slow fan draws less");
        same(
            "no doubt",
            b.fan_doubt.0.si() + b.fan_doubt.1.si() + 1.0,
            1.0,
        );
    }
    let a = machine(&constant, NEW, &day(&constant, 42.0, 0.6, 1.0));
    let b = machine(&variable, NEW, &day(&variable, 42.0, 0.6, 1.0));
    assert!(b.fan_share > 0.97 && (oil(&a) - oil(&b)).abs() < 0.5);
}

/// A fan of unknown control widens what can be said in cool weather, and not in hot.
#[test]
fn an_unknown_fan_is_doubted_in_cool_weather() {
    let (constant, unknown) = (fan(Fan::Constant), fan(Fan::Unknown));
    let cool = machine(&unknown, NEW, &day(&unknown, 5.0, 0.6, 1.0));
    assert!(
        cool.fan_doubt.0.si() > 1.0 && cool.fan_doubt.1.si() > 1.0,
        "{:?}",
        cool.fan_doubt
    );
    assert!(cool.heat_left_over().abs() < 1e-9);
    let hot = machine(&unknown, NEW, &day(&unknown, 42.0, 0.6, 1.0));
    assert!(
        hot.fan_doubt.0.si() < 0.2 && hot.fan_doubt.1.si() < 0.2,
        "{:?}",
        hot.fan_doubt
    );
    let sure = machine(&constant, NEW, &day(&constant, 42.0, 0.6, 1.0));
    assert!((oil(&hot) - oil(&sure)).abs() < 0.3);
    // The doubt covers both a constant fan and one that holds 80 °C.
    let constant_cool = machine(&constant, NEW, &day(&constant, 5.0, 0.6, 1.0));
    assert!((oil(&cool) - oil(&constant_cool)).abs() <= cool.fan_doubt.0.si() + 1e-6);
}

/// An on/off fan: the outlet follows the fan that was seen, the oil its mean.
#[test]
fn an_on_off_fan_is_seen_at_the_outlet() {
    let station = fan(Fan::OnOff(at(82.0)));
    let mut c = day(&station, 5.0, 0.6, 1.0);
    let unseen = machine(&station, NEW, &c);
    c.machines[0].fan_on = Some(true);
    let on = machine(&station, NEW, &c);
    same("the oil", oil(&on), oil(&unseen));
    assert!(on.outlet < unseen.outlet && unseen.fan_doubt.1.si() > 0.5);
    same(
        "what was seen is not doubted",
        on.fan_doubt.1.si() + 1.0,
        1.0,
    );
}

/// A colder receiver gets more water out of the air.
#[test]
fn a_colder_receiver_takes_more_water() {
    let station = example();
    let mut last = f64::MAX;
    for room in [10.0, 20.0, 30.0] {
        let mut s = station.clone();
        // The outlet of a machine of another kind stays while only the receiver's room changes.
        for m in &mut s.machines {
            m.kind = MachineKind::Other;
            m.cooling.air_approach.value = TemperatureDifference::new(45.0 - room);
        }
        let mut c = day(&s, room, 0.0, 1.0);
        c.ambient = Temperature::from_celsius(28.0);
        c.humidity = 0.8;
        let state = state(&s, &Health::new(&s), &c);
        let machine = state.machines[0].as_ref().expect("it runs");
        assert!((machine.outlet.celsius() - 45.0).abs() < 1e-9);
        let r1 = state.place(Asset::Vessel(0)).expect("air flows");
        let falls = r1.falls_kg_s / r1.dry_air.si();
        assert!(falls > 0.0 && falls < last, "{falls} at {room}");
        last = falls;
        assert!(r1.temperature.celsius() < 45.0 && r1.temperature.celsius() > room);
    }
}

/// A vessel cools the air more when the machines deliver less of the time.
#[test]
fn a_receiver_cools_more_at_low_duty() {
    let station = example();
    let t = |duty| {
        let s = state(
            &station,
            &Health::new(&station),
            &day(&station, 20.0, 0.6, duty),
        );
        let r1 = s.place(Asset::Vessel(0)).expect("air flows");
        (r1.temperature - r1.inlet_temperature).si()
    };
    assert!(t(0.1) < t(0.5) && t(0.5) < t(1.0) && t(1.0) < 0.0);
}

/// A filter's drop goes with flow^1.8 and with its element's health.
#[test]
fn a_filter_drop_follows_flow_and_element() {
    let station = one_machine(|_| ());
    let drop = |demand: f64, element: f64| {
        let mut health = Health::new(&station);
        health.filters[0] = element;
        let mut c = day(&station, 20.0, 0.6, 1.0);
        c.demand = Some(ReferenceAir::from_m3_per_min(demand));
        state(&station, &health, &c)
            .place(Asset::Filter(0))
            .expect("air flows")
            .drop
            .si()
    };
    same("flow", drop(4.0, 1.0) / drop(2.0, 1.0), 2.0_f64.powf(1.8));
    same("element", drop(4.0, 3.0) / drop(4.0, 1.0), 3.0);
    // At its rated flow and pressure it is the clean drop: 9 m³/min and 7 bar(g) against the
    // atmosphere of the reference.
    let mut c = day(&station, 20.0, 0.0, 1.0);
    c.demand = Some(ReferenceAir::from_m3_per_min(9.0));
    c.atmosphere = physics::quantity::AbsolutePressure::from_bar(1.0);
    c.machines[0].pressure = GaugePressure::from_bar(7.0);
    let s = state(&station, &Health::new(&station), &c);
    let f1 = s.place(Asset::Filter(0)).expect("air flows");
    let warmer = f1.temperature.si() / 293.15;
    same("rated", f1.drop.bar(), 0.10 * warmer.powf(1.8));
}

/// A filter before the vessel sees the flow while loaded, one behind it the demand.
#[test]
fn a_filter_before_the_vessel_does_not_see_the_demand() {
    use station::air_path::Stage;
    let mut station = one_machine(|_| ());
    let stages = &mut station.air_path.stages;
    stages.swap(1, 2);
    assert_eq!(stages[1], Stage::One(Asset::Filter(0)));
    let drop = |demand: Option<f64>| {
        let mut c = day(&station, 20.0, 0.6, 0.5);
        c.demand = demand.map(ReferenceAir::from_m3_per_min);
        state(&station, &Health::new(&station), &c)
            .place(Asset::Filter(0))
            .expect("air")
            .drop
            .si()
    };
    same("any demand", drop(Some(1.0)), drop(None));
}

/// Branches with their own vessel share the demand as their machines deliver.
#[test]
fn a_branch_whose_machine_stands_takes_no_demand() {
    let text = r#"
calcant = 1
air_path = [[["K1", "R1", "F1"], ["K2", "R2", "F2"]], "MAIN"]
[site]
name = "Branch Works (invented)"
altitude = "0 m"
time_zone = "UTC"
[[machine]]
id = "K1"
kind = "oil-injected screw"
drive = "gear"
control = "load/unload"
rated = { pressure = "7 bar(g)", fad = "6 m3/min", power = "40 kW" }
band = { load = "6.5 bar(g)", unload = "7.1 bar(g)" }
[[machine]]
id = "K2"
like = "K1"
[[vessel]]
id = "R1"
volume = "1 m3"
max_pressure = "11 bar(g)"
[[vessel]]
id = "R2"
like = "R1"
[[filter]]
id = "F1"
rated = { flow = "6 m3/min", pressure = "7 bar(g)" }
[[filter]]
id = "F2"
like = "F1"
[[header]]
id = "MAIN"
"#;
    let station = station::file::station::parse(text).expect("a valid station file");
    let drops = |duties: [f64; 2]| {
        let mut c = day(&station, 20.0, 0.5, 1.0);
        for (i, duty) in duties.into_iter().enumerate() {
            c.machines[i] = Running::at_duty(&station, i, duty);
        }
        c.demand = Some(ReferenceAir::from_m3_per_min(4.0));
        let s = state(&station, &Health::new(&station), &c);
        [0, 1].map(|i| s.place(Asset::Filter(i)).map_or(0.0, |p| p.drop.si()))
    };
    let both = drops([0.5, 0.5]);
    same("alike", both[0], both[1]);
    let alone = drops([0.5, 0.0]);
    same("nothing flows", alone[1] + 1.0, 1.0);
    // Twice the flow, in air that its vessel cooled a little less or more.
    assert!(
        (alone[0] / both[0] / 2.0_f64.powf(1.8) - 1.0).abs() < 0.02,
        "{alone:?} {both:?}"
    );
}

/// A dryer's dew point is never below the rated one but for air that came drier; overload, a hot
/// room and a weak dryer raise it.
#[test]
fn a_dryer_holds_its_dew_point_until_its_load_is_too_large() {
    let dew = |station: &Station, health: &Health, c: &Conditions| {
        let s = state(station, health, c);
        let d1 = s.place(Asset::Dryer(0)).expect("air flows");
        (
            d1.dew_point.celsius(),
            d1.dryer_load.expect("a refrigeration dryer"),
        )
    };
    let station = example();
    let healthy = Health::new(&station);
    let mut c = day(&station, 25.0, 0.6, 1.0);
    c.demand = Some(ReferenceAir::from_m3_per_min(6.0));
    let (held, load) = dew(&station, &healthy, &c);
    assert!((held - 3.0).abs() < 1e-6 && load < 1.0, "{held} {load}");

    c.demand = Some(ReferenceAir::from_m3_per_min(18.0));
    let (over, load) = dew(&station, &healthy, &c);
    assert!(over > 4.0 && load > 1.0, "{over} {load}");

    let mut hot = day(&station, 45.0, 0.6, 1.0);
    hot.demand = Some(ReferenceAir::from_m3_per_min(9.0));
    let (in_heat, load) = dew(&station, &healthy, &hot);
    assert!(in_heat > 4.0 && load > 1.0, "{in_heat} {load}");

    let mut weak = healthy.clone();
    weak.dryers[0] = 0.4;
    c.demand = Some(ReferenceAir::from_m3_per_min(9.0));
    assert!(dew(&station, &weak, &c).0 > dew(&station, &healthy, &c).0);
}

/// At its own rating a dryer is exactly loaded: 35 °C saturated, 25 °C ambient, rated flow.
#[test]
fn a_dryer_at_its_rating_is_fully_loaded() {
    let mut station = one_machine(|s| {
        s.machines[0].kind = MachineKind::Other;
        s.machines[0].cooling.air_approach.value = TemperatureDifference::new(10.0);
        s.vessels[0].u_w_m2k.value = 0.0;
        s.filters[0].clean.value = physics::quantity::PressureDifference::new(0.0);
        s.dryers[0].drop.value = physics::quantity::PressureDifference::new(0.0);
        s.machines[0].cooling.separates.value = 1.0;
    });
    station.vessels[0].volume_m3 = 1.0e-3;
    let mut c = day(&station, 25.0, 0.9, 1.0);
    c.atmosphere = physics::quantity::AbsolutePressure::from_bar(1.0);
    c.machines[0].pressure = GaugePressure::from_bar(7.0);
    c.demand = Some(ReferenceAir::from_m3_per_min(9.0));
    let s = state(&station, &Health::new(&station), &c);
    let d1 = s.place(Asset::Dryer(0)).expect("air flows");
    assert!((d1.inlet_temperature.celsius() - 35.0).abs() < 1e-6);
    let load = d1.dryer_load.expect("a refrigeration dryer");
    assert!((load - 1.0).abs() < 1e-6, "{load}");
    assert!((d1.dew_point.celsius() - 3.0).abs() < 1e-3);
}

/// The same over random stations.
#[test]
fn no_dryer_is_better_than_rated() {
    let mut met = 0;
    for seed in 0..300 {
        let station = random_station(seed);
        let c = random_conditions(&station, seed);
        let s = state(&station, &random_health(&station, seed), &c);
        for p in &s.places {
            let Asset::Dryer(i) = p.asset else { continue };
            met += 1;
            let rated = station.dryers[i].dew_point.value;
            // Drier only if it came so: the dryer got nothing out of it.
            if p.dew_point < rated - TemperatureDifference::new(1e-3)
                && matches!(station.dryers[i].kind, DryerKind::Refrigeration { .. })
            {
                assert!(p.falls_kg_s <= 1e-12, "{p:?}");
            }
            assert!(p.dryer_load.is_none_or(|load| load >= 0.0));
            if let DryerKind::Desiccant { .. } = station.dryers[i].kind {
                assert!(p.dew_point.si() <= rated.si() + 1e-3 && p.dryer_load.is_none());
            }
        }
    }
    assert!(met > 100);
}

/// The room's rise is the heat of all running machines and dryers over the air drawn through it.
#[test]
fn the_room_is_warmed_by_all_that_runs() {
    let station = example();
    let rise = |duties: [f64; 2]| {
        let mut c = Conditions::new(&station, Temperature::from_celsius(20.0), 0.6, 1.0);
        for (i, duty) in duties.into_iter().enumerate() {
            c.machines[i] = Running::at_duty(&station, i, duty);
            c.machines[i].pressure = station.machines[i].rated.pressure;
        }
        let s = state(&station, &Health::new(&station), &c);
        let power: f64 = s
            .machines
            .iter()
            .flatten()
            .zip(duties)
            .map(|(m, d)| m.power.si() * d + m.unloaded_power.si() * (1.0 - d))
            .sum();
        let density = c.atmosphere.si() / (287.042 * 293.15);
        let want = (power + 1400.0) / (density * 1006.0 * 9.0);
        let got = s.room.celsius() - 20.0;
        assert!((got / want - 1.0).abs() < 1e-3, "{got} {want}");
        got
    };
    assert!(rise([1.0, 0.0]) < rise([1.0, 0.5]) && rise([1.0, 0.5]) < rise([1.0, 1.0]));
    let ducted = {
        let mut s = station.clone();
        s.room.ducted = true;
        s
    };
    let c = Conditions::new(&station, Temperature::from_celsius(20.0), 0.6, 1.0);
    let open = state(&station, &Health::new(&station), &c).room;
    let duct = state(&ducted, &Health::new(&ducted), &c).room;
    assert!((duct.celsius() - 20.0) < 0.4 * (open.celsius() - 20.0));
}

/// Modulating: 0.7 + 0.3 q of full power (common practice, no source), at any flow.
#[test]
fn a_modulating_machine_pays_for_air_that_it_does_not_make() {
    let station = one_machine(|s| {
        let Control::LoadUnload(band) = s.machines[0].control.clone() else {
            return;
        };
        s.machines[0].control = Control::Modulating(band);
    });
    let run = |duty| machine(&station, NEW, &day(&station, 20.0, 0.6, duty));
    let full = run(1.0);
    for q in [0.2, 0.5, 0.8] {
        let m = run(q);
        same("power", m.power.si(), full.power.si() * (0.7 + 0.3 * q));
        same("air", m.free_air.si(), full.free_air.si() * q);
        assert!(m.heat_left_over().abs() < 1e-9);
    }
}

/// Variable speed: at the rated pressure and inlet each part-load point is given back; below the
/// lowest speed the machine cycles.
#[test]
fn a_variable_speed_machine_gives_back_its_points() {
    use physics::quantity::{AbsolutePressure, FreeAir};
    let points = [(1.6, 10.9), (3.4, 20.9), (5.3, 33.4)];
    let station = one_machine(|s| {
        s.machines[0].control = Control::VariableSpeed {
            target: s.machines[0].rated.pressure,
            part_load: points
                .map(|(q, p)| (FreeAir::from_m3_per_min(q), Power::from_kw(p)))
                .to_vec(),
        };
    });
    for (q, kw) in points {
        let mut c = day(&station, 20.0, 0.0, q / 5.3);
        c.atmosphere = AbsolutePressure::from_bar(1.0);
        let m = machine(&station, NEW, &c);
        assert!((m.power.kw() - kw).abs() < 1e-6, "{} {kw}", m.power.kw());
        // The intake filter's drop falls with the flow: a little more air than in proportion.
        assert!((m.free_air.m3_per_min() / q - 1.0).abs() < 0.02);
    }
    let c = day(&station, 20.0, 0.6, 0.1);
    let s = state(&station, &Health::new(&station), &c);
    let m = s.machines[0].as_ref().expect("it runs");
    assert!((m.free_air.m3_per_min() / 1.6 - 1.0).abs() < 0.02);
    let k1 = s.place(Asset::Machine(0)).expect("it runs");
    same("it cycles", k1.duty, 0.1 / (1.6 / 5.3));
}

/// Separators at work: what a place's drain takes grows with its share; without a drain the water
/// goes on.
#[test]
fn water_that_no_drain_takes_goes_on() {
    let station = one_machine(|_| ());
    let c = day(&station, 28.0, 0.8, 1.0);
    let fitted = state(&station, &Health::new(&station), &c);
    let bare = one_machine(|s| s.drains.clear());
    let none = state(&bare, &Health::new(&bare), &c);
    assert!(fitted.water.drained > 0.0 && none.water.drained <= 0.0 && none.owed.is_empty());
    assert!(none.water.liquid_out + none.water.vapour_out > fitted.water.vapour_out);
    let k1 = none.place(Asset::Machine(0)).expect("air flows");
    assert!(k1.liquid > 0.0 && k1.falls_kg_s > 0.0);
    let poor = one_machine(|s| s.machines[0].cooling.separates.value = 0.6);
    let poor = state(&poor, &Health::new(&poor), &c);
    let taken = |s: &station::forward::State| s.place(Asset::Machine(0)).expect("air").drained_kg_s;
    same("share", taken(&poor) / taken(&fitted), 0.6 / 0.9);
}

/// What is nudged moves, also at the end of its range, and is put back by the opposite nudge.
#[test]
fn every_input_moves_the_model_or_says_so() {
    use station::forward::Inputs;
    let station = example();
    let conditions = Conditions::new(&station, Temperature::from_celsius(28.0), 1.0, 1.0);
    let sigmas = Inputs {
        ambient: 1.0,
        humidity: 0.05,
        atmosphere: 500.0,
        room: 1.0,
        demand_share: 0.1,
        duty: vec![0.1; 2],
        recent_load: vec![0.1; 2],
        pressure: vec![1.0e4; 2],
        speed: vec![0.0; 2],
    };
    let base = state(&station, &Health::new(&station), &conditions);
    let mut moved = 0;
    for input in sigmas.all(&station, &conditions) {
        let (mut s, mut c) = (station.clone(), conditions.clone());
        input.nudge(&mut s, &mut c, input.sigma);
        let after = expect(&s, &Health::new(&s), &c).expect("a small step stays inside");
        moved += usize::from(after != base);
        if matches!(
            input.what,
            "outdoor humidity" | "duty" | "load of the last quarter of an hour"
        ) {
            assert!(after != base, "{} does not move", input.name(&station));
        }
        input.nudge(&mut s, &mut conditions.clone(), -input.sigma);
        let back = expect(&s, &Health::new(&s), &conditions).expect("as before");
        let drift = (back.water.drained / base.water.drained - 1.0).abs();
        assert!(drift < 1e-9, "{} is not put back", input.name(&station));
    }
    assert!(moved > 30, "{moved}");
}

/// What a desiccant dryer spends to regenerate comes through the filter before it, on top of what
/// the plant takes.
#[test]
fn a_filter_before_a_desiccant_dryer_carries_its_purge() {
    let drop = |kind: Option<DryerKind>| {
        let station = one_machine(|s| {
            if let Some(kind) = kind {
                s.dryers[0].kind = kind;
            }
        });
        let mut c = day(&station, 20.0, 0.6, 1.0);
        c.demand = Some(ReferenceAir::from_m3_per_min(3.0));
        let s = state(&station, &Health::new(&station), &c);
        s.place(Asset::Filter(0)).expect("air flows").drop.si()
    };
    let purged = drop(Some(DryerKind::Desiccant { purge: 0.15 }));
    same("purge", purged / drop(None), (1.0 / 0.85_f64).powf(1.8));
}

/// A refrigeration dryer cools and never warms: air that comes colder than its dew point passes.
#[test]
fn a_dryer_never_warms_the_air() {
    let station = one_machine(|s| {
        s.machines[0].kind = MachineKind::Other;
        s.machines[0].cooling.air_approach.value = TemperatureDifference::new(1.0);
    });
    let s = state(
        &station,
        &Health::new(&station),
        &day(&station, -5.0, 0.8, 1.0),
    );
    let d1 = s.place(Asset::Dryer(0)).expect("air flows");
    assert!(d1.inlet_temperature.celsius() < 0.0);
    assert!(
        d1.temperature <= d1.inlet_temperature && d1.dryer_load == Some(0.0),
        "{d1:?}"
    );
}

/// ISO 8573-1:2010 counts liquid water in a cubic metre of reference air (20 °C, 1 bar(a), dry), not
/// in one of compressed air: 1.188 kg of dry air.
#[test]
fn liquid_is_classed_in_reference_air() {
    use physics::air::WaterClass;
    let bare = one_machine(|s| s.drains.clear());
    let mut seen = std::collections::BTreeSet::new();
    for tenth in 0..300 {
        let c = day(&bare, 0.1 * f64::from(tenth), 0.8, 1.0);
        let s = state(&bare, &Health::new(&bare), &c);
        let k1 = s.place(Asset::Machine(0)).expect("air flows");
        if k1.liquid > 0.0 {
            let want = match k1.liquid * 1188.41 {
                g if g <= 0.5 => WaterClass::C7,
                g if g <= 5.0 => WaterClass::C8,
                g if g <= 10.0 => WaterClass::C9,
                _ => WaterClass::X,
            };
            assert_eq!(k1.water_class, want, "{}", k1.liquid);
            seen.insert(format!("{want:?}"));
        }
    }
    assert!(seen.len() >= 3, "{seen:?}");
}

/// A fan that stands still leaves a natural draught: hot, but answered.
#[test]
fn a_dead_fan_is_answered_while_the_oil_can_be() {
    let station = one_machine(|_| ());
    let c = day(&station, 10.0, 0.6, 1.0);
    let weak = machine(&station, MachineHealth { fan: 0.2, ..NEW }, &c);
    assert!(
        oil(&weak) > 110.0 && weak.heat_left_over().abs() < 1e-9,
        "{}",
        oil(&weak)
    );
    let mut dead = Health::new(&station);
    dead.machines[0].fan = 0.0;
    let refused = expect(&station, &dead, &c).expect_err("no oil stands that");
    assert!(
        refused
            .sentence(&station)
            .starts_with("K1: no oil temperature"),
        "{refused:?}"
    );
}

/// A dryer's capacity falls by its share per kelvin of room over its rated ambient.
#[test]
fn a_hot_room_takes_capacity_from_a_dryer() {
    let load = |per_k: f64| {
        let station = one_machine(|s| {
            if let DryerKind::Refrigeration { derate_per_k, .. } = &mut s.dryers[0].kind {
                derate_per_k.value = per_k;
            }
        });
        let s = state(
            &station,
            &Health::new(&station),
            &day(&station, 35.0, 0.6, 1.0),
        );
        s.place(Asset::Dryer(0))
            .expect("air flows")
            .dryer_load
            .expect("a refrigeration dryer")
    };
    same(
        "10 K over its rated 25 °C",
        load(0.02) / load(0.0),
        1.0 / (1.0 - 0.02 * 10.0),
    );
}

/// A vessel in one branch does not smooth the flow of the branch beside it.
#[test]
fn a_vessel_smooths_its_own_branch() {
    use station::air_path::Stage;
    let mut station = example();
    // K1 with the vessel; K2 beside it with the filter alone.
    let one = |asset| Stage::One(asset);
    station.air_path.stages = vec![
        Stage::SideBySide(vec![
            vec![one(Asset::Machine(0)), one(Asset::Vessel(0))],
            vec![one(Asset::Machine(1)), one(Asset::Filter(0))],
        ]),
        one(Asset::Dryer(0)),
        one(Asset::Header(0)),
    ];
    let drops = |demand: f64| {
        let mut c = day(&station, 20.0, 0.6, 0.5);
        c.demand = Some(ReferenceAir::from_m3_per_min(demand));
        let s = state(&station, &Health::new(&station), &c);
        [Asset::Filter(0), Asset::Dryer(0)].map(|a| s.place(a).expect("air flows").drop.si())
    };
    let (little, much) = (drops(2.0), drops(4.0));
    same("before any vessel", little[0], much[0]);
    assert!(
        much[1] > 3.0 * little[1],
        "behind the join the demand counts"
    );
}

/// Nowhere does the air hold more vapour than it can, whatever the fan is taken to do.
#[test]
fn no_air_is_oversaturated() {
    use physics::air::Formulation;
    let mut met = 0;
    for seed in 0..300 {
        let station = random_station(seed);
        let c = random_conditions(&station, seed);
        let s = state(&station, &random_health(&station, seed), &c);
        for (m, running) in s.machines.iter().zip(&c.machines) {
            let Some(m) = m else { continue };
            let p = running.pressure.absolute(s.atmosphere);
            let most = Formulation::REAL
                .saturated_humidity_ratio(m.outlet, p)
                .expect("cool air");
            assert!(m.outlet_humidity_ratio <= most * (1.0 + 1e-9), "{m:?}");
            met += usize::from(m.outlet_humidity_ratio > 0.98 * most);
        }
        for p in &s.places {
            let at = p.pressure.absolute(s.atmosphere);
            let most = Formulation::REAL.saturated_humidity_ratio(p.temperature, at);
            assert!(
                p.humidity_ratio <= most.expect("cool air") * (1.0 + 1e-9),
                "{p:?}"
            );
        }
    }
    assert!(met > 50, "{met}");
}

/// What warms the oil is the last quarter of an hour's pressure, what the motor draws is this moment's.
#[test]
fn oil_remembers_the_pressure_and_power_does_not() {
    let station = one_machine(|_| ());
    let at = |bar: f64, recent: Option<f64>| {
        let mut c = day(&station, 35.0, 0.6, 1.0);
        c.machines[0].pressure = GaugePressure::from_bar(bar);
        c.machines[0].recent_pressure = recent.map(GaugePressure::from_bar);
        machine(&station, NEW, &c)
    };
    let (low, high, swung) = (at(6.8, Some(7.1)), at(7.4, Some(7.1)), at(7.1, None));
    // What it delivers follows the moment, and takes a little heat along.
    assert!((oil(&low) - oil(&swung)).abs() < 0.1 && (oil(&high) - oil(&swung)).abs() < 0.1);
    assert!(oil(&at(7.4, None)) > oil(&swung) + 0.5);
    same("power", low.power.kw(), at(6.8, None).power.kw());
    assert!(high.power > swung.power && swung.power > low.power);
    assert!(low.heat_left_over().abs() < 1e-9 && high.heat_left_over().abs() < 1e-9);
}
