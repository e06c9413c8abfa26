//! The air line read back: well formed, complete in words, calm where there is nothing to show.

use std::collections::BTreeMap;

use physics::quantity::Temperature;
use report::{AirLine, PlaceBand, PlaceReading, Units, What, air_line};
use roxmltree::{Document, Node};
use station::forward::{Conditions, Health, State, expect};
use station::model::{Asset, Station};

const DEMO: &str = include_str!("../../../examples/quillbank/station.toml");
const ONE: &str = include_str!("stations/one.toml");
const LONG: &str = include_str!("stations/long.toml");

fn station(text: &str) -> Station {
    station::file::station::parse(text).expect("the test's station file is good")
}

fn state(station: &Station, celsius: f64, humidity: f64, duty: f64) -> State {
    let conditions = Conditions::new(station, Temperature::from_celsius(celsius), humidity, duty);
    expect(station, &Health::new(station), &conditions).expect("weather that stations work in")
}

fn bands(state: &State) -> Vec<PlaceBand> {
    let about = |v: f64, by: f64| Some((v - by, v + by));
    state
        .places
        .iter()
        .map(|p| PlaceBand {
            asset: p.asset,
            pressure: about(p.pressure.si(), 6.0e3),
            temperature: about(p.temperature.si(), 3.0),
            dew_point: about(p.dew_point.si(), 1.5),
        })
        .collect()
}

fn reading(asset: Asset, what: What, value: f64, note: Option<&str>) -> PlaceReading {
    PlaceReading {
        asset,
        what,
        value,
        outside: note.is_some(),
        note: note.map(String::from),
    }
}

fn draw(station: &Station, state: &State, readings: &[PlaceReading], units: Units) -> String {
    let bands = bands(state);
    air_line(&AirLine {
        title: "Invented station",
        station,
        state,
        bands: &bands,
        readings,
        units,
    })
}

fn asset(station: &Station, id: &str) -> Asset {
    station.asset(id).expect("the station has this thing")
}

/// All words that are drawn, whole where they were shortened, in one string without line breaks.
fn drawn(svg: &str) -> String {
    let document = Document::parse(svg).expect("the picture is well-formed XML");
    let mut words = Vec::new();
    for text in document.descendants().filter(|n| n.has_tag_name("text")) {
        words.extend(
            text.descendants()
                .filter_map(|n| n.is_text().then(|| n.text()).flatten()),
        );
    }
    words.join(" ").replace('\u{a0}', " ")
}

fn description(svg: &str) -> String {
    let document = Document::parse(svg).expect("the picture is well-formed XML");
    let desc = document.descendants().find(|n| n.has_tag_name("desc"));
    desc.and_then(|n| n.text())
        .expect("every picture has a description")
        .to_string()
}

fn number(node: &Node, name: &str) -> f64 {
    node.attribute(name)
        .and_then(|v| v.parse().ok())
        .expect("a coordinate is a number")
}

/// Many stations under many skies.
fn many() -> Vec<(String, Station, State)> {
    let mut all = Vec::new();
    for (name, text) in [("demo", DEMO), ("one", ONE), ("long", LONG)] {
        for (celsius, humidity, duty) in [
            (31.0, 0.7, 0.7),
            (-2.0, 0.8, 0.4),
            (12.0, 0.3, 1.0),
            (28.0, 0.95, 0.9),
            (10.0, 0.5, 0.0),
        ] {
            let station = station(text);
            let state = state(&station, celsius, humidity, duty);
            all.push((
                format!("{name} at {celsius} °C, duty {duty}"),
                station,
                state,
            ));
        }
    }
    all
}

#[test]
fn every_picture_is_well_formed_and_has_only_numbers() {
    for (name, station, state) in many() {
        for units in [Units::Si, Units::Us] {
            let svg = draw(&station, &state, &[], units);
            let document = Document::parse(&svg).expect("the picture is well-formed XML");
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{name}");
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("img"));
            let named: Vec<&str> = root
                .attribute("aria-labelledby")
                .unwrap_or("")
                .split(' ')
                .collect();
            for id in named {
                assert!(
                    document
                        .descendants()
                        .any(|n| n.attribute("id") == Some(id)),
                    "{id}"
                );
            }
            let size: Vec<f64> = root
                .attribute("viewBox")
                .unwrap_or("")
                .split(' ')
                .filter_map(|v| v.parse().ok())
                .collect();
            let [_, _, width, height] = size[..] else {
                panic!("{name}: no viewBox")
            };
            for text in document.descendants().filter(|n| n.has_tag_name("text")) {
                let (x, y) = (number(&text, "x"), number(&text, "y"));
                assert!(
                    (0.0..=width).contains(&x) && (0.0..=height).contains(&y),
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn every_place_is_named_with_its_numbers() {
    for (name, station, state) in many() {
        let svg = draw(&station, &state, &[], Units::Si);
        let (drawn, said) = (drawn(&svg), description(&svg));
        for asset in station.air_path.assets() {
            let id = station.id(asset);
            assert!(drawn.contains(id), "{name}: {id} is not drawn");
            assert!(said.contains(id), "{name}: {id} is not said");
        }
        for place in &state.places {
            let pressure = format!("{:.2}", place.pressure.bar());
            assert!(drawn.contains(&pressure), "{name}: {pressure} is not drawn");
            assert!(
                said.contains(&format!("pressure {pressure} bar(g)")),
                "{name}"
            );
            let t = format!("{:.0}", place.temperature.celsius()).replace('-', "\u{2212}");
            assert!(
                drawn.contains(&t) && said.contains(&format!("air {t} °C")),
                "{name}: {t}"
            );
        }
    }
}

#[test]
fn water_is_written_in_litres_or_gallons_a_day() {
    let station = station(DEMO);
    let state = state(&station, 31.0, 0.7, 0.7);
    for (units, litre, unit) in [
        (Units::Si, 1.0, "L/day"),
        (Units::Us, 1.0 / 3.785_412, "gal/day"),
    ] {
        let svg = draw(&station, &state, &[], units);
        let (drawn, said) = (drawn(&svg), description(&svg));
        assert!(drawn.contains(unit));
        let mut wet = 0;
        for place in state.places.iter().filter(|p| p.falls_kg_s > 0.0) {
            // A kilogram of water is a litre.
            let amount = place.falls_kg_s * place.duty * 86_400.0 * litre;
            let text = if amount < 9.95 {
                format!("{amount:.1}")
            } else {
                format!("{amount:.0}")
            };
            assert!(
                drawn.split_whitespace().any(|w| w == text),
                "{text} is not drawn"
            );
            assert!(
                said.contains(&format!("{text} {unit} of water fall out")),
                "{text}"
            );
            wet += 1;
        }
        assert!(
            wet >= 3,
            "two machines and the dryer take water out of such air"
        );
        assert!(svg.contains(r#"class="water""#));
    }
}

#[test]
fn dry_air_shows_no_water() {
    let station = station(ONE);
    let state = state(&station, 35.0, 0.05, 0.5);
    assert!(state.places.iter().all(|p| p.falls_kg_s <= 0.0));
    let svg = draw(&station, &state, &[], Units::Si);
    assert!(drawn(&svg).contains("none along the whole path"));
}

#[test]
fn water_that_no_drain_takes_goes_on_in_words() {
    let undrained = station(ONE);
    let state = state(&undrained, 24.0, 0.6, 0.8);
    let fallen: f64 = state
        .places
        .iter()
        .map(|p| p.falls_kg_s * p.duty * 86_400.0)
        .sum();
    assert!(fallen > 1.0, "such air brings water");
    let words = format!("{fallen:.0} L/day of liquid water go on with the air to the plant");
    let svg = draw(&undrained, &state, &[], Units::Si);
    assert!(drawn(&svg).contains(&words), "{words}");
    assert!(description(&svg).contains(&words), "{words}");
}

#[test]
fn a_machine_whose_oil_is_not_modelled_is_drawn_without_it() {
    let station = station(DEMO);
    let mut state = state(&station, 31.0, 0.7, 0.7);
    for machine in state.machines.iter_mut().flatten() {
        machine.oil_temperature = None;
    }
    let svg = draw(&station, &state, &[], Units::Si);
    assert!(drawn(&svg).contains("air end") && description(&svg).contains("K1, outlet"));
    assert!(!svg.contains("NaN"));
}

#[test]
fn two_pictures_on_a_page_have_names_of_their_own() {
    let station = station(DEMO);
    let ids = |celsius: f64| {
        let svg = draw(
            &station,
            &state(&station, celsius, 0.7, 0.7),
            &[],
            Units::Si,
        );
        let document = Document::parse(&svg).expect("the picture is well-formed XML");
        document
            .root_element()
            .attribute("aria-labelledby")
            .map(String::from)
    };
    assert_ne!(ids(31.0), ids(12.0));
    assert_eq!(ids(31.0), ids(31.0));
}

#[test]
fn names_and_notes_are_only_text() {
    let mut station = station(ONE);
    let nasty = r#"R<1>&"one"'"#;
    if let Some(vessel) = station.vessels.first_mut() {
        vessel.id = nasty.into();
    }
    let state = state(&station, 24.0, 0.6, 0.8);
    let note = "</text><script>alert(1)</script> & <b>\u{1}";
    let readings = [reading(Asset::Vessel(0), What::Pressure, 6.2e5, Some(note))];
    let svg = air_line(&AirLine {
        title: r#"<&" station"#,
        station: &station,
        state: &state,
        bands: &[],
        readings: &readings,
        units: Units::Si,
    });
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    assert!(
        !document
            .descendants()
            .any(|n| n.has_tag_name("script") || n.has_tag_name("b"))
    );
    assert!(drawn(&svg).contains(nasty) && drawn(&svg).contains(r#"<&" station"#));
    assert!(drawn(&svg).contains("<script>alert(1)</script>"));
}

#[test]
fn a_stopped_station_says_so_and_is_quiet() {
    let station = station(DEMO);
    let state = state(&station, 10.0, 0.8, 0.0);
    assert!(state.places.is_empty());
    let held = [reading(asset(&station, "R1"), What::Pressure, 2.1e5, None)];
    let svg = draw(&station, &state, &held, Units::Si);
    assert!(drawn(&svg).contains("No machine runs"));
    assert!(description(&svg).contains("No machine runs"));
    for class in ["grade", "air", "dew", "water", "in", "out", "ribbon"] {
        assert!(
            !svg.contains(&format!("class=\"{class}\"")),
            "{class} on a stopped station"
        );
    }
    assert!(
        drawn(&svg).contains("2.10 bar(g) read"),
        "what was read is still told"
    );
}

#[test]
fn the_same_picture_twice_is_the_same() {
    for (name, station, state) in many() {
        let a = draw(&station, &state, &[], Units::Si);
        assert_eq!(a, draw(&station, &state, &[], Units::Si), "{name}");
    }
}

#[test]
fn it_brings_its_own_style_and_nothing_from_outside() {
    let station = station(DEMO);
    let svg = draw(&station, &state(&station, 31.0, 0.7, 0.7), &[], Units::Si);
    assert!(svg.contains("prefers-color-scheme:dark"));
    for outside in [
        "href",
        "@import",
        "@font-face",
        "<script",
        "<image",
        "url(http",
    ] {
        assert!(!svg.contains(outside), "{outside}");
    }
    let links = svg.matches("http").count();
    assert_eq!(links, 1, "the namespace is the only address");
}

#[test]
fn what_lies_outside_is_said_in_words_and_by_shape() {
    let station = station(DEMO);
    let state = state(&station, 31.0, 0.7, 0.7);
    let notes = [
        (
            "F1",
            What::Pressure,
            6.7e5,
            "F1 takes 0.36 bar, where 0.08 ± 0.03 is expected",
        ),
        (
            "K1",
            What::OilTemperature,
            375.0,
            "K1 oil 102 °C, where 92 ± 4 is expected",
        ),
        (
            "D1",
            What::DewPoint,
            312.0,
            "D1 lets through more water than it should",
        ),
    ];
    let mut readings: Vec<PlaceReading> = notes
        .iter()
        .map(|(id, what, value, note)| reading(asset(&station, id), *what, *value, Some(note)))
        .collect();
    readings.push(reading(asset(&station, "R1"), What::Pressure, 7.0e5, None));
    let mut without = reading(asset(&station, "MAIN"), What::Pressure, 6.1e5, None);
    without.outside = true;
    readings.push(without);
    let svg = draw(&station, &state, &readings, Units::Si);
    let (drawn, said) = (drawn(&svg), description(&svg));
    for (_, _, _, note) in notes {
        assert!(drawn.contains(note), "{note} is not drawn in: {drawn}");
        assert!(said.contains(note), "{note} is not said");
    }
    assert!(
        drawn.contains("MAIN: pressure 6.10 bar(g) read,"),
        "a sentence is made: {drawn}"
    );
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    let mut shapes: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for circle in document.descendants().filter(|n| n.has_tag_name("circle")) {
        if circle.descendants().any(|n| n.has_tag_name("title")) {
            let class = circle.attribute("class").unwrap_or("");
            shapes.entry(class).or_default().push(number(&circle, "r"));
        }
    }
    assert_eq!(shapes.get("out").map(Vec::len), Some(4));
    assert_eq!(shapes.get("in").map(Vec::len), Some(1));
    let size = |class: &str| {
        shapes
            .get(class)
            .and_then(|r| r.first().copied())
            .unwrap_or(0.0)
    };
    assert!(
        size("out") > size("in"),
        "a filled mark is larger than an open one"
    );
}

#[test]
fn no_words_lie_on_words_however_much_is_outside() {
    let station = station(LONG);
    let state = state(&station, 28.0, 0.85, 0.6);
    let note = "lies far under its band, with a sentence that needs some room to be told";
    let readings: Vec<PlaceReading> = state
        .places
        .iter()
        .map(|p| reading(p.asset, What::Pressure, 6.0e5, Some(note)))
        .collect();
    let svg = draw(&station, &state, &readings, Units::Si);
    assert!(drawn(&svg).matches("lies far under its band").count() >= readings.len());
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    // Half an em a letter: narrower than any common font draws it, so a common area is a true one.
    let boxes: Vec<(f64, f64, f64, f64, String)> = document
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| {
            let text: String = n
                .children()
                .filter_map(|c| c.is_text().then(|| c.text()).flatten())
                .collect();
            let (x, y, w) = (
                number(&n, "x"),
                number(&n, "y"),
                7.0 * text.chars().count() as f64,
            );
            let left = match n.attribute("text-anchor") {
                Some("middle") => x - 0.5 * w,
                Some("end") => x - w,
                _ => x,
            };
            (left, y - 9.0, w, 9.0, text)
        })
        .collect();
    for (i, a) in boxes.iter().enumerate() {
        for b in boxes.iter().skip(i + 1) {
            let common_w = (a.0 + a.2).min(b.0 + b.2) - a.0.max(b.0);
            let common_h = (a.1 + a.3).min(b.1 + b.3) - a.1.max(b.1);
            assert!(
                common_w <= 0.0 || common_h <= 0.0,
                "`{}` lies on `{}`",
                a.4,
                b.4
            );
        }
    }
}

#[test]
fn the_wanted_pressure_and_the_coldest_pipe_are_named() {
    let station = station(DEMO);
    let svg = draw(&station, &state(&station, 31.0, 0.7, 0.7), &[], Units::Si);
    assert!(drawn(&svg).contains("MAIN wants 6.20 bar(g)"));
    assert!(drawn(&svg).contains("coldest pipe 5 °C"));
    let svg = draw(&station, &state(&station, 31.0, 0.7, 0.7), &[], Units::Us);
    assert!(drawn(&svg).contains("MAIN wants 89.9 psi(g)"));
    assert!(drawn(&svg).contains("coldest pipe 41 °F"));
}

#[test]
fn numbers_that_are_none_are_left_out() {
    let station = station(ONE);
    let state = state(&station, 24.0, 0.6, 0.8);
    let r1 = asset(&station, "R1");
    let bad = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];
    let readings: Vec<PlaceReading> = bad
        .iter()
        .map(|v| reading(r1, What::Pressure, *v, Some("not a number")))
        .collect();
    let bands: Vec<PlaceBand> = bad
        .iter()
        .map(|v| PlaceBand {
            asset: r1,
            pressure: Some((*v, 7.0e5)),
            temperature: Some((300.0, *v)),
            dew_point: None,
        })
        .collect();
    let svg = air_line(&AirLine {
        title: "",
        station: &station,
        state: &state,
        bands: &bands,
        readings: &readings,
        units: Units::Si,
    });
    assert!(Document::parse(&svg).is_ok());
    assert!(!svg.contains("NaN") && !svg.contains("inf") && !svg.contains("not a number"));
}
