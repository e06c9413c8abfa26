//! Rows in which nothing changes: every machine stays in its state by its power, and the pressure is
//! read in each. They add the same as they would one by one, to the last bit, and are most of all.
//!
//! Must not know: what a change of state means.

use std::ops::Range;

use super::{Air, Follower, Rows, SETTLING, Told};

impl Follower {
    /// In how many of the first rows its power keeps its state.
    fn stays(&self, powers: &[f64]) -> usize {
        let Some(state) = self.state else { return 0 };
        let (low, high) = self.levels.bounds(state);
        let leaves = |&power: &f64| !(low <= power && power <= high);
        powers.iter().position(leaves).unwrap_or(powers.len())
    }
}

impl Air {
    /// Adds the first of these rows, as far as nothing changes in them; how many they are.
    pub(super) fn steady(&mut self, range: Range<usize>, rows: &Rows<'_>) -> usize {
        let Some(count) = self.count_steady(&range, rows) else {
            return 0;
        };
        let range = range.start..range.start + count;
        let (Some(times), Some(steps), Some(pressures)) = (
            rows.times.get(range.clone()),
            rows.steps.get(range.clone()),
            rows.pressure.and_then(|p| p.get(range.clone())),
        ) else {
            return 0;
        };
        let ends = (times.last(), pressures.first(), pressures.last());
        let (Some(&last), Some(&first), Some(&now)) = ends else {
            return 0;
        };
        let (Some(before), Some((_, was)), Some(open), Some(phase)) = (
            self.last,
            self.pressure,
            self.hours.last_mut(),
            self.phase.as_mut(),
        ) else {
            return 0;
        };
        self.delivered.clear();
        self.delivered.resize(count, 0.0);
        for (at, follower) in self.followers.iter_mut().enumerate() {
            let told = rows.told.get(at).and_then(|told| told.power);
            let powers = told.and_then(|p| p.get(range.clone())).unwrap_or_default();
            let scale = follower.watch.scale();
            if let Some(sums) = open.machines.get_mut(at).filter(|_| follower.loaded()) {
                let mut all = *sums;
                let mut above = was;
                let steps = steps.iter().zip(powers).zip(pressures);
                for (((step, &power), &pressure), m3) in steps.zip(&mut self.delivered) {
                    *m3 += follower.spend(&mut all, above, *step);
                    follower.power = Some(power / scale);
                    above = pressure;
                }
                *sums = all;
            }
            powers.iter().for_each(|&p| follower.watch.counts.add(p));
            follower.power = powers.last().map(|power| power / scale);
            follower.told = Some(last);
        }
        let mut above = (before, was);
        for ((&time, &pressure), &m3) in times.iter().zip(pressures).zip(&self.delivered) {
            self.gather
                .delivered(m3, time - above.0, (above.1, pressure));
            above = (time, pressure);
            if time - phase.from >= SETTLING || !phase.begins {
                phase.fit.add((time - phase.from) as f64 * 1e-6, pressure);
            }
            self.gather.points(time, pressure);
        }
        phase.to = last;
        phase.off_shift &= open.off_shift;
        open.spanned += last - before;
        open.covered += if open.unknown { 0 } else { last - before };
        open.pressure = Some((open.pressure.map_or(first, |(first, _)| first), now));
        self.last = Some(last);
        self.pressure = Some((last, now));
        count
    }

    /// In how many of these rows nothing changes; `None` where the row before is no row to go on
    /// from, or where more than powers and one pressure is read.
    fn count_steady(&self, range: &Range<usize>, rows: &Rows<'_>) -> Option<usize> {
        let before = self.last?;
        self.phase.as_ref()?;
        let on = |follower: &Follower| follower.told == Some(before);
        let by_power = |told: &Told<'_>| told.running.is_none() && told.loaded.is_none();
        let whole = self.pressure.is_some_and(|(at, _)| at == before)
            && rows.flows.iter().all(|(flow, _)| flow.is_none())
            && rows.told.len() == self.followers.len()
            && rows.told.iter().all(by_power)
            && self.followers.iter().all(on);
        if !whole {
            return None;
        }
        let mut count = range.len();
        for (follower, told) in self.followers.iter().zip(&rows.told) {
            let powers = told.power?.get(range.start..range.start + count)?;
            count = follower.stays(powers);
        }
        let steps = rows.steps.get(range.start..range.start + count)?;
        let joins = |step: &&f64| **step > 0.0;
        count = steps.iter().take_while(joins).count();
        let pressures = rows.pressure?.get(range.start..range.start + count)?;
        count = pressures.iter().take_while(|p| !p.is_nan()).count();
        (count > 0).then_some(count)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use station::model::Station;

    use super::super::super::days::Hour;
    use super::super::super::levels;
    use super::super::Air;
    use super::*;
    use crate::forward::{Line, Weather};

    fn station() -> Station {
        let text = r#"
calcant  = 1
air_path = [["K1", "K2"], "R1", "MAIN"]
[site]
name      = "Quillbank Tileworks (invented)"
altitude  = "0 m"
time_zone = "UTC"
[[machine]]
id             = "K1"
kind           = "oil-injected screw"
drive          = "gear"
control        = "load/unload"
rated          = { pressure = "7.5 bar(g)", fad = "5.3 m3/min", power = "33.4 kW" }
band           = { load = "6.8 bar(g)", unload = "7.5 bar(g)" }
max_pressure   = "8.0 bar(g)"
unloaded_power = "9.2 kW"
[[machine]]
id      = "K2"
like    = "K1"
control = "modulating"
band    = { load = "6.8 bar(g)", unload = "7.5 bar(g)" }
[[vessel]]
id           = "R1"
volume       = "1000 L"
max_pressure = "11 bar(g)"
[[header]]
id = "MAIN"
"#;
        station::file::station::parse(text).expect("it is good")
    }

    fn air(station: &Station) -> Air {
        let mut air = Air::new(Some(1.0));
        let weather = Weather::of_month(station, 0);
        for (at, machine) in station.machines.iter().enumerate() {
            let line = Line::of(station, at, &weather).expect("the model knows it");
            let levels = levels::of(machine, &[]);
            air.followers.push(Follower::new(at, machine, line, levels));
        }
        air
    }

    /// Two machines and a pressure, with gaps and cells that are missing.
    struct Log {
        times: Vec<i64>,
        steps: Vec<f64>,
        powers: [Vec<f64>; 2],
        pressures: Vec<f64>,
    }

    fn log(random: &mut fastrand::Rng, rows: usize) -> Log {
        let mut log = Log {
            times: vec![],
            steps: vec![],
            powers: [vec![], vec![]],
            pressures: vec![],
        };
        let (mut time, mut usual) = (0, [9.2e3, 30.0e3]);
        for _ in 0..rows {
            let step = if random.u32(0..200) == 0 { 60 } else { 1 };
            time += step * 1_000_000;
            log.times.push(time);
            log.steps.push(if step > 3 { 0.0 } else { step as f64 });
            for (power, usual) in log.powers.iter_mut().zip(&mut usual) {
                if random.u32(0..30) == 0 {
                    *usual = random.choice([0.0, 9.2e3, 27.0e3, 33.4e3]).unwrap_or(0.0);
                }
                let missing = random.u32(0..150) == 0;
                power.push(if missing {
                    f64::NAN
                } else {
                    *usual + 500.0 * random.f64()
                });
            }
            let missing = random.u32(0..150) == 0;
            log.pressures.push(if missing {
                f64::NAN
            } else {
                7e5 + 5e4 * random.f64()
            });
        }
        log
    }

    #[test]
    fn rows_added_at_once_are_those_added_one_by_one() {
        let station = station();
        let mut random = fastrand::Rng::with_seed(21);
        let mut at_once = 0;
        for _ in 0..30 {
            let log = log(&mut random, 3000);
            let of = |power| Told {
                power: Some(power),
                gap: 3_000_000,
                ..Told::default()
            };
            let rows = Rows {
                times: &log.times,
                steps: &log.steps,
                told: vec![of(log.powers[0].as_slice()), of(log.powers[1].as_slice())],
                pressure: Some(&log.pressures),
                gap: 3_000_000,
                flows: Vec::new(),
            };
            let hour = |hour| Hour {
                date: date(2026, 1, 1),
                hour,
            };
            let (mut one, mut all) = (air(&station), air(&station));
            for part in [0..1, 1..1000, 1000..3000] {
                let now = hour(i8::from(part.start >= 1000));
                all.add(now, part.clone(), &rows, None);
                at_once += all.delivered.len();
                for row in part {
                    if one.hours.last().is_none_or(|open| open.hour != now) {
                        one.new_hour(now, log.times[row], None);
                    }
                    one.row(row, (log.times[row], log.steps[row]), &rows);
                }
            }
            (one.delivered, all.delivered) = (vec![], vec![]);
            assert_eq!(format!("{one:?}"), format!("{all:?}"));
        }
        assert!(at_once > 100, "{at_once}");
    }
}
