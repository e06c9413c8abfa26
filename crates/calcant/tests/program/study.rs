//! `calcant study`: text, JSON, exit status, and the words about logs that cannot be used.

use std::fmt::Write as _;
use std::ops::Range;

use crate::harness::{Folder, snapshot};

const STATION: &str = r#"
calcant  = 1
air_path = ["K1", "R1", "MAIN"]
[site]
name      = "Tilling Joinery"
altitude  = "100 m"
time_zone = "Europe/Lisbon"
price     = { energy = 0.21, currency = "EUR" }
carbon    = 0.18
hours     = "Mon-Fri 06:00-22:00"
[[machine]]
id             = "K1"
kind           = "oil-injected screw"
drive          = "gear"
control        = "load/unload"
rated          = { pressure = "7.5 bar(g)", fad = "5.3 m3/min", power = "33.4 kW" }
band           = { load = "6.8 bar(g)", unload = "7.5 bar(g)" }
max_pressure   = "8.0 bar(g)"
unloaded_power = "9.2 kW"
[[vessel]]
id           = "R1"
volume       = "1000 L"
max_pressure = "11 bar(g)"
[[header]]
id     = "MAIN"
wanted = "6.2 bar(g)"
"#;

pub(crate) fn put_station(folder: &Folder) {
    folder.put("station.toml", STATION);
}

/// An invented machine that is loaded for 40 s of each 100 s, a row each second from Tuesday
/// 14 July 2026, 07:00 on the clock of the station.
pub(crate) fn log(seconds: Range<u32>) -> String {
    let mut log = "time,K1.power [kW],MAIN.pressure [bar(g)]\n".to_owned();
    for second in seconds {
        let at = 7 * 3600 + second;
        let (day, hour, minute) = (14 + at / 86_400, at / 3600 % 24, at / 60 % 60);
        let phase = second % 100;
        let noise = f64::from(second * 7 % 11) / 10.0 - 0.5;
        let (power, pressure) = match phase {
            0..40 => (33.4 + noise, 6.8 + 0.7 * f64::from(phase) / 40.0),
            _ => (9.2 + noise, 7.5 - 0.7 * f64::from(phase - 40) / 60.0),
        };
        let _ = writeln!(
            log,
            "2026-07-{day} {hour:02}:{minute:02}:{:02},{power:.1},{pressure:.3}",
            at % 60
        );
    }
    log
}

fn with_log() -> Folder {
    let folder = Folder::fresh();
    put_station(&folder);
    folder.put("log.csv", &log(0..40_000));
    folder
}

const STUDY: [&str; 3] = ["study", "station.toml", "log.csv"];

#[test]
fn hours_and_cycles_are_those_of_the_log() {
    let json = with_log().run(STUDY.iter().chain(&["--json"])).json();
    let machine = &json["machines"][0];
    let number = |value: &serde_json::Value| value.as_f64().expect("a number");
    assert_eq!(machine["id"], "K1");
    // 400 cycles of 100 s, the first of which begins loaded.
    assert_eq!(machine["loads"], 399);
    assert!((number(&machine["states"]["loaded"]["hours"]) - 16_000.0 / 3600.0).abs() < 0.01);
    assert!((number(&machine["duty"]) - 0.4).abs() < 1e-3);
    assert_eq!(json["from"], "2026-07-14T07:00:00+01:00");
    assert_eq!(json["to"], "2026-07-14T18:06:39+01:00");
    assert_eq!(json["rows"], 40_000);
    let days = &json["channels"][0]["days"];
    assert_eq!(days[0]["count"], 40_000);
}

#[test]
fn every_key_that_others_rely_on_is_there() {
    // The shape of version 1, which may be extended and not broken.
    let json = with_log().run(STUDY.iter().chain(&["--json"])).json();
    for (at, keys) in [
        (
            "",
            "calcant from to rows left_out machines station leakage pressures \
             demand_by_hour_of_week_m3_min findings",
        ),
        (
            "/machines/0",
            "id states starts loads cycles_per_hour duty delivered_m3",
        ),
        (
            "/machines/0/states",
            "stopped unloaded loaded blowing_down modulating at_speed",
        ),
        ("/machines/0/states/loaded", "hours kwh"),
        ("/machines/0/cycles_per_hour", "mean worst"),
        ("/machines/0/delivered_m3", "low mid high"),
        (
            "/station",
            "kwh cost delivered_m3 specific_energy_kWh_m3 storage_m3",
        ),
        (
            "/pressures/0",
            "place min p05 median p95 max hours_below_wanted",
        ),
    ] {
        let there = json.pointer(at).unwrap_or_else(|| panic!("no {at}"));
        for key in keys.split_whitespace() {
            assert!(there.get(key).is_some(), "{at} has no {key}");
        }
    }
    assert_eq!(json["calcant"], 1);
    let week = json["demand_by_hour_of_week_m3_min"].as_array();
    assert_eq!(week.map(Vec::len), Some(168));
}

#[test]
fn a_log_of_nothing_but_a_pressure_is_studied_without_energies() {
    let folder = Folder::fresh();
    put_station(&folder);
    let text = log(0..40_000);
    let pressure = |line: &str| {
        let mut cells = line.split(',');
        let (time, pressure) = (cells.next(), cells.nth(1));
        format!("{},{}\n", time.unwrap_or(""), pressure.unwrap_or(""))
    };
    folder.put("log.csv", &text.lines().map(pressure).collect::<String>());
    let json = folder.run(STUDY.iter().chain(&["--json"])).json();
    let machine = &json["machines"][0];
    assert_eq!(machine["id"], "K1");
    assert_eq!(machine["state_told_by"]["what"], "pressure slopes");
    assert_eq!(machine["loads"], 399);
    let loaded = &machine["states"]["loaded"];
    let hours = loaded["hours"].as_f64().expect("a number");
    assert!((hours - 16_000.0 / 3600.0).abs() < 0.1, "{hours}");
    // No energy was read: it is not said to be none.
    assert!(loaded["kwh"].is_null() && json["station"]["cost"].is_null());
    let said = folder.run(STUDY);
    let text = said.done().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("by the slope of MAIN.pressure alone"),
        "{text}"
    );
    assert!(text.contains("took load 399 times") && !text.contains("started"));
}

#[test]
fn a_timer_drain_is_no_leakage_and_all_that_is_drawn_is_told_beside() {
    let folder = Folder::fresh();
    let drain = "[[drain]]\nid = \"R1.drain\"\nkind = \"timer\"\nopen = \"20 s\"\nevery = \"60 s\"\norifice = \"6 mm\"\n";
    folder.put("station.toml", &format!("{STATION}{drain}"));
    // Past ten in the evening, when the plant rests.
    folder.put("log.csv", &log(0..80_000));
    let json = folder.run(STUDY.iter().chain(&["--json"])).json();
    let leakage = &json["leakage"][0];
    let mid = |key: &str| leakage[key]["mid"].as_f64().expect("a number");
    let (net, total) = (mid("m3_min"), mid("total_m3_min"));
    assert!(net + 0.3 < total, "{net} {total}");
    let text = folder.run(STUDY).done().to_owned();
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("with what is spent on purpose"), "{text}");
    assert!(text.contains("the timer drain R1.drain is known from the station file"));
}

#[test]
fn what_is_left_out_is_told_with_its_time() {
    let folder = Folder::fresh();
    put_station(&folder);
    let text = log(0..40_000);
    // Twenty minutes are missing, a line comes twice, and a second logger's column says nothing.
    let mut lines: Vec<String> = text.lines().map(|line| format!("{line},7")).collect();
    lines[0] = "time,K1.power [kW],MAIN.pressure [bar(g)],Serial".to_owned();
    lines.drain(5001..6201);
    lines.insert(100, lines[99].clone());
    folder.put("log.csv", &format!("{}\n", lines.join("\n")));
    let ran = folder.run(STUDY);
    assert_eq!(ran.err, "");
    let text = ran.done().split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "2 stretches left out: see below",
        "a row every 1 s; dates are year, month, day: line 2 says `2026-07-14 07:00:00`; columns that say",
        "nothing about this station: Serial",
        "- repeat: Tue 14 July 2026 07:01:38, 1 row",
        "- gap: Tue 14 July 2026 08:23:19 to 08:43:20, 20 min",
    ] {
        assert!(text.contains(words), "no `{words}` in\n{text}");
    }
}

#[test]
fn a_bad_cell_is_3_and_the_rest_is_studied() {
    let folder = with_log();
    let log = folder.text("log.csv").replacen(",6.800\n", ",ERR\n", 1);
    let log = log.replacen("\n2026-07-14 07:30:00,", "\nnoon,", 1);
    folder.put("log.csv", &log);
    let ran = folder.run(STUDY);
    assert_eq!(ran.status, Some(3));
    snapshot("study-rejected", &ran.err);
    assert!(ran.out.contains("2 cells could not be read"), "{}", ran.out);
}

#[test]
fn foreign_headers_are_mapped() {
    let folder = with_log();
    let log = folder.text("log.csv").replacen(
        "time,K1.power [kW],MAIN.pressure [bar(g)]",
        "Clock,P (kW),Net",
        1,
    );
    folder.put("log.csv", &log);
    let map =
        "\"Clock\" = \"time\"\n\"P (kW)\" = \"K1.power [kW]\"\nNet = 'MAIN.pressure [bar(g)]'\n";
    folder.put("map.toml", map);
    folder
        .run(STUDY.iter().chain(&["--map", "map.toml"]))
        .done();
    snapshot("error-study-no-map", &folder.run(STUDY).refused());
    folder.put("map.toml", "Clock: time\n");
    let refused = folder.run(STUDY.iter().chain(&["--map", "map.toml"]));
    snapshot("error-study-map", &refused.refused());
}

#[test]
fn a_part_of_the_time_is_studied() {
    let folder = with_log();
    let part = [
        "--from",
        "2026-07-14T08:00",
        "--to",
        "2026-07-14 09:00",
        "--json",
    ];
    let json = folder.run(STUDY.iter().chain(&part)).json();
    assert_eq!(json["from"], "2026-07-14T08:00:00+01:00");
    assert_eq!(json["to"], "2026-07-14T08:59:59+01:00");
    let whole = ["--from", "2026-07-14", "--to", "2026-07-14", "--json"];
    let json = folder.run(STUDY.iter().chain(&whole)).json();
    assert_eq!(json["channels"][0]["days"][0]["count"], 40_000);
    for (name, args) in [
        ("error-study-from", ["--from", "noon", "--to", "2026-07-14"]),
        (
            "error-study-swapped",
            ["--from", "2026-07-15", "--to", "2026-07-14"],
        ),
        (
            "error-study-no-row",
            ["--from", "2027-07-15", "--to", "2027-08-14"],
        ),
    ] {
        snapshot(name, &folder.run(STUDY.iter().chain(&args)).refused());
    }
}

#[test]
fn the_order_of_dates_is_told_or_asked_for() {
    let folder = Folder::fresh();
    put_station(&folder);
    folder.put(
        "log.csv",
        "time,K1.power [kW]\n01/02/2026 10:00:00,9.2\n01/02/2026 10:00:01,9.3\n",
    );
    snapshot("error-study-dates", &folder.run(STUDY).refused());
    let json = folder.run(STUDY.iter().chain(&["--dates", "day-first", "--json"]));
    assert_eq!(json.json()["from"], "2026-02-01T10:00:00+00:00");
}

#[test]
fn the_demand_is_written_as_csv() {
    let folder = with_log();
    folder
        .run(STUDY.iter().chain(&["--demand", "demand.csv"]))
        .done();
    let csv = folder.text("demand.csv");
    let mut lines = csv.lines();
    assert_eq!(
        lines.next(),
        Some("kind,weekday,hour [h],time,demand [m3/min(ANR)]")
    );
    let week: Vec<&str> = lines.clone().take(168).collect();
    assert!(week[0].starts_with("hour of the week,Monday,0,,"));
    assert!(week[167].starts_with("hour of the week,Sunday,23,,"));
    // Tuesday, 07:00 to 18:06.
    let read = week.iter().filter(|line| !line.ends_with(',')).count();
    assert_eq!(read, 12);
    let hours: Vec<&str> = lines.skip(168).collect();
    assert_eq!(hours.len(), 12);
    assert!(hours[0].starts_with("hour,Tuesday,7,2026-07-14T07:00:00+01:00,"));
    // What one loaded machine of 5.3 m3/min delivers for two fifths of the time.
    let demand: f64 = hours[3]
        .rsplit(',')
        .next()
        .and_then(|d| d.parse().ok())
        .expect("a number");
    assert!((1.7..2.4).contains(&demand), "{demand}");
}

#[test]
fn what_cannot_be_used_is_refused() {
    let folder = with_log();
    folder.put("empty.csv", "");
    folder.put("parquet.csv", "PAR1 and then no more");
    std::fs::create_dir(folder.path("bare")).expect("a fresh folder takes a folder");
    for (name, args) in [
        (
            "error-study-no-log",
            &["station.toml", "nope.csv", "neither.csv"][..],
        ),
        ("error-study-empty", &["station.toml", "empty.csv"]),
        ("error-study-parquet", &["station.toml", "parquet.csv"]),
        ("error-study-folder", &["station.toml", "bare"]),
        (
            "error-study-several",
            &["station.toml", "log.csv", "empty.csv"],
        ),
        (
            "error-study-demand",
            &["station.toml", "log.csv", "--demand", "no/demand.csv"],
        ),
    ] {
        let ran = folder.run(["study"].iter().chain(args));
        snapshot(name, &ran.refused());
    }
}

#[test]
fn a_file_that_breaks_off_is_studied_as_far_as_it_goes() {
    let folder = with_log();
    let convert = [
        "log",
        "convert",
        "station.toml",
        "log.csv",
        "--out",
        "log.parquet",
    ];
    folder.run(convert).done();
    let mut bytes = std::fs::read(folder.path("log.parquet")).expect("it was written");
    let quarter = bytes.len() / 4;
    bytes[quarter..quarter + 40].fill(0xFF);
    std::fs::write(folder.path("log.parquet"), bytes).expect("it can be written");
    let ran = folder.run(["study", "station.toml", "log.parquet"]);
    assert!(matches!(ran.status, Some(2 | 3)), "{ran:?}");
    assert!(
        ran.err.contains("damaged or not whole") && ran.err.contains("hint: "),
        "{}",
        ran.err
    );
}

#[test]
fn the_page_shows_the_log_and_its_numbers_are_those_of_the_study() {
    let folder = with_log();
    let bare = folder.run(STUDY);
    let told = folder.run(STUDY.iter().chain(&["--report", "page.html"]));
    assert_eq!((told.status, &told.out), (bare.status, &bare.out));
    let page = folder.text("page.html").replace('\u{a0}', " ");
    assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>\n"));
    for heading in [
        "The week by demand",
        "Load-duration curve",
        "A day by power",
        "Energy by state",
    ] {
        assert!(page.contains(heading), "{heading}");
    }
    assert!(
        !page.contains("src=") && !page.contains("url("),
        "it needs no network"
    );
    if let Some(at) = page.find("NaN") {
        panic!("{}", &page[at.saturating_sub(200)..at + 50]);
    }
    // One day was logged: there is no course from day to day to draw.
    assert!(!page.contains("Pressure day by day"));
    // Sixteen thousand seconds on load.
    assert!(page.contains("loaded 4.4 h"), "hours by state are told");
    let json = folder.run(STUDY.iter().chain(&["--json"])).json();
    let kwh = json["station"]["kwh"].as_f64().expect("a number");
    assert!(page.contains(&format!("{kwh:.0} kWh")), "{kwh}");
    assert_eq!(folder.names(), ["log.csv", "page.html", "station.toml"]);
}

#[test]
fn a_page_that_cannot_be_written_is_told_before_the_log_is_read() {
    let said = with_log()
        .run(STUDY.iter().chain(&["--report", "missing/page.html"]))
        .refused();
    assert!(said.contains("--report"), "{said}");
}
