//! `--report`: one page, whole or not at all, that changes nothing else.

use crate::harness::Folder;

#[test]
fn the_page_is_written_and_the_text_stays_the_same() {
    let folder = Folder::with_demo();
    let bare = folder.run(["judge", "station.toml", "rounds.csv"]);
    let told = folder.run([
        "judge",
        "station.toml",
        "rounds.csv",
        "--report",
        "page.html",
    ]);
    assert_eq!((told.status, &told.err), (bare.status, &bare.err));
    assert_eq!(told.out, bare.out);
    let page = folder.text("page.html");
    assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>\n"));
    // Every finding that the text tells is told with the same sentence.
    let json = folder
        .run(["judge", "station.toml", "rounds.csv", "--json"])
        .json();
    let findings = json["findings"].as_array().expect("findings are a list");
    assert!(findings.len() > 5);
    let plain = page.replace('\u{a0}', " ").replace("&#39;", "'");
    for finding in findings {
        let title = finding["title"].as_str().expect("a title is a sentence");
        assert!(plain.contains(title), "{title}");
    }
    assert_eq!(
        folder.names(),
        ["page.html", "rounds.csv", "station.toml"],
        "nothing else is left behind"
    );
}

#[test]
fn the_demo_says_that_it_is_invented() {
    let folder = Folder::fresh();
    folder
        .run(["demo", "--report", "page.html", "--if-hot", "42 degC"])
        .done();
    let page = folder.text("page.html");
    assert!(page.contains("This station is invented"));
    assert!(page.contains("If it gets 42\u{a0}°C tomorrow"));
    let folder = Folder::with_demo();
    let own = folder
        .text("station.toml")
        .replace(" is invented", " is ours");
    folder.put("own.toml", &own);
    folder
        .run(["judge", "own.toml", "rounds.csv", "--report", "page.html"])
        .done();
    assert!(!folder.text("page.html").contains("is invented"));
}

#[test]
fn rejected_rows_are_listed_and_give_the_same_status() {
    let folder = Folder::with_demo();
    let mut rounds = folder.text("rounds.csv");
    rounds.push_str("not-a-time<b>\n");
    folder.put("rounds.csv", &rounds);
    let ran = folder.run([
        "judge",
        "station.toml",
        "rounds.csv",
        "--report",
        "page.html",
    ]);
    assert_eq!(ran.status, Some(3), "{}", ran.err);
    let page = folder.text("page.html");
    assert!(page.contains("Rows that were rejected"));
    assert!(!page.contains("time<b>"));
}

#[test]
fn several_stations_stand_on_one_page_in_the_order_of_the_text() {
    let folder = Folder::with_demo();
    let quiet = folder
        .text("station.toml")
        .replace("Quillbank Tileworks", "Second");
    folder.put("second.toml", &quiet);
    let few: String = folder
        .text("rounds.csv")
        .lines()
        .take(20)
        .map(|line| format!("{line}\n"))
        .collect();
    folder.put("few.csv", &few);
    folder
        .run([
            "judge",
            "second.toml",
            "few.csv",
            "station.toml",
            "rounds.csv",
            "--report",
            "page.html",
        ])
        .done();
    let page = folder.text("page.html");
    let place = |name: &str| page.find(&format!(">{name}</bdi>"));
    assert!(place("Quillbank Tileworks").is_some());
    assert!(place("Quillbank Tileworks") < place("Second"));
}

#[test]
fn nothing_is_overwritten_or_left_half() {
    let folder = Folder::with_demo();
    let before = folder.text("rounds.csv");
    for (path, why) in [
        ("rounds.csv", "is a file that is judged"),
        ("./station.toml", "is a file that is judged"),
        (".", "is a folder"),
        ("nowhere/page.html", "there is no folder"),
    ] {
        let said = folder
            .run(["judge", "station.toml", "rounds.csv", "--report", path])
            .refused();
        assert!(said.contains(why) && said.contains("hint:"), "{said}");
    }
    assert_eq!(folder.text("rounds.csv"), before);
    // Input that cannot be used leaves an older page as it is.
    folder.put("page.html", "older");
    folder.put("broken.toml", "calcant = 1\n");
    folder
        .run([
            "judge",
            "broken.toml",
            "rounds.csv",
            "--report",
            "page.html",
        ])
        .refused();
    assert_eq!(folder.text("page.html"), "older");
}

#[test]
fn json_and_page_can_be_had_at_once() {
    let folder = Folder::with_demo();
    let json = folder
        .run([
            "judge",
            "station.toml",
            "rounds.csv",
            "--json",
            "--units",
            "us",
            "--report",
            "page.html",
        ])
        .json();
    assert_eq!(json["calcant"], 1);
    assert!(folder.text("page.html").contains("°F"));
}
