//! The figures are the same, to the last bit, however the bytes are cut and whoever parses them; and
//! no bytes, however damaged, make the reader fail otherwise than by telling.

mod support;

use study::{LogOptions, Study};

use support::{read_with, rows};

/// A log with everything in it that cleaning looks for.
fn log(random: &mut fastrand::Rng, length: u32) -> String {
    // Behind the rows that are learned from, where there are so many.
    let late = if length > 140_000 { 132_000 } else { 0 };
    let [stuck, off, pressure_stuck] = [late; 3].map(|late| random.u32(late..length));
    let mut text = String::new();
    let mut seconds = Vec::new();
    let mut second = random.u32(0..80_000);
    let step = random.choice([1, 5, 60]).unwrap_or(1);
    for _ in 0..length {
        seconds.push(second);
        second = match random.u32(0..2000) {
            0 => second + step * random.u32(2..400),
            1 => second,
            2 => second.saturating_sub(step * random.u32(1..30)),
            _ => second + step,
        };
    }
    let mut power = 33.0;
    let header = "time,K1.power [kW],MAIN.pressure [bar(g)],K2.running,site.ambient [degC],note";
    for (row, &second) in (0_u32..).zip(&seconds) {
        if random.u32(0..60) == 0 {
            power = random.choice([0.0, 9.2, 33.0]).unwrap_or(0.0);
        }
        let mut cell = |bad: u32| {
            (random.u32(0..bad) == 0).then(|| {
                random
                    .choice(["", "ERR", "NaN", "1e3", "-7", " 5 "])
                    .unwrap_or("")
            })
        };
        let broken = [cell(900), cell(900), cell(900), cell(3)];
        let value = |at: usize, value: String| broken[at].map_or(value, str::to_owned);
        let power = if (off..off + 4000).contains(&row) {
            "0.0".to_owned()
        } else if (stuck..stuck + 4000).contains(&row) {
            "31.7".to_owned()
        } else {
            format!("{:.2}", power + random.f64())
        };
        let pressure = if (pressure_stuck..pressure_stuck + 9000).contains(&row) {
            7.9
        } else {
            6.8 + random.f64()
        };
        let line = rows("", std::iter::once(second), |_| {
            format!(
                "{},{},{},{},{}",
                value(0, power.clone()),
                value(1, format!("{pressure:.3}")),
                value(2, u32::from(row % 900 < 300).to_string()),
                value(3, format!("{:.1}", 20.0 + f64::from(row % 7))),
                if row % 500 == 0 { "\"a, b\"" } else { "x" }
            )
        });
        text.push_str(line.trim_start_matches('\n'));
    }
    format!("{header}\n{text}")
}

fn cut(text: &str, block: usize, workers: usize) -> Result<Study, String> {
    let options = LogOptions {
        block,
        workers: Some(workers),
        ..LogOptions::default()
    };
    read_with(text, "Europe/Lisbon", &options)
}

#[test]
fn any_cut_and_any_number_of_threads_give_the_same_figures() {
    let mut random = fastrand::Rng::with_seed(11);
    for case in 0..12 {
        let text = log(&mut random, 20_000);
        let whole = cut(&text, 64 << 20, 1).expect("a good log");
        assert!(whole.left_out_total > 0 && whole.rejected_total > 0);
        for (block, workers) in [
            (1, 1),
            (97, 2),
            (4096, 3),
            (random.usize(1..60_000), 2),
            (1 << 20, 4),
        ] {
            assert_eq!(
                cut(&text, block, workers).as_ref(),
                Ok(&whole),
                "case {case}, {block} bytes"
            );
        }
    }
}

#[test]
fn a_log_longer_than_what_is_learned_from_is_the_same_too() {
    let mut random = fastrand::Rng::with_seed(12);
    let mut stuck = 0;
    for case in 0..4 {
        let text = log(&mut random, 160_000);
        let whole = cut(&text, 64 << 20, 1).expect("a good log");
        let long = |l: &&study::LeftOut| l.why == study::Why::Stuck;
        stuck += whole.left_out.iter().filter(long).count();
        for (block, workers) in [(1009, 1), (10_007, 2), (random.usize(5000..500_000), 2)] {
            let other = cut(&text, block, workers);
            assert_eq!(other.as_ref(), Ok(&whole), "case {case}, {block} bytes");
        }
    }
    assert!(stuck > 3, "{stuck}");
}

#[test]
fn damaged_bytes_are_told_and_never_end_in_a_fault_of_ours() {
    let mut random = fastrand::Rng::with_seed(13);
    let good = log(&mut random, 200).into_bytes();
    for _ in 0..4000 {
        let mut bytes = good.clone();
        for _ in 0..random.usize(1..30) {
            let at = random.usize(0..bytes.len());
            match random.u32(0..5) {
                0 => bytes[at] = random.u8(..),
                1 => bytes[at] = *random.choice(b",;\t\n\r\"-.:0 \0[").unwrap_or(&b','),
                2 => bytes.truncate(at.max(1)),
                3 => {
                    let end = (at + random.usize(1..40)).min(bytes.len());
                    bytes.drain(at..end);
                    bytes.push(b'\n');
                }
                _ => {
                    let end = (at + random.usize(1..40)).min(bytes.len());
                    let copy = bytes[at..end].to_vec();
                    let to = random.usize(0..bytes.len());
                    bytes.splice(to..to, copy);
                }
            }
        }
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let whole = cut(&text, 1 << 20, 1);
        match &whole {
            Ok(study) => {
                let lines = text.lines().count() as u64;
                assert!(study.rows <= lines && study.left_out_total <= 10 * lines);
                for day in study.channels.iter().flat_map(|c| &c.days) {
                    assert!(
                        day.count > 0 && day.min <= day.mean + 1e-6 && day.mean <= day.max + 1e-6
                    );
                    assert!(day.integral.is_finite() && day.covered_s >= 0.0);
                }
            }
            Err(message) => assert!(message.contains("hint: "), "{message}"),
        }
        let block = random.usize(1..3000);
        assert_eq!(cut(&text, block, 2), whole, "{block} bytes of {text:?}");
    }
}
