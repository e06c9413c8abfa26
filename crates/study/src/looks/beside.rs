//! Looks beside rounds: both in one order of time, and no point twice a day.
//!
//! What a person read that local day is not told again by a look: the two would repeat one day's
//! weather and one error of the model as if they were independent.
//!
//! Must not know: where either comes from.

use std::collections::VecDeque;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use station::model::Asset;
use station::point::{Point, PointId, Word};
use station::round::{Reading, Round};

/// Rounds of one day that are held back at most.
const MOST_HELD: usize = 200;

/// Puts looks beside rounds that come in the order of time.
#[derive(Debug)]
pub struct Beside {
    zone: TimeZone,
    looks: VecDeque<Round>,
    held: Vec<Round>,
    date: Option<Date>,
}

impl Beside {
    /// Looks in the order of time, of a station in this time zone.
    #[must_use]
    pub fn new(looks: Vec<Round>, zone: TimeZone) -> Self {
        Self {
            zone,
            looks: looks.into(),
            held: Vec::new(),
            date: None,
        }
    }

    /// The next round; what is known to stand before it is handed on.
    pub fn round(&mut self, round: Round, to: &mut dyn FnMut(Round)) {
        let date = self.date_of(round.time);
        if self.date.is_some_and(|held| held != date) || self.held.len() >= MOST_HELD {
            self.hand_on(to);
        }
        self.date = Some(date);
        self.held.push(round);
    }

    /// There are no more rounds.
    pub fn end(mut self, to: &mut dyn FnMut(Round)) {
        self.hand_on(to);
        self.looks.into_iter().for_each(to);
    }

    fn date_of(&self, time: Timestamp) -> Date {
        self.zone.to_datetime(time).date()
    }

    /// Hands the rounds of one day on, with the looks of that day and before.
    fn hand_on(&mut self, to: &mut dyn FnMut(Round)) {
        let Some(date) = self.date.take() else {
            return;
        };
        let mut day = std::mem::take(&mut self.held);
        while let Some(look) = self.looks.front() {
            let of_look = self.date_of(look.time);
            if of_look > date {
                break;
            }
            let Some(look) = self.looks.pop_front() else {
                break;
            };
            if of_look < date {
                to(look);
            } else if let Some(look) = less(look, &day) {
                let at = day.partition_point(|round| round.time <= look.time);
                day.insert(at, look);
            }
        }
        day.into_iter().for_each(to);
    }
}

/// The look without what the day's rounds read; `None` if nothing is left.
fn less(mut look: Round, day: &[Round]) -> Option<Round> {
    let state = |round: &Round, asset: Asset| round.word(asset, Point::MachineState);
    let state_of: Vec<(Asset, Option<Word>)> = look
        .readings
        .iter()
        .map(|r| (r.id.asset, state(&look, r.id.asset)))
        .collect();
    let read = |id: PointId| {
        let of_look = state_of.iter().find(|(asset, _)| *asset == id.asset);
        let of_look = of_look.and_then(|(_, word)| *word);
        day.iter()
            .filter(|round| round.logged.is_none())
            .any(|round| {
                // What was read in another state is another reading.
                let there = round.readings.iter().any(|r| r.id == id);
                let same = state(round, id.asset).is_none_or(|word| of_look == Some(word));
                there && same
            })
    };
    let keeps = |r: &Reading| sets_the_scene(r.id.point) || !read(r.id);
    look.readings.retain(keeps);
    look.readings
        .iter()
        .any(|r| !sets_the_scene(r.id.point))
        .then_some(look)
}

/// What the other readings of a look are judged by; it is no evidence by itself.
fn sets_the_scene(point: Point) -> bool {
    matches!(
        point,
        Point::SiteAmbient
            | Point::SiteHumidity
            | Point::SiteBarometer
            | Point::RoomTemperature
            | Point::MachineState
            | Point::MachinePressure
            | Point::MachineSpeed
            | Point::UnloadTime
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use station::round::{Logged, Value};

    fn round(hour: i64, readings: &[(Point, f64)]) -> Round {
        let mut round = super::super::take::look(
            Timestamp::from_second(hour * 3600).expect("within the calendar"),
            readings
                .iter()
                .map(|&(point, value)| Reading {
                    id: PointId {
                        asset: Asset::Machine(0),
                        point,
                    },
                    value: Value::Number(value),
                })
                .collect(),
        );
        round.who = Some("Mirela".to_owned());
        round
    }

    fn look(hour: i64, readings: &[(Point, f64)]) -> Round {
        Round {
            logged: Some(Logged::default()),
            ..round(hour, readings)
        }
    }

    fn put(looks: Vec<Round>, rounds: Vec<Round>) -> Vec<(i64, usize)> {
        let mut beside = Beside::new(looks, TimeZone::UTC);
        let mut all = Vec::new();
        for round in rounds {
            beside.round(round, &mut |r| all.push(r));
        }
        beside.end(&mut |r| all.push(r));
        all.iter()
            .map(|r| (r.time.as_second() / 3600, r.readings.len()))
            .collect()
    }

    #[test]
    fn both_stand_in_one_order_and_no_point_twice_a_day() {
        let oil = (Point::OilTemperature, 350.0);
        let power = (Point::MachinePower, 3.0e4);
        let looks = vec![look(2, &[oil]), look(26, &[oil, power]), look(80, &[oil])];
        let rounds = vec![round(31, &[oil]), round(55, &[power]), round(56, &[power])];
        // The oil of the second day was read by a person, who came later that day.
        let wanted = [(2, 1), (26, 1), (31, 1), (55, 1), (56, 1), (80, 1)];
        assert_eq!(put(looks, rounds), wanted);
    }

    #[test]
    fn a_look_that_says_nothing_new_is_left_out() {
        let pressure = (Point::MachinePressure, 7.0e5);
        let oil = (Point::OilTemperature, 350.0);
        let looks = vec![look(2, &[oil, pressure])];
        assert_eq!(put(looks, vec![round(7, &[oil])]), [(7, 1)]);
    }

    #[test]
    fn a_log_alone_is_handed_on_whole() {
        let oil = (Point::OilTemperature, 350.0);
        assert_eq!(
            put(vec![look(2, &[oil]), look(30, &[oil])], vec![]).len(),
            2
        );
    }
}
