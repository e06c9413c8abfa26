//! A refrigeration dryer of which no drain is described drains what it condenses: a listed default,
//! which the file can deny. Mass balance of water decides, no outside source is needed.
#![expect(clippy::expect_used, reason = "a test stops at what must not be")]

use physics::quantity::Temperature;
use station::file::station::parse;
use station::forward::{Conditions, Health, PlaceState, expect};
use station::model::{Asset, Station};

const GOOD: &str = include_str!("broken/station/good.toml");
const DRAIN: &str = "[[drain]]\nid = \"D1.drain\"\nkind = \"level-sensed\"\ntest_button = true\n";

fn without_its_drain(more: &str) -> Station {
    assert_eq!(GOOD.matches(DRAIN).count(), 1);
    let text = GOOD.replace(DRAIN, "").replace(
        "kind      = \"refrigeration\"",
        &format!("kind      = \"refrigeration\"\n{more}"),
    );
    parse(&text).expect("the file can be used")
}

fn behind_the_dryer(station: &Station) -> PlaceState {
    let day = Conditions::new(station, Temperature::from_celsius(25.0), 0.6, 1.0);
    let state = expect(station, &Health::new(station), &day).expect("an ordinary day");
    state
        .place(Asset::Dryer(0))
        .expect("air goes through")
        .clone()
}

#[test]
fn an_untold_drain_of_a_refrigeration_dryer_is_assumed_and_listed() {
    let station = without_its_drain("");
    let listed = station.defaults_used.iter().find(|d| d.key == "D1.drain");
    assert_eq!(listed.map(|d| d.value.as_str()), Some("true"));
    let told = parse(GOOD).expect("the file can be used");
    assert!(told.defaults_used.iter().all(|d| d.key != "D1.drain"));
    let (assumed, told) = (behind_the_dryer(&station), behind_the_dryer(&told));
    assert!((assumed.dew_point - told.dew_point).si().abs() < 1e-9);
    assert!(assumed.liquid.abs() < 1e-12 && assumed.drained_kg_s > 0.0);
}

#[test]
fn a_dryer_that_has_none_passes_its_water_on() {
    let station = without_its_drain("drain = false");
    let place = behind_the_dryer(&station);
    // The water goes on with the air and makes it wetter than the dryer left it.
    assert!(place.drained_kg_s.abs() < 1e-12);
    assert!(
        place.dew_point.celsius() > 5.0,
        "{}",
        place.dew_point.celsius()
    );
}
