//! Exit statuses, what goes where, closed pipes, and files that are whole or not there.

use std::io::Read as _;
use std::process::{Command, Stdio};

use crate::harness::{Folder, PROGRAM, calcant};

const EXPECT: [&str; 6] = [
    "expect",
    "station.toml",
    "--ambient",
    "32 degC",
    "--humidity",
    "60",
];

#[test]
fn judged_is_0_whatever_was_found() {
    let folder = Folder::with_demo();
    let with_findings = folder.run(["judge", "station.toml", "rounds.csv"]);
    assert_eq!(with_findings.err, "");
    assert!(with_findings.done().contains("THIS WEEK"));
    let before_any = [
        "judge",
        "station.toml",
        "rounds.csv",
        "--as-of",
        "2020-01-01",
    ];
    // No round is not the same as steady: nothing was judged.
    let nothing_yet = folder.run(before_any);
    assert!(
        nothing_yet.err.contains("every round is later than"),
        "{}",
        nothing_yet.err
    );
    nothing_yet.refused();
}

#[test]
fn a_file_of_which_every_row_is_rejected_is_2() {
    let folder = Folder::with_demo();
    let rounds = folder.text("rounds.csv");
    let mut rows: Vec<&str> = rounds.lines().collect();
    rows[1..].reverse();
    folder.put("newest_first.csv", &(rows.join("\n") + "\n"));
    let ran = folder.run(["judge", "station.toml", "newest_first.csv"]);
    let told = ran.err.matches("the rows stand newest first").count();
    assert_eq!(told, 1, "{}", ran.err);
    assert!(ran.err.contains("every row was rejected"), "{}", ran.err);
    ran.refused();
}

#[test]
fn a_safety_valve_that_does_not_suit_is_told_and_the_file_is_sound() {
    let folder = Folder::with_demo();
    let station = folder.text("station.toml");
    let set = station.split("safety_valve").nth(1).expect("one is told");
    let set = set.split('"').nth(1).expect("its set pressure");
    folder.put("high.toml", &station.replace(set, "15.5 bar(g)"));
    let ran = folder.run(["station", "check", "high.toml"]);
    assert!(
        ran.err.contains("15.5 bar(g) lies above `max_pressure`"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("is sound"), "{}", ran.err);
    assert_eq!(ran.status, Some(0));
}

#[test]
fn a_pressure_above_a_plate_is_warned_of() {
    let folder = Folder::with_demo();
    let quiet = folder.run(EXPECT);
    assert_eq!(quiet.err, "");
    let high = folder.run(EXPECT.iter().chain(&["--pressure", "11.9 bar(g)"]));
    assert!(
        high.err
            .contains("11.90 bar(g) is above the maximum pressure of K1"),
        "{}",
        high.err
    );
    high.done();
}

#[test]
fn one_bad_row_is_3_and_the_rest_is_judged() {
    let folder = Folder::with_demo();
    let rounds = folder.text("rounds.csv");
    folder.put("more.csv", &format!("{rounds}not a time\n"));
    let good = folder.run(["judge", "station.toml", "rounds.csv", "--json"]);
    let bad = folder.run(["judge", "station.toml", "more.csv", "--json"]);
    assert_eq!((good.status, bad.status), (Some(0), Some(3)));
    assert!(bad.err.starts_with("more.csv: line "), "{}", bad.err);
    let findings = |out: &str| {
        let json: serde_json::Value = serde_json::from_str(out).expect("it is JSON");
        json["findings"].clone()
    };
    assert_eq!(findings(&good.out), findings(&bad.out));
}

#[test]
fn one_unusable_file_of_four_judges_nothing() {
    let folder = Folder::with_demo();
    folder.put("empty.csv", "");
    folder
        .run([
            "judge",
            "station.toml",
            "rounds.csv",
            "station.toml",
            "empty.csv",
            "--json",
        ])
        .refused();
}

#[test]
fn the_demo_says_that_it_is_invented_on_stderr() {
    let ran = calcant(["demo", "--json"]);
    assert_eq!(
        ran.err,
        "This station is invented, and so are its rounds.\n"
    );
    assert!(ran.done().starts_with('{'));
}

#[test]
fn a_reader_that_leaves_early_is_no_error() {
    for args in [
        &["demo", "--json", "--working"][..],
        &["explain"],
        &["station", "new"],
        &["--help"],
    ] {
        let mut child = Command::new(PROGRAM)
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it was built for this test");
        drop(child.stdout.take());
        let mut said = String::new();
        let mut stderr = child.stderr.take().expect("it is piped");
        stderr.read_to_string(&mut said).expect("words are UTF-8");
        let status = child.wait().expect("it ends");
        assert_eq!(status.code(), Some(0), "{args:?}: {said}");
        assert!(!said.contains("pipe"), "{args:?}: {said}");
    }
}

#[test]
fn a_picture_is_written_whole() {
    let folder = Folder::with_demo();
    folder.run(EXPECT.iter().chain(&["--svg", "a.svg"])).done();
    let svg = folder.text("a.svg");
    assert!(
        svg.starts_with("<svg") || svg.starts_with("<?xml"),
        "{}",
        &svg[..40.min(svg.len())]
    );
    assert!(svg.trim_end().ends_with("</svg>"));
    assert_eq!(folder.names(), ["a.svg", "rounds.csv", "station.toml"]);
    // Written over, whole again.
    folder.put("a.svg", "old");
    folder.run(EXPECT.iter().chain(&["--svg", "a.svg"])).done();
    assert_eq!(folder.text("a.svg"), svg);
}

#[test]
#[cfg(unix)]
fn a_picture_follows_a_link_and_leaves_it() {
    let folder = Folder::with_demo();
    folder.put("real.svg", "old");
    std::os::unix::fs::symlink("real.svg", folder.path("link.svg")).expect("links can be made");
    folder
        .run(EXPECT.iter().chain(&["--svg", "link.svg"]))
        .done();
    assert!(folder.path("link.svg").is_symlink());
    assert!(folder.text("real.svg").contains("</svg>"));
}

#[test]
#[cfg(unix)]
fn a_pipe_stays_a_pipe() {
    let folder = Folder::with_demo();
    let ran = folder.shell(
        "mkfifo pipe && { cat pipe > got.svg & } && calcant expect station.toml \
         --ambient '32 degC' --humidity 60 --svg pipe && wait && test -p pipe",
    );
    assert_eq!(ran.status, Some(0), "{ran:?}");
    assert!(folder.text("got.svg").trim_end().ends_with("</svg>"));
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_leaves_nothing_half_written() {
    // A limit on the size of files stands in for a full disk: writing fails after some bytes.
    let folder = Folder::with_demo();
    let expect = "calcant expect station.toml --ambient '32 degC' --humidity 60 --svg a.svg";
    let full = |blocks: u32, line: &str| {
        folder.shell(&format!("trap '' XFSZ; ulimit -f {blocks}; {line}"))
    };
    let ran = full(1, expect);
    assert_eq!((ran.status, ran.out.as_str()), (Some(1), ""), "{ran:?}");
    assert!(
        ran.err.starts_with("calcant: a.svg could not be written: "),
        "{}",
        ran.err
    );
    assert_eq!(folder.names(), ["rounds.csv", "station.toml"]);

    folder.put("a.svg", "old");
    assert_eq!(full(1, expect).status, Some(1));
    assert_eq!(folder.text("a.svg"), "old", "what was there is lost");

    // Enough for the station file, not for the rounds.
    let ran = full(30, "calcant demo --write demo");
    assert_eq!(ran.status, Some(1), "{ran:?}");
    assert!(
        ran.err.contains("rounds.csv could not be written"),
        "{}",
        ran.err
    );
    assert!(
        !folder.path("demo/station.toml").exists(),
        "half a demo stays"
    );
    assert!(
        !folder.path("demo/rounds.csv").exists(),
        "half a file stays"
    );
}
