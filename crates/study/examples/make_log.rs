//! Writes the log that the benchmark reads: `make_log ROWS FILE`.
//!
//! One reading a second of an invented machine under load and unload control, from 1 January 2026,
//! 00:00:00. The same rows every time: the random numbers are seeded.

use std::fs::File;
use std::io::{BufWriter, Write};

const HEADER: &str = "time,K1.power [kW],MAIN.pressure [bar(g)],\
                      K1.oil_temperature [degC],site.ambient [degC]\n";

/// What the machine does.
#[derive(Clone, Copy, PartialEq)]
enum State {
    Stopped,
    Unloaded,
    Loaded,
}

/// The invented plant, one second at a time.
struct Plant {
    random: fastrand::Rng,
    state: State,
    /// Seconds in this state.
    since: u32,
    pressure_bar: f64,
    oil_degc: f64,
    demand: f64,
}

impl Plant {
    /// Moves on by one second; `second` counts from the start, a Thursday.
    fn step(&mut self, second: u64) {
        let (day, hour) = (second / 86_400, second / 3600 % 24);
        let works = day % 7 < 5 && (6..22).contains(&hour);
        if second.is_multiple_of(60) {
            let base = if works { 0.55 } else { 0.12 };
            self.demand = base + 0.2 * (self.random.f64() - 0.5);
        }
        let supply = f64::from(u8::from(self.state == State::Loaded));
        self.pressure_bar += 0.02 * (supply - self.demand.max(0.03));
        self.since += 1;
        let next = match self.state {
            State::Loaded if self.pressure_bar >= 7.5 => State::Unloaded,
            State::Unloaded if self.pressure_bar <= 6.8 => State::Loaded,
            State::Unloaded if self.since > 300 && self.pressure_bar > 6.9 => State::Stopped,
            State::Stopped if self.pressure_bar <= 6.8 => State::Loaded,
            same => same,
        };
        if next != self.state {
            (self.state, self.since) = (next, 0);
        }
        let target = match self.state {
            State::Loaded => 86.0,
            State::Unloaded => 74.0,
            State::Stopped => 25.0,
        };
        self.oil_degc += (target - self.oil_degc) / 400.0;
    }

    fn power_kw(&mut self) -> f64 {
        let noise = self.random.f64() - 0.5;
        match self.state {
            State::Stopped => 0.0,
            State::Unloaded => 9.2 + 0.6 * noise,
            State::Loaded => 33.4 + 2.3 * (self.pressure_bar - 7.2) + noise,
        }
    }
}

/// Appends a number that is not negative with so many decimals, 1 or 2.
fn decimals(line: &mut Vec<u8>, value: f64, places: usize) {
    let scale = if places == 1 { 10.0 } else { 100.0 };
    // Both are far below 2^32 here.
    let scaled = (value.max(0.0) * scale).round() as u32;
    let unit = scale as u32;
    line.extend_from_slice((scaled / unit).to_string().as_bytes());
    line.extend_from_slice(format!(".{:0places$}", scaled % unit).as_bytes());
}

/// The civil date so many days after 1 January 2026.
fn date(days: u64) -> String {
    let mut left = u32::try_from(days).unwrap_or(u32::MAX);
    let mut year = 2026;
    loop {
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let february = if leap { 29 } else { 28 };
        let months = [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
        for (month, length) in (1..).zip(months) {
            if left < length {
                return format!("{year:04}-{month:02}-{:02}", left + 1);
            }
            left -= length;
        }
        year += 1;
    }
}

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let (Some(rows), Some(path)) = (args.next().and_then(|r| r.parse().ok()), args.next()) else {
        return Err(std::io::Error::other("usage: make_log ROWS FILE"));
    };
    let rows: u64 = rows;
    let mut out = BufWriter::with_capacity(1 << 20, File::create(path)?);
    out.write_all(HEADER.as_bytes())?;
    let mut plant = Plant {
        random: fastrand::Rng::with_seed(7),
        state: State::Loaded,
        since: 0,
        pressure_bar: 7.0,
        oil_degc: 60.0,
        demand: 0.4,
    };
    let mut line = Vec::with_capacity(64);
    let mut day = String::new();
    for second in 0..rows {
        if second.is_multiple_of(86_400) {
            day = date(second / 86_400);
        }
        plant.step(second);
        let of_day = second % 86_400;
        let turn = std::f64::consts::TAU * (of_day as f64 / 86_400.0 - 0.375);
        let ambient = 18.0 + 6.0 * turn.sin() + 0.2 * plant.random.f64();
        line.clear();
        line.extend_from_slice(day.as_bytes());
        for (mark, number) in [
            (b' ', of_day / 3600),
            (b':', of_day / 60 % 60),
            (b':', of_day % 60),
        ] {
            // Below 60, so both are digits.
            line.extend([mark, b'0' + (number / 10) as u8, b'0' + (number % 10) as u8]);
        }
        line.push(b',');
        decimals(&mut line, plant.power_kw(), 1);
        line.push(b',');
        decimals(&mut line, plant.pressure_bar, 2);
        line.push(b',');
        decimals(&mut line, plant.oil_degc, 1);
        line.push(b',');
        decimals(&mut line, ambient, 1);
        line.push(b'\n');
        out.write_all(&line)?;
    }
    out.flush()
}
