//! What the judge is compared with: fixed limits, a regression for each point with a CUSUM, and the
//! limit that no judge can pass.
//!
//! Must not know: the judge.

use std::collections::BTreeMap;

use histories::{History, Plant, Reading, RoundRow, Trouble, TruthRow};
use jiff::civil::{DateTime, Weekday};

use crate::cases::Kindred;

fn number(row: &RoundRow, point: &str) -> Option<f64> {
    match row.readings.get(point) {
        Some(Reading::Number { value, .. }) => Some(*value),
        _ => None,
    }
}

fn word(row: &RoundRow, point: &str) -> Option<&'static str> {
    match row.readings.get(point) {
        Some(Reading::Word(word)) => Some(word),
        _ => None,
    }
}

/// Fixed limits as they stand on nameplates, twice in succession; words at once.
fn over_limits(kind: &Kindred, plant: &Plant, row: &RoundRow) -> Option<bool> {
    let machine = &plant.machines[0].plate;
    let over = |point: &str, limit: f64| number(row, point).map(|v| v >= limit);
    match kind.name {
        "mat clogging" => {
            if word(row, "K1.mat") == Some("clogged") {
                return Some(true);
            }
            over("K1.oil_temperature", 105.0)
        }
        "oil-side fouling" => over("K1.oil_temperature", 105.0),
        "belt slipping" => over("K1.belt_indicator", 1.0),
        "separator loading" => over("K1.separator_drop", machine.separator_change_bar),
        "filter loading" => over("F1.drop", plant.filter.change_bar),
        // A dew point of class 5 of ISO 8573-1: 7 degC.
        "dryer weak" => over("D1.dew_point", 7.0),
        "drain blocked" => word(row, "R1.drain.test").map(|w| w == "nothing"),
        "drain passing" => word(row, "R1.drain.test").map(|w| w == "passing"),
        "room hot" => over("room.temperature", 40.0),
        "intake choked" => over("K1.intake_drop", 50.0),
        "leaks growing" | "air end worn" => {
            number(row, "MAIN.pressure").map(|p| p < plant.header.wanted_bar_g)
        }
        _ => None,
    }
}

/// Days from the beginning until a fixed limit is passed.
pub(crate) fn fixed(kind: &Kindred, trouble: &Trouble, history: &History) -> Option<f64> {
    let mut run = 0;
    for row in history.rounds.iter().filter(|r| r.day >= trouble.from) {
        let Some(over) = over_limits(kind, &history.plant, row) else {
            continue;
        };
        let by_word = word(row, "K1.mat") == Some("clogged") && kind.name == "mat clogging"
            || kind.name.starts_with("drain");
        run = if over { run + 1 } else { 0 };
        if run >= 2 || (run == 1 && by_word) {
            return Some(f64::from(row.day - trouble.from));
        }
    }
    None
}

/// Days in which the regression learns.
const LEARNS: u32 = 60;

/// The state of a machine that a point belongs to: other states are other readings.
fn group(row: &RoundRow, point: &str) -> String {
    let asset = point.split('.').next().unwrap_or("");
    let state = word(row, &format!("{asset}.state")).unwrap_or("");
    format!("{point} {state}")
}

/// Standardised residuals of each numeric point, (day, z), by ordinary least squares on outdoor
/// temperature and duty of the first sixty days.
pub(crate) fn residuals(history: &History) -> BTreeMap<String, Vec<(u32, f64)>> {
    let mut columns: BTreeMap<String, Vec<(u32, [f64; 3], f64)>> = BTreeMap::new();
    let mut last: Option<&RoundRow> = None;
    for row in &history.rounds {
        let duty = last.map_or(0.5, |before| {
            let step = |p: &str| Some(number(row, p)? - number(before, p)?);
            let (mut sum, mut n) = (0.0, 0.0);
            for m in &history.plant.machines {
                let hours = f64::from(row.day - before.day).max(1.0) * 16.0;
                if let Some(loaded) = step(&format!("{}.hours_loaded", m.id)) {
                    sum += (loaded / hours).clamp(0.0, 1.5);
                    n += 1.0;
                }
            }
            if n > 0.0 { sum / n } else { 0.5 }
        });
        last = Some(row);
        let Some(ambient) = number(row, "site.ambient") else {
            continue;
        };
        for (point, reading) in &row.readings {
            let Reading::Number { value, .. } = reading else {
                continue;
            };
            let name = point.rsplit('.').next().unwrap_or("");
            let skip = [
                "hours_run",
                "hours_loaded",
                "starts",
                "ambient",
                "humidity",
                "oil_added",
            ];
            if skip.contains(&name) {
                continue;
            }
            columns.entry(group(row, point)).or_default().push((
                row.day,
                [1.0, ambient - 15.0, duty],
                *value,
            ));
        }
    }
    columns
        .into_iter()
        .filter_map(|(point, list)| {
            // A point that is read rarely learns until it has been read twelve times.
            let learnt: Vec<_> = list
                .iter()
                .enumerate()
                .filter(|(n, (day, _, _))| *day < LEARNS || *n < 12)
                .map(|(_, s)| *s)
                .collect();
            if learnt.len() < 8 || learnt.last().is_some_and(|l| l.0 > 190) {
                return None;
            }
            let beta = least_squares(&learnt)?;
            let fit = |x: &[f64; 3]| beta.iter().zip(x).map(|(b, x)| b * x).sum::<f64>();
            let freedom = learnt.len() as f64 - 3.0;
            let sum: f64 = learnt.iter().map(|(_, x, y)| (y - fit(x)).powi(2)).sum();
            let sigma = (sum / freedom).sqrt().max(1e-6);
            let z = list
                .iter()
                .skip(learnt.len())
                .map(|(day, x, y)| (*day, ((y - fit(x)) / sigma).clamp(-4.0, 4.0)))
                .collect();
            Some((point, z))
        })
        .collect()
}

fn least_squares(rows: &[(u32, [f64; 3], f64)]) -> Option<[f64; 3]> {
    let mut m = [[0.0; 4]; 3];
    for (_, x, y) in rows {
        for i in 0..3 {
            for j in 0..3 {
                m[i][j] += x[i] * x[j];
            }
            m[i][3] += x[i] * y;
        }
    }
    for (i, row) in m.iter_mut().enumerate() {
        row[i] += 1e-6;
    }
    for i in 0..3 {
        if m[i][i].abs() < 1e-12 {
            return None;
        }
        for j in 0..3 {
            if i != j {
                let f = m[j][i] / m[i][i];
                let pivot = m[i];
                for (a, b) in m[j].iter_mut().zip(pivot) {
                    *a -= f * b;
                }
            }
        }
    }
    Some([m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]])
}

/// Days on which the CUSUM (k = 0.5) of one point passes h. It stands until it has come back to
/// nought, and is not told again while it stands.
pub(crate) fn alarms(list: &[(u32, f64)], h: f64) -> Vec<u32> {
    let mut days = Vec::new();
    let mut sums = [0.0_f64; 2];
    let mut stands = [false; 2];
    for (day, z) in list {
        for (side, sign) in [1.0, -1.0].into_iter().enumerate() {
            sums[side] = (sums[side] + sign * z - 0.5).clamp(0.0, 1.5 * h);
            if sums[side] > h && !stands[side] {
                days.push(*day);
                stands[side] = true;
            } else if sums[side] <= 0.0 {
                stands[side] = false;
            }
        }
    }
    days.dedup();
    days
}

/// The h at which all healthy stations together alarm so often a station and year.
pub(crate) fn tuned(healthy: &[BTreeMap<String, Vec<(u32, f64)>>], years: f64, wanted: f64) -> f64 {
    let count = |h: f64| -> f64 {
        let n: usize = healthy
            .iter()
            .flat_map(|s| s.values())
            .map(|list| alarms(list, h).len())
            .sum();
        n as f64 / years
    };
    let mut h = 5.0;
    while count(h) > wanted && h < 1.0e4 {
        h *= 1.1;
    }
    h
}

/// Days until the regression alarms on a point that feels the fault.
pub(crate) fn regression(
    kind: &Kindred,
    trouble: &Trouble,
    history: &History,
    h: f64,
) -> Option<f64> {
    let all = residuals(history);
    kind.points
        .iter()
        .flat_map(|p| {
            all.iter()
                .filter(move |(name, _)| name.split(' ').next() == Some(*p))
        })
        .flat_map(|(_, list)| alarms(list, h))
        .filter(|day| *day >= trouble.from)
        .min()
        .map(|day| f64::from(day - trouble.from))
}

/// ln of the likelihood ratio at which the limit is said to be reached: one false in a thousand.
const SURE: f64 = 6.9;

/// What a test makes of one reading that says much.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Reader {
    /// It is told which readings were misread.
    Known,
    /// It is not, so that no reading may be more than half of the proof.
    Unknown,
}

impl Reader {
    /// The most that one reading may say, ln of the likelihood ratio: of a known reader what lies outside five
    /// times its noise is no reading.
    fn most(self) -> f64 {
        match self {
            Self::Known => 12.0,
            Self::Unknown => 0.5 * SURE,
        }
    }
}

/// A sequential likelihood-ratio test over the days of a fault: `told` gives of one point what the fault
/// does to it, how far it was read off, and the variance of that; nothing where it says nothing.
fn sequential(
    reader: Reader,
    trouble: &Trouble,
    healthy: &History,
    faulty: &History,
    told: impl Fn(&RoundRow, &str, f64, f64, f64) -> Option<(f64, f64, f64)>,
) -> Option<f64> {
    let mut sum = 0.0;
    let rows = faulty.rounds.iter().zip(&faulty.truth);
    for ((row, truth), (plain, well)) in rows.zip(healthy.rounds.iter().zip(&healthy.truth)) {
        if row.day < trouble.from || row.day != plain.day {
            continue;
        }
        for (point, with) in &truth.values {
            let wrong = truth.misread.as_deref() == Some(point);
            if group(row, point) != group(plain, point) || (wrong && reader == Reader::Known) {
                continue;
            }
            let (Some(without), Some(read)) = (well.values.get(point), number(row, point)) else {
                continue;
            };
            if let Some((effect, error, var)) = told(row, point, *with, *without, read) {
                let most = reader.most();
                sum += ((effect * error - 0.5 * effect * effect) / var).clamp(-most, most);
            }
        }
        sum = sum.max(0.0);
        if sum > SURE {
            return Some(f64::from(row.day - trouble.from));
        }
    }
    None
}

/// What each key's healthy readings are in the mean, and their variance; `of` gives key and value of a
/// reading of a point whose true value is known.
fn learnt<K: Ord>(
    healthy: &History,
    of: impl Fn(&RoundRow, &str, f64, f64) -> Option<(K, f64)>,
) -> BTreeMap<K, (f64, f64)> {
    let mut lists: BTreeMap<K, Vec<f64>> = BTreeMap::new();
    for (row, truth) in healthy.rounds.iter().zip(&healthy.truth) {
        for (point, value) in &truth.values {
            if let Some(read) = number(row, point)
                && truth.misread.as_deref() != Some(point)
                && let Some((key, value)) = of(row, point, read, *value)
            {
                lists.entry(key).or_default().push(value);
            }
        }
    }
    lists
        .into_iter()
        .filter(|(_, list)| list.len() > 4)
        .map(|(key, list)| (key, spread(&list)))
        .collect()
}

/// Mean and variance.
fn spread(list: &[f64]) -> (f64, f64) {
    let n = list.len() as f64;
    let mean = list.iter().sum::<f64>() / n;
    let var = list.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / n;
    (mean, var.max(1e-12))
}

/// The name of a point after its asset.
fn name_of(point: &str) -> &str {
    point.rsplit('.').next().unwrap_or("")
}

/// A sequential likelihood-ratio test that is told the true healthy value of every point, the gauge's
/// own error, its noise, and the fault's true effect. Numbers only: no words, no counters.
pub(crate) fn limit(
    reader: Reader,
    trouble: &Trouble,
    healthy: &History,
    faulty: &History,
) -> Option<f64> {
    let noise = learnt(healthy, |_, point, read, value| {
        Some((point.to_owned(), read - value))
    });
    sequential(
        reader,
        trouble,
        healthy,
        faulty,
        |row, point, with, without, read| {
            if ["hours_run", "hours_loaded", "starts"].contains(&name_of(point)) {
                return None;
            }
            let (bias, var) = noise.get(point)?;
            let gauge = match &trouble.fault {
                histories::Fault::GaugeOff { point: p } if p == point => {
                    trouble.severity_on(row.day)
                }
                _ => 0.0,
            };
            Some((with - without + gauge, read - without - bias, *var))
        },
    )
}

/// Points that say what the plant takes.
const FOLLOW_DEMAND: [&str; 3] = ["flow", "load_time", "unload_time"];

/// Whether the plant rests: off-shift rounds are walked on Saturday afternoons.
fn rests(row: &RoundRow) -> bool {
    row.time.weekday() == Weekday::Saturday && row.time.hour() >= 13
}

/// The same test where nobody tells it the day's demand: the points that follow it are held against
/// their healthy mean, by the machine's state and by whether the plant rests, with what they scatter
/// about it. Other points feel the demand too and are left out.
pub(crate) fn limit_by_means(
    trouble: &Trouble,
    healthy: &History,
    faulty: &History,
) -> Option<f64> {
    let key = |row: &RoundRow, point: &str| (group(row, point), rests(row));
    let follows = |point: &str| FOLLOW_DEMAND.contains(&name_of(point));
    let usual = learnt(healthy, |row, point, read, _| {
        follows(point).then(|| (key(row, point), read))
    });
    sequential(
        Reader::Unknown,
        trouble,
        healthy,
        faulty,
        |row, point, with, without, read| {
            let (mean, var) = usual.get(&key(row, point)).filter(|_| follows(point))?;
            Some((with - without, read - mean, *var))
        },
    )
}

/// The same test of a filter's drop, which follows the flow: told is what the element takes of each flow, healthy
/// and loading, but the flow only as a meter reads it; where none does, its healthy mean by the machines' state and
/// by whether the plant rests.
pub(crate) fn limit_by_flow(trouble: &Trouble, healthy: &History, faulty: &History) -> Option<f64> {
    let plant = &healthy.plant;
    let (drop, meter, vessel) = (
        format!("{}.drop", plant.filter.id),
        format!("{}.flow", plant.header.id),
        format!("{}.pressure", plant.receiver.id),
    );
    // What a flow does to any element, by the truth of the plant: through it goes air at the vessel's pressure.
    let squeezed = |truth: &TruthRow, flow: f64| {
        let bar = truth.values.get(&vessel).copied().unwrap_or(7.0) + 1.0;
        (flow / bar).powf(plant.filter.flow_exponent)
    };
    let states = |row: &RoundRow| -> String {
        let each = plant.machines.iter();
        each.filter_map(|m| word(row, &format!("{}.state", m.id)))
            .collect()
    };
    let key = |row: &RoundRow| (states(row), rests(row));
    let mut by_state: BTreeMap<(String, bool), Vec<f64>> = BTreeMap::new();
    let rows = || healthy.rounds.iter().zip(&healthy.truth);
    for (row, truth) in rows() {
        if let Some(flow) = truth.values.get(&meter) {
            by_state
                .entry(key(row))
                .or_default()
                .push(squeezed(truth, *flow));
        }
    }
    // What it is told of the flow, or what that is in the mean.
    let told = |row: &RoundRow, truth: &TruthRow| -> Option<f64> {
        if let Some(read) = number(row, &meter) {
            return Some(squeezed(truth, read));
        }
        let list = by_state.get(&key(row))?;
        Some(list.iter().sum::<f64>() / list.len() as f64)
    };
    // What the element takes of a unit, which it is told.
    let takes = |truth: &TruthRow| {
        let flow = truth.values.get(&meter)?;
        Some(truth.values.get(&drop)? / squeezed(truth, *flow).max(1e-9))
    };
    let mut errors: BTreeMap<(String, bool), Vec<f64>> = BTreeMap::new();
    for (row, truth) in rows() {
        let misread = |point: &str| truth.misread.as_deref() == Some(point);
        if let Some(read) = number(row, &drop)
            && !misread(&drop)
            && !misread(&meter)
            && let Some((told, takes)) = told(row, truth).zip(takes(truth))
        {
            errors
                .entry(key(row))
                .or_default()
                .push(read - takes * told);
        }
    }
    let strays: BTreeMap<(String, bool), (f64, f64)> = errors
        .into_iter()
        .filter(|(_, list)| list.len() > 4)
        .map(|(key, list)| (key, spread(&list)))
        .collect();
    // What the element takes of a unit healthy and loading, and what is told of the flow, by round.
    let by_round: BTreeMap<DateTime, (f64, f64, f64)> = rows()
        .zip(faulty.rounds.iter().zip(&faulty.truth))
        .filter_map(|((_, well), (row, with))| {
            Some((row.time, (takes(well)?, takes(with)?, told(row, with)?)))
        })
        .collect();
    sequential(
        Reader::Unknown,
        trouble,
        healthy,
        faulty,
        |row, point, _, _, read| {
            let (well, with, told) = by_round.get(&row.time).filter(|_| point == drop)?;
            let (bias, var) = strays.get(&key(row))?;
            Some(((with - well) * told, read - well * told - bias, *var))
        },
    )
}

/// Water in a kilogram of dry air that is saturated at a temperature in °C, at one atmosphere, kg.
///
/// Source: Magnus formula over water, WMO-No. 8 (from memory).
fn saturated(celsius: f64) -> f64 {
    let pressure = 611.2 * (17.62 * celsius / (243.12 + celsius)).exp();
    0.622 * pressure / (101_325.0 - pressure)
}

/// What readings tell of the water that falls out between two rounds: the air by the hours on load, with what it
/// brought and what it keeps.
fn tells_of_water(plant: &Plant, before: &RoundRow, row: &RoundRow) -> Option<[f64; 3]> {
    let mut air = 0.0;
    let mut outlets = Vec::new();
    for m in &plant.machines {
        let hours = |r: &RoundRow| number(r, &format!("{}.hours_loaded", m.id));
        air += (hours(row)? - hours(before)?) * m.plate.fad_m3_min;
        outlets.extend(number(row, &format!("{}.outlet_temperature", m.id)));
    }
    let outdoors = number(row, "site.ambient")?;
    // Without a hygrometer a day is as moist as the next.
    let moist = number(row, "site.humidity").map_or(0.7, |percent| percent / 100.0);
    let outlet = outlets.iter().sum::<f64>() / outlets.len().max(1) as f64;
    (!outlets.is_empty() && air >= 0.0).then(|| {
        [
            air,
            1e3 * air * moist * saturated(outdoors),
            1e3 * air * saturated(outlet),
        ]
    })
}

/// The same test of a drain, whose water follows what the plant takes and the weather between two rounds: it is told
/// how both go into it, by least squares over the whole healthy year, but of both only what is read.
pub(crate) fn limit_by_water(
    trouble: &Trouble,
    healthy: &History,
    faulty: &History,
) -> Option<f64> {
    let plant = &healthy.plant;
    let collected = format!("{}.drain.collected", plant.receiver.id);
    let pairs = |history: &History| -> Vec<(usize, [f64; 3])> {
        let pairs = history.rounds.windows(2).enumerate();
        pairs
            .filter_map(|(n, pair)| Some((n + 1, tells_of_water(plant, &pair[0], &pair[1])?)))
            .collect()
    };
    let read = |history: &History, n: usize| {
        let wrong = history.truth[n].misread.as_deref() == Some(collected.as_str());
        number(&history.rounds[n], &collected).filter(|_| !wrong)
    };
    let rows: Vec<(u32, [f64; 3], f64)> = pairs(healthy)
        .into_iter()
        .filter_map(|(n, x)| Some((0, x, read(healthy, n)?)))
        .collect();
    let beta = least_squares(&rows)?;
    let fit = |x: &[f64; 3]| beta.iter().zip(x).map(|(b, x)| b * x).sum::<f64>();
    // Errors go with what is expected; near nought with a part of what is usual.
    let middle = |mut list: Vec<f64>| -> f64 {
        list.sort_by(f64::total_cmp);
        list.get(list.len() / 2).copied().unwrap_or(0.0)
    };
    let least = 0.25 * middle(rows.iter().map(|(.., y)| *y).collect());
    let unit = |expected: f64| expected.max(least).max(1e-6);
    let off = rows
        .iter()
        .map(|(_, x, y)| ((y - fit(x)) / unit(fit(x))).abs());
    // The median of what is off, as a normal distribution's σ.
    let share = (1.4826 * middle(off.collect())).powi(2);
    let expected: BTreeMap<DateTime, f64> = pairs(faulty)
        .into_iter()
        .map(|(n, x)| (faulty.rounds[n].time, fit(&x)))
        .collect();
    sequential(
        Reader::Unknown,
        trouble,
        healthy,
        faulty,
        |row, point, with, without, read| {
            let expected = expected.get(&row.time).filter(|_| point == collected)?;
            let usual = unit(*expected);
            let kept = with / without.max(1e-9) - 1.0;
            Some((
                kept * usual,
                read - expected,
                (share * usual * usual).max(1e-6),
            ))
        },
    )
}
