//! `judge --json` and `expect --json`: the shape, and what holds between the values.

use serde_json::Value;

use crate::harness::Folder;
use crate::shape::{EXPECTED, IF_HOT, JUDGED, kinds, wrong};
use crate::small;

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

#[track_caller]
fn has_the_shape(table: &str, answer: &Value) {
    assert_eq!(wrong(table, answer), Vec::<String>::new());
}

#[test]
fn judged_has_its_shape() {
    let folder = Folder::with_demo();
    for as_of in small::DATES {
        let args = [
            "judge",
            "station.toml",
            "rounds.csv",
            "--json",
            "--as-of",
            as_of,
        ];
        has_the_shape(JUDGED, &folder.run(args).json());
    }
    for story in small::STORIES {
        let judged = story.judged();
        has_the_shape(JUDGED, &judged);
        holds_together(&judged);
    }
    holds_together(
        &folder
            .run(["judge", "station.toml", "rounds.csv", "--json"])
            .json(),
    );
}

/// What holds between the values of one judgement.
fn holds_together(judged: &Value) {
    let rounds = &judged["rounds"];
    let count = |key: &str| rounds[key].as_u64().unwrap_or_default();
    assert_eq!(count("read"), count("accepted") + count("rejected_total"));
    assert_eq!(
        list(rounds, "rejected").len() as u64,
        count("rejected_total").min(1000)
    );
    let mut ids = Vec::new();
    let mut urgency = 0;
    for finding in list(judged, "findings") {
        let id = finding["id"].as_str().unwrap_or_default();
        assert!(!ids.contains(&id), "two findings are called {id}");
        ids.push(id);
        let subject = finding["subject"].as_str().unwrap_or_default();
        assert!(
            id.strip_prefix(subject)
                .is_some_and(|part| part.starts_with('.')),
            "{id} is not its subject {subject} and a part"
        );
        let order = ["now", "this week", "next service", "watch"];
        let place = order.iter().position(|u| finding["urgency"] == *u);
        assert!(
            place >= Some(urgency),
            "{id} stands behind less urgent ones"
        );
        urgency = place.unwrap_or_default();
        let cost = &finding["cost"];
        assert!(
            cost["per_year"].is_number() || cost["why_not"].is_string(),
            "{id}: neither a cost nor why there is none"
        );
        let sum: f64 = list(finding, "causes")
            .iter()
            .filter_map(|cause| cause["probability"].as_f64())
            .sum();
        assert!(sum <= 1.0 + 1.0e-9, "{id}: causes add up to {sum}");
        if let Value::Object(health) = &finding["health"] {
            let of = |key: &str| health[key].as_f64().unwrap_or(f64::NAN);
            assert!(
                of("low") <= of("value") && of("value") <= of("high"),
                "{id}: {health:?}"
            );
        }
        let limit = &finding["limit"];
        let mut days = ["earliest", "likely", "latest"]
            .iter()
            .filter_map(|key| limit[*key].as_str());
        let sorted = days.clone().is_sorted();
        assert!(sorted, "{id}: {:?}", days.by_ref().collect::<Vec<_>>());
        for text in ["title", "action"] {
            let text = finding[text].as_str().unwrap_or_default();
            assert!(!text.is_empty() && !text.contains('!'), "{id}: {text}");
        }
    }
    for expectation in list(judged, "expectations") {
        let of = |key: &str| expectation[key].as_f64().unwrap_or(f64::NAN);
        let sigma = (of("high") - of("low")) / 3.92;
        let deviations = (of("read") - of("mid")) / sigma;
        assert!(
            (deviations - of("deviations")).abs() <= 1.0e-6 * deviations.abs().max(1.0),
            "{expectation}"
        );
    }
}

#[test]
fn the_stories_show_many_kinds() {
    // Otherwise the walks above would hold of nothing.
    let mut seen: Vec<String> = Vec::new();
    for story in small::STORIES {
        let judged = story.judged();
        for finding in list(&judged, "findings") {
            seen.extend(finding["kind"].as_str().map(str::to_owned));
        }
        for kind in story.finds {
            assert!(
                list(&judged, "findings").iter().any(|f| f["kind"] == *kind),
                "{} is not found in `{}`",
                kind,
                story.name
            );
        }
    }
    seen.sort();
    seen.dedup();
    assert!(seen.len() >= 12, "only {seen:?} of {} kinds", kinds().len());
}

#[test]
fn expected_has_its_shape() {
    let folder = Folder::with_demo();
    small::put_all(&folder);
    for station in ["station.toml", "variable.toml", "other.toml", "bare.toml"] {
        for duty in ["1", "0.8", "0.05", "K1=0.4"] {
            let args = [
                "expect",
                station,
                "--ambient",
                "32 degC",
                "--humidity",
                "60",
                "--duty",
                duty,
                "--json",
            ];
            let answer = folder.run(args).json();
            has_the_shape(EXPECTED, &answer);
            let conditions = &answer["conditions"];
            assert_eq!(
                (&conditions["ambient_degC"], &conditions["humidity"]),
                (&Value::from(32.0), &Value::from(0.6))
            );
            for place in list(&answer, "places") {
                let of = |key: &str| place[key].as_f64().unwrap_or(f64::NAN);
                assert!(
                    of("liquid_L_h") >= 0.0 && of("vapour_g_per_kg") > 0.0,
                    "{place}"
                );
                assert!(
                    of("liquid_L_day") <= 24.0 * of("liquid_L_h") + 1.0e-9,
                    "{place}"
                );
                assert!(
                    of("dew_point_degC") <= of("temperature_degC") + 0.05,
                    "{place}"
                );
            }
        }
    }
}

#[test]
fn nothing_runs_at_duty_zero() {
    let folder = Folder::with_demo();
    let args = [
        "expect",
        "station.toml",
        "--ambient",
        "32 degC",
        "--humidity",
        "60",
        "--duty",
        "0",
        "--json",
    ];
    let answer = folder.run(args).json();
    has_the_shape(EXPECTED, &answer);
    assert!(list(&answer, "machines").is_empty(), "{answer}");
}

#[test]
fn a_machine_of_another_kind_has_no_oil() {
    let folder = Folder::fresh();
    small::put_all(&folder);
    let args = [
        "expect",
        "other.toml",
        "--ambient",
        "32 degC",
        "--humidity",
        "60",
        "--json",
    ];
    let answer = folder.run(args).json();
    let machine = &answer["machines"][0];
    for key in [
        "oil_temperature_degC",
        "lowest_safe_oil_temperature_degC",
        "design_hot_oil_temperature_degC",
    ] {
        assert!(machine[key].is_null(), "{key}: {machine}");
    }
}

#[test]
fn several_stations_stand_in_a_list_by_who_needs_help_first() {
    let folder = Folder::with_demo();
    small::put_all(&folder);
    folder.put("quiet.csv", "time,K1.state\n2026-01-05 07:00,loaded\n");
    let calm = ["bare.toml", "quiet.csv"];
    let ill = ["station.toml", "rounds.csv"];
    let run = |files: [&str; 4]| {
        let json = ["judge"].into_iter().chain(files).chain(["--json"]);
        folder.run(json).json()
    };
    let one = run([calm[0], calm[1], ill[0], ill[1]]);
    let other = run([ill[0], ill[1], calm[0], calm[1]]);
    assert_eq!(one, other, "the order of the arguments shows");
    assert_eq!(one["calcant"], 1);
    let names: Vec<&str> = list(&one, "stations")
        .iter()
        .filter_map(|s| s["station"].as_str())
        .collect();
    assert_eq!(names, ["Quillbank Tileworks", "Bare Works (invented)"]);
    for station in list(&one, "stations") {
        has_the_shape(JUDGED, station);
    }
    let alone = folder.run(["judge", ill[0], ill[1], "--json"]).json();
    assert_eq!(one["stations"][0], alone, "company changes the judgement");
}

#[test]
fn with_a_hot_day_the_station_that_fears_it_comes_first() {
    let folder = Folder::with_demo();
    let station = folder.text("station.toml");
    folder.put("calm.toml", &station.replace("Quillbank Tileworks", "Calm"));
    let few: Vec<_> = folder
        .text("rounds.csv")
        .lines()
        .take(20)
        .map(str::to_owned)
        .collect();
    folder.put("few.csv", &(few.join("\n") + "\n"));
    // Many urgent findings, and machines that stand any heat.
    let limits = "warn = \"105 degC\", trip = \"110 degC\"";
    assert!(station.contains(limits));
    let stands = station.replace(limits, "warn = \"125 degC\", trip = \"130 degC\"");
    folder.put("station.toml", &stands);
    let files = [
        "judge",
        "station.toml",
        "rounds.csv",
        "calm.toml",
        "few.csv",
    ];
    let run = |more: &[&str]| folder.run(files.iter().chain(more));
    let names = |more: &[&str]| -> Vec<String> {
        let told = run(more).json();
        let each = list(&told, "stations").iter();
        each.map(|s| s["station"].as_str().unwrap_or_default().to_owned())
            .collect()
    };
    assert_eq!(names(&["--json"]), ["Quillbank Tileworks", "Calm"]);
    let hot = ["--json", "--if-hot", "42 degC"];
    assert_eq!(names(&hot), ["Calm", "Quillbank Tileworks"]);
    let told = run(&hot).json();
    let machines = list(&told["stations"][0], "if_hot");
    let trips: Vec<_> = machines.iter().map(|m| m["p_trip"].as_f64()).collect();
    assert!(trips.len() == 2 && trips[0] > trips[1], "{trips:?}");

    // The overview says why, in text and on the page, in the units of the reader.
    let text = run(&["--if-hot", "  108  degF ", "--report", "page.html"]).done();
    let overview: Vec<_> = text.lines().take(4).collect();
    let asked = "108 °F (42.2 °C)";
    assert!(
        overview[0].contains(&format!("if it gets {asked} tomorrow")),
        "{overview:?}"
    );
    assert!(overview[2].contains("Calm ") && overview[2].contains("K1: warning "));
    assert!(overview[3].ends_with("K1: warning under 1 %, trip under 1 %"));
    assert!(text.contains(&format!("\nIf it gets {asked} tomorrow\n")));
    let page = folder.text("page.html").replace('\u{a0}', " ");
    assert!(page.contains(&format!(
        "first, if it gets {asked} tomorrow, comes first</h1>"
    )));
    let place = |name: &str| page.find(&format!(">{name}</bdi>"));
    assert!(place("Calm").is_some() && place("Calm") < place("Quillbank Tileworks"));
    assert!(page.contains(">K1: warning under 1 %, trip under 1 %</a>"));
}

#[test]
fn many_stations_are_told_like_each_alone() {
    let folder = Folder::with_demo();
    small::put_all(&folder);
    folder.put("quiet.csv", "time,K1.state\n2026-01-05 07:00,loaded\n");
    let calm = ["bare.toml", "quiet.csv"];
    let ill = ["station.toml", "rounds.csv"];
    // More than is held in memory.
    let files = [[calm; 2].concat(), ill.repeat(14)].concat();
    let run = |files: &[&str], how: &str| {
        let all = ["judge"].into_iter().chain(files.iter().copied());
        folder.run(all.chain([how]))
    };
    let together = run(&files, "--json");
    assert!(together.out.len() > 1 << 20, "{}", together.out.len());
    let together = together.json();
    let stations = list(&together, "stations");
    assert_eq!(stations.len(), 16);
    let (ill_alone, calm_alone) = (run(&ill, "--json").json(), run(&calm, "--json").json());
    for (n, station) in stations.iter().enumerate() {
        let alone = if n < 14 { &ill_alone } else { &calm_alone };
        assert!(station == alone, "station {n} differs");
    }
    let text = run(&files, "--working").out;
    assert_eq!(text.matches(&run(&ill, "--working").out).count(), 14);
}

#[test]
fn the_first_thousand_rejected_rows_are_listed() {
    let folder = Folder::fresh();
    small::put_all(&folder);
    let mut rounds = String::from("time,K1.state\n2026-01-05 07:00,loaded\n");
    for _ in 0..1_200 {
        rounds.push_str("2026-01-05 07:00,walking\n");
    }
    folder.put("rounds.csv", &rounds);
    let ran = folder.run(["judge", "bare.toml", "rounds.csv", "--json"]);
    assert_eq!(ran.status, Some(3), "{}", ran.err);
    assert!(ran.err.lines().count() < 60, "stderr is flooded");
    assert!(ran.err.contains("1200 rows"), "{}", ran.err);
    let judged: Value = serde_json::from_str(&ran.out).expect("it is JSON");
    has_the_shape(JUDGED, &judged);
    holds_together(&judged);
    assert_eq!(judged["rounds"]["rejected_total"], 1_200);
    assert_eq!(list(&judged["rounds"], "rejected").len(), 1_000);
    assert_eq!(judged["rounds"]["rejected"][0]["line"], 3);
    assert_eq!(judged["rounds"]["rejected"][0]["column"], "K1.state");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let folder = Folder::with_demo();
    let judge = ["judge", "station.toml", "rounds.csv", "--json"];
    let first = folder.run(judge).done();
    assert_eq!(first, folder.run(judge).done());
    // Nor does it hang on the clock's zone, the language or the folder.
    let elsewhere = folder.shell(
        "mkdir deep && cd deep && TZ=Pacific/Auckland LC_ALL=de_DE.UTF-8 \
         calcant judge ../station.toml ../rounds.csv --json",
    );
    assert_eq!(first, elsewhere.done());
    let expect = [
        "expect",
        "station.toml",
        "--ambient",
        "32 degC",
        "--humidity",
        "60",
        "--json",
    ];
    assert_eq!(folder.run(expect).done(), folder.run(expect).done());
}

#[test]
fn without_as_of_it_is_the_last_accepted_round() {
    let folder = Folder::fresh();
    small::put_all(&folder);
    folder.put(
        "rounds.csv",
        "time,K1.state\n2026-01-05 07:00,loaded\n2026-07-06 07:10:30,loaded\n2026-07-07 07:00,walking\n",
    );
    let ran = folder.run(["judge", "bare.toml", "rounds.csv", "--json"]);
    let judged: Value = serde_json::from_str(&ran.out).expect("it is JSON");
    assert_eq!(
        judged["as_of"], "2026-07-06T07:10:30+01:00",
        "local, with summer time"
    );
    folder.put("none.csv", "time,K1.state\n");
    folder
        .run(["judge", "bare.toml", "none.csv", "--json"])
        .refused();
    // Beside a station that can be judged it is told as having nothing.
    let both = folder.run([
        "judge",
        "bare.toml",
        "rounds.csv",
        "bare.toml",
        "none.csv",
        "--json",
    ]);
    let both: Value = serde_json::from_str(&both.out).expect("it is JSON");
    let none = &list(&both, "stations")[1];
    has_the_shape(JUDGED, none);
    assert!(none["as_of"].is_null());
    assert!(list(none, "findings").is_empty());
    assert!(
        !list(none, "not_judged").is_empty(),
        "silent about having nothing"
    );
}

#[test]
fn a_bare_date_sees_the_whole_of_its_day() {
    let folder = Folder::fresh();
    small::put_all(&folder);
    folder.put(
        "rounds.csv",
        "time,K1.state\n2026-01-05 07:00,loaded\n2026-01-06 22:10,loaded\n2026-01-07 07:00,loaded\n",
    );
    let accepted = |as_of: &str| {
        let judged = folder
            .run([
                "judge",
                "bare.toml",
                "rounds.csv",
                "--json",
                "--as-of",
                as_of,
            ])
            .json();
        (
            judged["as_of"].clone(),
            folder
                .run(["judge", "bare.toml", "rounds.csv", "--as-of", as_of])
                .done()
                .contains("2 of them by then"),
        )
    };
    assert_eq!(
        accepted("2026-01-06"),
        ("2026-01-06T23:59:59+00:00".into(), true)
    );
    let morning = accepted("2026-01-06 08:00");
    assert_eq!(morning, ("2026-01-06T08:00:00+00:00".into(), false));
}

#[test]
fn as_of_hides_later_rounds_and_later_work() {
    let folder = Folder::with_demo();
    let rounds = folder.text("rounds.csv");
    let day = "2026-03-02";
    let mut early: Vec<&str> = Vec::new();
    for (n, line) in rounds.lines().enumerate() {
        if n == 0 || line < "2026-03-03" {
            early.push(line);
        }
    }
    assert!(early.len() > 100 && early.len() < rounds.lines().count());
    folder.put("early.csv", &(early.join("\n") + "\n"));
    let args = |rounds| ["judge", "station.toml", rounds, "--json", "--as-of", day];
    let mut all = folder.run(args("rounds.csv")).json();
    let mut cut = folder.run(args("early.csv")).json();
    for judged in [&mut all, &mut cut] {
        if let Some(judged) = judged.as_object_mut() {
            // The file is longer, of course.
            judged.remove("rounds");
        }
    }
    assert_eq!(all, cut, "rounds after {day} show");

    // The same moment, said in three ways.
    let mut answers = Vec::new();
    for as_of in [
        "2026-07-01T12:00",
        "2026-07-01 12:00:00",
        "2026-07-01T11:00:00Z",
    ] {
        let args = [
            "judge",
            "station.toml",
            "rounds.csv",
            "--json",
            "--as-of",
            as_of,
        ];
        answers.push(folder.run(args).done());
    }
    assert_eq!(answers[0], answers[1]);
    assert_eq!(answers[0], answers[2]);
    let json: Value = serde_json::from_str(&answers[0]).expect("it is JSON");
    assert_eq!(json["as_of"], "2026-07-01T12:00:00+01:00");
}

#[test]
fn if_hot_is_told_only_when_asked() {
    let folder = Folder::with_demo();
    let ask = |more: &[&str]| {
        let judge = ["judge", "station.toml", "rounds.csv", "--json"];
        folder.run(judge.iter().chain(more)).json()
    };
    let plain = ask(&[]);
    assert!(plain.get("if_hot").is_none(), "told without being asked");
    let mut last = f64::NEG_INFINITY;
    for outdoors in ["10 degC", "30 degC", "107.6 degF"] {
        let mut asked = ask(&["--if-hot", outdoors]);
        has_the_shape(JUDGED, &asked);
        has_the_shape(IF_HOT, &asked);
        let first = asked["if_hot"][0].clone();
        let oil = first["oil_temperature_degC"]["mid"].as_f64();
        assert!(oil > Some(last), "hotter outdoors, no hotter oil: {first}");
        last = oil.unwrap_or(f64::NAN);
        assert!(
            first["p_trip"].as_f64() <= first["p_warn"].as_f64(),
            "{first}"
        );
        if let Some(asked) = asked.as_object_mut() {
            asked.remove("if_hot");
        }
        assert_eq!(asked, plain, "the question changes the judgement");
    }
}

#[test]
fn units_change_sentences_but_no_number() {
    let folder = Folder::with_demo();
    let run = |units| {
        let args = [
            "judge",
            "station.toml",
            "rounds.csv",
            "--json",
            "--units",
            units,
        ];
        folder.run(args).json()
    };
    let (mut si, mut us) = (run("si"), run("us"));
    assert_ne!(si, us, "sentences follow the units");
    fn without_sentences(value: &mut Value) {
        match value {
            Value::Array(list) => list.iter_mut().for_each(without_sentences),
            Value::Object(map) => map.values_mut().for_each(without_sentences),
            // Units are words that must not change; they have no space.
            Value::String(text) if text.contains(' ') => *text = String::new(),
            _ => {}
        }
    }
    without_sentences(&mut si);
    without_sentences(&mut us);
    assert_eq!(si, us);
}
