//! Charts read back: everything that is known is drawn, nothing that is not a number, no label on
//! another.

use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use judge::{Chart, ChartAhead, ChartReading};
use report::{Drawn, Units, chart};
use roxmltree::{Document, Node};
use station::model::Asset;
use station::point::{Point, PointId};

const DAY_S: i64 = 86_400;

fn at(day: i64) -> Timestamp {
    Timestamp::from_second(1_750_000_000 + day * DAY_S).expect("a time of this century")
}

/// An oil temperature that climbs out of its band, °C as K.
fn climbing(days: i64) -> Chart {
    let kelvin = |celsius: f64| celsius + 273.15;
    Chart {
        what: None,
        id: PointId {
            asset: Asset::Machine(0),
            point: Point::OilTemperature,
        },
        readings: (0..days)
            .map(|day| {
                let mid = kelvin(80.0 + 3.0 * (day as f64 / 20.0).sin());
                ChartReading {
                    time: at(day),
                    read: mid + 10.0 * day as f64 / days as f64,
                    low: mid - 4.0,
                    mid,
                    high: mid + 4.0,
                }
            })
            .collect(),
        work: vec![(at(days / 2), "K1: clean mat".to_owned())],
        limits: vec![
            ("warning".to_owned(), kelvin(105.0)),
            ("trip".to_owned(), kelvin(110.0)),
        ],
        ahead: (0..90)
            .map(|day| ChartAhead {
                time: at(days + day),
                low: kelvin(92.0 + 0.2 * day as f64),
                mid: kelvin(94.0 + 0.2 * day as f64),
                high: kelvin(96.0 + 0.2 * day as f64),
            })
            .collect(),
        ahead_at: "at each month's mean maximum".to_owned(),
    }
}

fn draw(chart_: &Chart, units: Units) -> Option<String> {
    chart(&Drawn {
        title: "K1: cooling",
        chart: chart_,
        time_zone: &TimeZone::UTC,
        units,
        id: "d1",
    })
}

fn drawn(chart_: &Chart) -> String {
    draw(chart_, Units::Si).expect("there are readings")
}

fn with_class<'a>(document: &'a Document, class: &str) -> Vec<Node<'a, 'a>> {
    document
        .descendants()
        .filter(|n| n.attribute("class") == Some(class))
        .collect()
}

fn texts(svg: &str) -> Vec<String> {
    let document = Document::parse(svg).expect("the picture is well-formed XML");
    document
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .filter_map(|n| n.text().map(str::to_owned))
        .collect()
}

fn number(node: &Node, name: &str) -> f64 {
    let text = node.attribute(name).expect("every text has a place");
    text.parse().expect("a place is a number")
}

#[test]
fn limits_work_and_the_unit_are_named() {
    let svg = drawn(&climbing(200));
    let said = texts(&svg);
    for what in [
        "warning, 105 °C",
        "trip, 110 °C",
        "K1: clean mat",
        "°C",
        "last round",
    ] {
        assert!(said.iter().any(|t| t == what), "{what}: {said:?}");
    }
    let us = draw(&climbing(200), Units::Us).expect("there are readings");
    let said = texts(&us);
    for what in ["warning, 221 °F", "trip, 230 °F", "°F"] {
        assert!(said.iter().any(|t| t == what), "{what}: {said:?}");
    }
}

#[test]
fn what_is_to_come_is_told_up_to_the_last_limit() {
    let said = |chart: &Chart| {
        let svg = drawn(chart);
        let document = Document::parse(&svg).expect("the picture is well-formed XML");
        let desc = document.descendants().find(|n| n.has_tag_name("desc"));
        desc.and_then(|n| n.text()).unwrap_or_default().to_owned()
    };
    // From 94 °C on, 0.2 K a day: 105 °C after 55 days, 110 °C after 80.
    let chart = climbing(200);
    let start = chart.ahead[0].time.to_zoned_datetime(TimeZone::UTC).date();
    let day = |n: i64| {
        let date = start
            .checked_add(jiff::Span::new().days(n))
            .expect("a date");
        date.strftime("%-d %B %Y").to_string()
    };
    let all = said(&chart);
    let goes_on = "Ahead if it goes on so, at each month's mean maximum: ";
    let passes = format!(
        "{goes_on}passes warning, 105 °C, about {}; passes trip, 110 °C, about {}.",
        day(55),
        day(80)
    );
    assert!(all.ends_with(&passes), "{all}\n{passes}");
    // One that stays short of the last limit has an end.
    let mut short = chart.clone();
    short.ahead.truncate(61);
    let all = said(&short);
    let ends = format!(
        "about {}; 104.0 to 108.0 °C with 80 % by {}.",
        day(55),
        day(60)
    );
    assert!(all.ends_with(&ends), "{all}\n{ends}");
}

#[test]
fn readings_inside_and_outside_differ_in_shape() {
    let chart = climbing(200);
    let outside = chart.readings.iter().filter(|r| r.read > r.high).count();
    assert!(outside > 20);
    let svg = drawn(&chart);
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    assert_eq!(with_class(&document, "out").len(), outside);
    assert_eq!(with_class(&document, "in").len(), 200 - outside);
    assert_eq!(with_class(&document, "ribbon").len(), 1);
    assert_eq!(with_class(&document, "fan").len(), 1);
    let desc = document
        .descendants()
        .find(|n| n.tag_name().name() == "desc")
        .and_then(|n| n.text())
        .unwrap_or_default();
    for what in [
        "200 readings",
        &format!("{outside} outside"),
        "Limit: trip, 110 °C",
        "K1: clean mat",
        "at each month's mean maximum",
    ] {
        assert!(desc.contains(what), "{what}: {desc}");
    }
}

#[test]
fn a_reading_stands_where_its_value_and_time_put_it() {
    let mut chart = climbing(101);
    chart.work.clear();
    chart.limits.clear();
    chart.ahead.clear();
    for (i, r) in chart.readings.iter_mut().enumerate() {
        // A straight line that never leaves its band.
        let value = 350.0 + i as f64 * 0.1;
        (r.read, r.low, r.mid, r.high) = (value, value - 1.0, value, value + 1.0);
    }
    let svg = drawn(&chart);
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    let marks: Vec<(f64, f64)> = with_class(&document, "in")
        .iter()
        .map(|n| (number(n, "cx"), number(n, "cy")))
        .collect();
    let (first, middle, last) = (marks[0], marks[50], marks[100]);
    assert!(first.0 < middle.0 && first.1 > middle.1);
    for (a, b, c) in [(first.0, middle.0, last.0), (first.1, middle.1, last.1)] {
        assert!((0.5 * (a + c) - b).abs() < 0.2, "{a} {b} {c}");
    }
}

#[test]
fn labels_of_much_work_do_not_lie_on_each_other() {
    let mut chart = climbing(400);
    chart.work = (0..30)
        .map(|n| (at(n * 13), format!("K1: change intake filter {n}")))
        .collect();
    let svg = drawn(&chart);
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    let labels: Vec<(f64, f64, f64)> = with_class(&document, "done")
        .iter()
        .map(|n| {
            let wide = 13.0 * 0.5 * n.text().unwrap_or_default().chars().count() as f64;
            (number(n, "x"), number(n, "y"), wide)
        })
        .collect();
    assert!(labels.len() > 5);
    for (i, a) in labels.iter().enumerate() {
        assert!(a.0 >= 0.0 && a.0 + a.2 <= 960.0, "{a:?} leaves the paper");
        for b in &labels[i + 1..] {
            let apart = a.0 + a.2 <= b.0 || b.0 + b.2 <= a.0 || (a.1 - b.1).abs() > 12.0;
            assert!(apart, "{a:?} lies on {b:?}");
        }
    }
    // Every piece of work has its tick, with or without room for its words.
    assert_eq!(with_class(&document, "work").len(), 30);
}

#[test]
fn what_is_no_number_is_left_out() {
    let mut chart = climbing(50);
    chart.readings[3].read = f64::NAN;
    chart.readings[7].high = f64::INFINITY;
    chart.limits.push(("none".to_owned(), f64::NAN));
    chart.ahead[2].mid = f64::NAN;
    let svg = drawn(&chart);
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    let marks = with_class(&document, "in").len() + with_class(&document, "out").len();
    assert_eq!(marks, 48);
    chart.readings.clear();
    assert_eq!(draw(&chart, Units::Si), None);
}

#[test]
fn one_reading_alone_is_drawn() {
    let mut chart = climbing(1);
    chart.ahead.clear();
    let svg = drawn(&chart);
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
}

#[test]
fn many_readings_keep_their_extremes() {
    let mut chart = climbing(8000);
    chart.readings[4001].read += 60.0;
    let svg = drawn(&chart);
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    let marks = with_class(&document, "in").len() + with_class(&document, "out").len();
    assert!((100..=600).contains(&marks), "{marks}");
    assert!(svg.len() < 100_000, "{}", svg.len());
    // The one that stands out is the highest mark of all, 60 K over its neighbours.
    let desc = svg.contains("8000 readings");
    assert!(desc && svg.contains("lowest and the highest of each stretch"));
    let y: Vec<f64> = with_class(&document, "out")
        .iter()
        .filter_map(|n| {
            let d = n.attribute("d")?.strip_prefix('M')?;
            d.split(['L', ' ']).nth(1)?.parse().ok()
        })
        .collect();
    let top = y.iter().copied().fold(f64::INFINITY, f64::min);
    assert_eq!(y.iter().filter(|v| **v < top + 40.0).count(), 1);
}

#[test]
fn a_wall_of_time_ahead_ends_soon_after_the_last_limit() {
    let mut chart = climbing(100);
    chart.ahead = (0..700)
        .map(|day| ChartAhead {
            time: at(100 + day),
            low: 360.0 + day as f64,
            mid: 365.0 + day as f64,
            high: 370.0 + day as f64,
        })
        .collect();
    let svg = drawn(&chart);
    let document = Document::parse(&svg).expect("the picture is well-formed XML");
    let highest = with_class(&document, "q")
        .iter()
        .filter_map(|n| n.text()?.parse::<f64>().ok())
        .fold(0.0, f64::max);
    assert!(highest < 150.0, "the axis goes to {highest} °C");
    // The description goes no further either.
    assert!(!svg.contains("80 % by"));
    let day = (at(0) + (118 * 24).hours())
        .to_zoned_datetime(TimeZone::UTC)
        .strftime("%-d %B %Y")
        .to_string();
    let passes = format!("passes trip, 110 °C, about {day}.");
    assert!(svg.contains(&passes), "{passes}");
}
