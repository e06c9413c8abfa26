//! The fast way against the careful way.

use station::file::unit::{Kind, unit};
use station::model::Asset;
use station::point::{Point, PointId};

use super::*;
use crate::channel::Channel;
use crate::read::feed::PADDING;

fn plan(separator: u8, mark: u8, careful: bool) -> Plan {
    let value = |point, kind, name, low, high| {
        Role::Value(Value {
            channel: Channel::Point(PointId {
                asset: Asset::Machine(0),
                point,
            }),
            unit: unit(kind, name).expect("a unit"),
            inverted: false,
            low,
            high,
        })
    };
    let roles = [
        Role::LeftOut,
        Role::Time,
        value(Point::MachinePower, Kind::Power, "kW", 0.0, 2e6),
        value(
            Point::OilTemperature,
            Kind::Temperature,
            "degF",
            200.0,
            450.0,
        ),
    ];
    let column = |role| Column {
        header: String::new(),
        role,
    };
    Plan {
        columns: roles.into_iter().map(column).collect(),
        separator,
        mark,
        order: DateOrder::YearFirst,
        careful,
    }
}

fn read(text: &str, plan: &Plan) -> Batch {
    let zone = jiff::tz::TimeZone::get("Europe/Lisbon").expect("it is carried");
    let mut bytes = text.as_bytes().to_vec();
    let length = bytes.len();
    bytes.resize(length + PADDING, 0);
    let mut batch = Batch::default();
    Rows::new(plan, zone).block(&Block { bytes, length }, &mut batch);
    batch
}

#[test]
fn the_fast_way_reads_what_the_careful_way_reads() {
    let mut random = fastrand::Rng::with_seed(5);
    let mut rejected = 0;
    for round in 0..3000 {
        let (separator, mark) = [(',', '.'), (';', ','), ('\t', '.')][round % 3];
        let mut text = String::new();
        for _ in 0..random.usize(1..20) {
            let times = [
                "2026-10-25 01:30:0",
                "2026-10-25 00:59:5",
                "2026-03-29 01:00:0",
                "2026-07-01T12:00:1",
                "x",
                "",
            ];
            let time = format!("{}{}", random.choice(times).unwrap_or(""), random.u8(0..10));
            let mut number = || match random.u8(0..12) {
                0 => String::new(),
                1 => "-0.5".to_owned(),
                2 => "1e2".to_owned(),
                3 => format!("{}", random.f64() * 100.0),
                4 => " 7.5".to_owned(),
                5 => "\"7.5\"".to_owned(),
                6 => random
                    .choice([
                        "7.5.1",
                        "-",
                        ".",
                        "+5",
                        "12345678",
                        "123456789.5",
                        "5.",
                        ".5",
                        "7\u{b5}",
                    ])
                    .unwrap_or("")
                    .to_owned(),
                _ => format!("{:.1}", random.f64() * 99.0),
            };
            let cells = ["a".to_owned(), time, number(), number()];
            let swap = |cell: &String| cell.replace('.', &mark.to_string());
            let line: Vec<String> = cells.iter().map(swap).collect();
            text.push_str(&line.join(&separator.to_string()));
            text.push_str(
                random
                    .choice(["\n", "\n", "\r\n", ";\n", ",\n"])
                    .unwrap_or("\n"),
            );
        }
        let [fast, careful] =
            [false, true].map(|c| read(&text, &plan(separator as u8, mark as u8, c)));
        let bits = |batch: &Batch, column| -> Vec<u64> {
            batch
                .column(column)
                .iter()
                .skip(1)
                .map(|v| v.to_bits())
                .collect()
        };
        assert_eq!(fast.times, careful.times, "{text}");
        assert_eq!(fast.twice, careful.twice, "{text}");
        for column in 0..2 {
            assert_eq!(bits(&fast, column), bits(&careful, column), "{text}");
        }
        assert_eq!(fast.lines, careful.lines);
        // It may be set for nothing, by a line that then went the careful way.
        let told = fast.missing.iter().zip(&careful.missing);
        assert!(told.into_iter().all(|(fast, careful)| *fast || !careful));
        assert_eq!(fast.rejected, careful.rejected, "{text}");
        rejected += fast.rejected.len();
    }
    assert!(rejected > 1000);
}
