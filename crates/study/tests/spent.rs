//! Purge and timer drains that the station file tells are no leakage: against a simulation that has
//! them.

mod simulation;
mod support;

use fastrand::Rng;
use simulation::invented::{describe, real};
use simulation::{Plant, log, normal, run};
use study::{LeakageMethod, LogOptions, Study, read_log};
use support::station::Described;

const WAYS: [LeakageMethod; 3] = [
    LeakageMethod::OffShiftDelivery,
    LeakageMethod::LoadUnloadTimes,
    LeakageMethod::PressureDecay,
];

/// How often each way's interval held the true leakage, how often what was drawn in all did, and how
/// often each way was told.
#[derive(Default, Debug)]
struct Score {
    net: [u32; 3],
    total: [u32; 3],
    told: [u32; 3],
}

fn study(described: &Described, plant: &Plant, random: &mut Rng, score: &mut Score) -> Study {
    let (stretches, truth) = run(plant, random, 1.3);
    let text = log(plant, &stretches, 2.0, random);
    let station = described.parse();
    let read = read_log([support::source(text)], &station, &LogOptions::default());
    let study = read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]));
    for (at, way) in WAYS.iter().enumerate() {
        let Some(leakage) = study.leakage.iter().find(|l| l.method == *way) else {
            continue;
        };
        let holds = |band: study::Band95| {
            let band = band.times(60.0);
            u32::from(band.low <= truth.leakage_off && truth.leakage_off <= band.high)
        };
        score.told[at] += 1;
        score.net[at] += holds(leakage.m3_s);
        score.total[at] += holds(leakage.total_m3_s);
        let last = leakage.working.last().expect("not empty");
        let net = leakage.m3_s.times(60.0);
        assert!((last.value - net.mid).abs() < 1e-9, "{last:?} {net:?}");
        assert_eq!(last.name, "leakage without what is spent on purpose");
        let width = |band: study::Band95| band.high - band.low;
        assert!(width(leakage.m3_s) >= 0.5 * width(leakage.total_m3_s));
        assert!(leakage.m3_s.mid <= leakage.total_m3_s.mid);
        if *way == LeakageMethod::OffShiftDelivery {
            let drawn = leakage.total_m3_s.times(60.0);
            assert!((drawn.mid - truth.drawn_off).abs() < 0.15 * truth.drawn_off);
        }
    }
    study
}

fn said(study: &Study, words: &str) -> bool {
    study.remarks.iter().any(|remark| remark.contains(words))
}

/// A dryer that spends 0.15 of what goes through it, for so much air, m³/min.
fn dryer(rated: f64) -> String {
    format!(
        "\n[[dryer]]\nid = \"D1\"\nkind = \"desiccant\"\npurge = 0.15\ndew_point = \"-40 degC\"\nrated = {{ flow = \"{rated:.2} m3/min\", pressure = \"7 bar(g)\", inlet = \"35 degC\", ambient = \"25 degC\" }}\n"
    )
}

#[test]
fn a_purge_before_the_storage_is_taken_off_what_is_delivered() {
    let mut score = Score::default();
    for seed in 820..844 {
        let mut random = Rng::with_seed(seed);
        let (mut described, plant) = describe(&mut random, 1, 0.5);
        described.path = r#""K1", "D1", "R1", "MAIN""#.to_owned();
        // A dryer for what goes through it in the night, so that the interval is not that of a purge
        // at a greater rated flow.
        described.rest += &dryer(0.25 * plant.machines[0].delivery);
        let mut plant = real(&described.parse(), plant, &mut random);
        plant.purge = [0.15, 0.0];
        let study = study(&described, &plant, &mut random, &mut score);
        assert!(said(
            &study,
            "the purge of D1 is known from the station file"
        ));
        // Nothing flows through it while no machine delivers.
        let fall = &study.leakage.iter().find(|l| l.method == WAYS[2]);
        let step = fall.expect("there are falls").working.last();
        let numbers = &step.expect("not empty").numbers;
        assert!(numbers.ends_with(" − 0.000 of purge (D1)"), "{numbers}");
    }
    for at in 0..3 {
        assert!(score.told[at] >= 20, "{score:?}");
        assert!(10 * score.net[at] >= 9 * score.told[at], "{score:?}");
    }
    // What is drawn in all is no leakage.
    assert!(2 * score.total[0] < score.told[0] && 2 * score.total[1] < score.told[1]);
}

#[test]
fn a_purge_behind_the_storage_is_taken_off_by_all_three_ways() {
    let mut score = Score::default();
    for seed in 850..874 {
        let mut random = Rng::with_seed(seed);
        let (mut described, plant) = describe(&mut random, 1, 0.5);
        described.path = r#""K1", "R1", "D1", "MAIN""#.to_owned();
        described.vessel_l = 1000.0 * plant.storage - 1.0;
        described.rest = format!(
            "wanted = \"5.5 bar(g)\"\nvolume = \"1 L\"\n{}",
            dryer(0.25 * plant.machines[0].delivery)
        );
        let mut plant = real(&described.parse(), plant, &mut random);
        plant.purge = [0.0, 0.15];
        study(&described, &plant, &mut random, &mut score);
    }
    for at in 0..3 {
        assert!(score.told[at] >= 20, "{score:?}");
        assert!(10 * score.net[at] >= 9 * score.told[at], "{score:?}");
        assert!(2 * score.total[at] < score.told[at], "{score:?}");
    }
}

#[test]
fn a_timer_drain_is_taken_off_with_its_working() {
    let mut score = Score::default();
    for seed in 880..904 {
        let mut random = Rng::with_seed(seed);
        let (mut described, plant) = describe(&mut random, 1, 0.5);
        described.rest += "\n[[drain]]\nid = \"R1.drain\"\nkind = \"timer\"\nopen = \"20 s\"\nevery = \"120 s\"\norifice = \"6 mm\"\n";
        let mut plant = real(&described.parse(), plant, &mut random);
        // Choked flow at 8.013 bar(a), 25 °C: 0.0404 C_d A p/√T (textbook), as air of 1.189 kg/m³,
        // and as far from that as the file can be.
        let area = core::f64::consts::FRAC_PI_4 * 0.006_f64.powi(2);
        let kg_s = 0.0404 * 0.65 * area * 8.013e5 / 298.15_f64.sqrt();
        let off = (1.0 + 0.15 * normal(&mut random)).max(0.2);
        plant.drain = Some((20.0, 120.0, 60.0 * kg_s / 1.189 * off));
        let study = study(&described, &plant, &mut random, &mut score);
        assert!(said(
            &study,
            "the timer drain R1.drain is known from the station file"
        ));
        let told = study.leakage.iter().find(|l| l.method == WAYS[0]);
        let working = &told.expect("a night").working;
        let open = working.iter().find(|s| s.name.ends_with("of R1.drain"));
        let open = open.expect("the orifice has a step");
        assert!((open.value - kg_s).abs() < 0.05 * kg_s, "{open:?}");
        let mean = working
            .iter()
            .find(|s| s.name == "mean flow of a timer drain R1.drain");
        let mean = mean.expect("the clock has a step").value;
        assert!(
            (mean - 60.0 * kg_s / 1.189 / 6.0).abs() < 0.05 * mean,
            "{mean}"
        );
    }
    for at in 0..3 {
        assert!(score.told[at] >= 20, "{score:?}");
        assert!(10 * score.net[at] >= 9 * score.told[at], "{score:?}");
    }
    assert!(2 * score.total[0] < score.told[0], "{score:?}");
}
