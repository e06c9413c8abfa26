//! `station`, `demo` and `explain`: what each does with files and kinds.

use crate::harness::{Folder, calcant, snapshot};
use crate::shape::kinds;

#[test]
fn a_new_station_is_sound() {
    let folder = Folder::fresh();
    let ran =
        folder.shell("calcant station new > station.toml && calcant station check station.toml");
    assert_eq!(ran.status, Some(0), "{}", ran.err);
    assert_eq!(ran.out, "", "what it says is words, not data");
    snapshot("check-new", &ran.err);
    let defaults = folder.run(["station", "defaults", "station.toml"]).done();
    assert!(defaults.lines().count() > 10, "{defaults}");
    let args = [
        "expect",
        "station.toml",
        "--ambient",
        "20 degC",
        "--humidity",
        "60",
    ];
    assert!(folder.run(args).done().contains("K3 on load"));
    folder.put(
        "rounds.csv",
        "time,K1.state,K1.oil_temperature [degC]\n2026-01-05 07:00,loaded,78\n",
    );
    folder.run(["judge", "station.toml", "rounds.csv"]).done();
}

#[test]
fn the_template_marks_its_values_as_invented() {
    let template = calcant(["station", "new"]).done();
    assert!(template.contains("invented"), "{template}");
    assert_eq!(template, calcant(["station", "new"]).done());
}

#[test]
fn every_default_has_a_mark_and_a_source() {
    let folder = Folder::with_demo();
    let text = folder.run(["station", "defaults", "station.toml"]).done();
    let marks = [
        "published: ",
        "common practice, no source: ",
        "from memory: ",
    ];
    // A line that goes on is indented.
    for line in text.lines().filter(|line| !line.starts_with(' ')) {
        assert!(marks.iter().any(|mark| line.contains(mark)), "{line}");
    }
}

#[test]
fn check_counts_what_defaults_lists() {
    let folder = Folder::with_demo();
    let said = folder.run(["station", "check", "station.toml"]).err;
    let listed = folder.run(["station", "defaults", "station.toml"]).done();
    let count = listed.lines().filter(|line| !line.starts_with(' ')).count();
    assert!(
        said.contains(&format!("{count} defaults are used")),
        "{said}"
    );
}

#[test]
fn the_demo_writes_what_it_judges() {
    let folder = Folder::fresh();
    let ran = folder.run(["demo", "--write", "mine/demo"]);
    assert_eq!((ran.status, ran.out.as_str()), (Some(0), ""), "{ran:?}");
    snapshot("demo-write", &ran.err);
    let judge = [
        "judge",
        "mine/demo/station.toml",
        "mine/demo/rounds.csv",
        "--json",
    ];
    assert_eq!(
        folder.run(judge).done(),
        folder.run(["demo", "--json"]).done()
    );
}

#[test]
fn the_demo_writes_over_nothing() {
    for there in ["station.toml", "rounds.csv"] {
        let folder = Folder::fresh();
        folder.put(there, "mine");
        let said = folder.run(["demo", "--write", "."]).refused();
        assert!(
            said.contains(there) && said.contains("nothing was written"),
            "{said}"
        );
        assert_eq!(folder.names(), [there]);
        assert_eq!(folder.text(there), "mine");
    }
}

#[test]
fn the_tables_of_causes_are_written_read_again_and_replaced() {
    let folder = Folder::with_demo();
    let ran = folder.run(["causes", "mine"]);
    assert_eq!((ran.status, ran.out.as_str()), (Some(0), ""), "{ran:?}");
    let judge = ["judge", "station.toml", "rounds.csv", "--json"];
    let by_mine = [judge.as_slice(), &["--causes", "mine"]].concat();
    assert_eq!(folder.run(&by_mine).done(), folder.run(judge).done());
    // Written over nothing.
    let said = folder.run(["causes", "mine"]).refused();
    assert!(said.contains("nothing was written"), "{said}");
    // One who thinks less of filters' gauges.
    let causes = folder.text("mine/causes.csv");
    let mine = causes
        .replace(
            "filter drop,filter loaded,reading,+,0.8,-,0.55",
            "filter drop,filter loaded,reading,+,0.8,-,0.25",
        )
        .replace(
            "filter drop,gauge wrong,reading,±,0.2,-,0.30",
            "filter drop,gauge wrong,reading,±,0.8,-,0.60",
        );
    assert_ne!(mine, causes);
    folder.put("mine/causes.csv", &mine);
    let share = |text: &str| {
        let judged: serde_json::Value = serde_json::from_str(text).expect("JSON");
        let findings = judged["findings"].as_array().expect("findings");
        let filter = findings
            .iter()
            .find(|f| f["id"] == "F1.element")
            .expect("F1 is loaded");
        let causes = filter["causes"].as_array().expect("causes");
        let gauge = causes.iter().find(|c| c["cause"] == "gauge wrong");
        gauge.map_or(0.0, |c| c["probability"].as_f64().expect("a probability"))
    };
    let theirs = share(&folder.run(judge).done());
    assert!(
        share(&folder.run(&by_mine).done()) > theirs + 0.3,
        "{theirs}"
    );
    // What cannot be used is told with its line, and nothing is judged.
    folder.put("mine/causes.csv", &mine.replace(",0.25,", ",much,"));
    let said = folder.run(&by_mine).refused();
    assert!(
        said.contains("causes.csv") && said.contains("line") && said.contains("much"),
        "{said}"
    );
    let said = folder
        .run(["judge", "station.toml", "rounds.csv", "--causes", "nowhere"])
        .refused();
    assert!(
        said.contains("nowhere") && said.contains("calcant causes"),
        "{said}"
    );
}

#[test]
fn every_kind_has_a_page() {
    let list = calcant(["explain"]).done();
    let listed: Vec<&str> = list
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(listed, kinds(), "the list of kinds");
    for kind in kinds() {
        let page = calcant(["explain", kind]).done();
        assert!(
            page.starts_with(&format!("# {kind}")),
            "{kind}: {}",
            page.lines().next().unwrap_or("")
        );
        for heading in ["How it is decided", "What to do first, safely", "Sources"] {
            assert!(page.contains(heading), "{kind}: no `{heading}`");
        }
        assert!(page.ends_with('\n') && !page.contains('\u{1b}'));
    }
}
