//! Outdoor air, hour by hour: monthly means, a daily swing, and days that resemble the day before.
//!
//! Must not know: the station.

use jiff::civil::Date;

use crate::moist_air::saturation_hpa;
use crate::random::{normal, stream};

/// Twelve months of climate, January first, and the design days.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// Mean temperature of each month, °C.
    pub mean_c: [f64; 12],
    /// Mean of the daily highest temperatures of each month, °C.
    pub mean_max_c: [f64; 12],
    /// Relative humidity at the month's mean temperature, 0…1.
    pub humidity: [f64; 12],
    /// The hottest hour to design for, °C.
    pub design_hot_c: f64,
    /// The most humid hour to design for: °C and relative humidity 0…1.
    pub design_humid: (f64, f64),
    /// The coldest hour to design for, °C.
    pub design_cold_c: f64,
}

impl Climate {
    /// A mild climate near an ocean, with warm dry summers. Invented.
    #[must_use]
    pub fn mild() -> Self {
        Self {
            mean_c: [
                8.0, 9.0, 11.0, 13.0, 16.0, 20.0, 23.0, 23.0, 20.0, 16.0, 12.0, 9.0,
            ],
            mean_max_c: [
                13.0, 14.0, 17.0, 19.0, 22.0, 27.0, 31.0, 31.0, 27.0, 22.0, 17.0, 14.0,
            ],
            humidity: [
                0.82, 0.78, 0.72, 0.68, 0.65, 0.60, 0.55, 0.56, 0.62, 0.72, 0.79, 0.83,
            ],
            design_hot_c: 41.0,
            design_humid: (28.0, 0.85),
            design_cold_c: -2.0,
        }
    }

    /// An inland climate with cold winters. Invented.
    #[must_use]
    pub fn inland() -> Self {
        Self {
            mean_c: [
                -1.0, 1.0, 5.0, 10.0, 15.0, 18.0, 20.0, 20.0, 15.0, 10.0, 4.0, 0.0,
            ],
            mean_max_c: [
                2.0, 5.0, 10.0, 16.0, 21.0, 24.0, 26.0, 26.0, 21.0, 15.0, 7.0, 3.0,
            ],
            humidity: [
                0.85, 0.80, 0.72, 0.65, 0.66, 0.67, 0.66, 0.68, 0.74, 0.80, 0.85, 0.87,
            ],
            design_hot_c: 36.0,
            design_humid: (25.0, 0.80),
            design_cold_c: -15.0,
        }
    }

    /// A climate with hot, damp summers. Invented.
    #[must_use]
    pub fn damp_and_hot() -> Self {
        Self {
            mean_c: [
                11.0, 13.0, 17.0, 21.0, 25.0, 28.0, 29.0, 29.0, 27.0, 22.0, 16.0, 12.0,
            ],
            mean_max_c: [
                16.0, 18.0, 22.0, 26.0, 30.0, 33.0, 34.0, 34.0, 31.0, 27.0, 22.0, 17.0,
            ],
            humidity: [
                0.72, 0.71, 0.70, 0.70, 0.72, 0.74, 0.75, 0.76, 0.75, 0.72, 0.72, 0.73,
            ],
            design_hot_c: 38.0,
            design_humid: (31.0, 0.80),
            design_cold_c: -3.0,
        }
    }
}

/// Weather that follows a climate; the same seed gives the same weather.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    /// The climate that the weather follows.
    pub climate: Climate,
    /// The seed of its days.
    pub seed: u64,
}

/// Outdoor air at one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Temperature, °C.
    pub temperature_c: f64,
    /// Vapour pressure, hPa.
    pub vapour_hpa: f64,
    /// Atmospheric pressure, hPa.
    pub atmosphere_hpa: f64,
}

impl Air {
    /// Relative humidity, 0…1.
    #[must_use]
    pub fn humidity(&self) -> f64 {
        self.vapour_hpa / saturation_hpa(self.temperature_c)
    }

    /// The air a share `t` of the way from this hour to the next.
    pub(crate) fn towards(&self, next: &Self, t: f64) -> Self {
        let mix = |a: f64, b: f64| a + (b - a) * t;
        Self {
            temperature_c: mix(self.temperature_c, next.temperature_c),
            vapour_hpa: mix(self.vapour_hpa, next.vapour_hpa),
            atmosphere_hpa: mix(self.atmosphere_hpa, next.atmosphere_hpa),
        }
    }
}

/// How much of a day's departure from the mean the next day keeps.
const DAY_MEMORY: f64 = 0.72;
/// Spread of the daily mean temperature about the month's, K.
const DAY_SPREAD_K: f64 = 2.4;
/// Spread of the logarithm of the daily vapour pressure.
const VAPOUR_SPREAD: f64 = 0.12;
/// Spread of the atmospheric pressure, hPa.
const ATMOSPHERE_SPREAD_HPA: f64 = 6.0;
/// The warmest hour of the day.
const WARMEST_HOUR: f64 = 15.0;

impl Weather {
    /// Weather of the mild climate.
    #[must_use]
    pub fn mild(seed: u64) -> Self {
        Self {
            climate: Climate::mild(),
            seed,
        }
    }

    /// The air at every full hour of `days` days from `first`, and one hour more.
    #[must_use]
    pub fn hours(&self, first: Date, days: u32, altitude_m: f64) -> Vec<Air> {
        let mean = Season::of(self.climate.mean_c);
        let swing = Season::of(core::array::from_fn(|m| {
            self.climate.mean_max_c[m] - self.climate.mean_c[m]
        }));
        let vapour = Season::of(core::array::from_fn(|m| {
            self.climate.humidity[m] * saturation_hpa(self.climate.mean_c[m])
        }));
        let mut rng = stream(self.seed, "weather", 0);
        let fresh = (1.0 - DAY_MEMORY * DAY_MEMORY).sqrt();
        let (mut warm, mut damp, mut high) = (normal(&mut rng), normal(&mut rng), normal(&mut rng));
        let mut hours = Vec::with_capacity(days as usize * 24 + 1);
        let mut date = first;
        let count = days as usize * 24 + 1;
        let mut before = (warm, damp, high);
        while hours.len() < count {
            let hour = (hours.len() % 24) as f64;
            if hours.len() % 24 == 0 {
                before = (warm, damp, high);
                warm = DAY_MEMORY * warm + fresh * normal(&mut rng);
                // Warm days tend to be damp days.
                damp = DAY_MEMORY * damp + fresh * (0.5 * warm + 0.866 * normal(&mut rng));
                high = DAY_MEMORY * high + fresh * normal(&mut rng);
            }
            // The departure drifts from yesterday's to today's, so midnight has no step.
            let share = hour / 24.0;
            let blend = |a: f64, b: f64| a + (b - a) * share;
            let phase = core::f64::consts::TAU * (hour - WARMEST_HOUR) / 24.0;
            let at = Season::place(date, hour);
            let temperature_c = mean.at(at)
                + swing.at(at) * phase.cos()
                + DAY_SPREAD_K * blend(before.0, warm)
                + 0.3 * normal(&mut rng);
            let departure = VAPOUR_SPREAD * blend(before.1, damp);
            let wanted_hpa = vapour.at(at) * (departure - 0.5 * VAPOUR_SPREAD.powi(2)).exp();
            hours.push(Air {
                temperature_c,
                vapour_hpa: wanted_hpa.min(0.985 * saturation_hpa(temperature_c)),
                atmosphere_hpa: 1013.25 * (-altitude_m / 8430.0).exp()
                    + ATMOSPHERE_SPREAD_HPA * blend(before.2, high),
            });
            if hours.len() % 24 == 0 {
                date = date.tomorrow().unwrap_or(date);
            }
        }
        hours
    }
}

/// Twelve values joined by straight lines between mid-months, adjusted to keep the monthly means.
struct Season([f64; 12]);

impl Season {
    fn of(months: [f64; 12]) -> Self {
        Self(core::array::from_fn(|m| {
            let beside = months[(m + 11) % 12] + months[(m + 1) % 12];
            let smoothed = 0.75 * months[m] + 0.125 * beside;
            2.0 * months[m] - smoothed
        }))
    }

    /// The place of an hour in the year, in months since the middle of January.
    fn place(date: Date, hour: f64) -> f64 {
        let day = f64::from(date.day()) - 1.0 + hour / 24.0;
        f64::from(date.month()) - 1.5 + day / f64::from(date.days_in_month())
    }

    fn at(&self, place: f64) -> f64 {
        let whole = place.floor();
        let month = (whole as i64).rem_euclid(12) as usize;
        self.0[month] + (self.0[(month + 1) % 12] - self.0[month]) * (place - whole)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// Twenty years of weather have the monthly means of their climate.
    #[test]
    fn means_match_the_climate() {
        for climate in [Climate::mild(), Climate::inland(), Climate::damp_and_hot()] {
            check_means(&Weather { climate, seed: 11 });
        }
    }

    fn check_means(weather: &Weather) {
        let first = date(2001, 1, 1);
        let hours = weather.hours(first, 7305, 0.0);
        let mut sums = [(0.0, 0.0, 0.0, 0.0); 12];
        let mut day = first;
        for airs in hours.chunks_exact(24) {
            let month = &mut sums[(day.month() - 1) as usize];
            month.0 += 1.0;
            month.1 += airs.iter().map(|a| a.temperature_c).sum::<f64>() / 24.0;
            month.2 += airs
                .iter()
                .map(|a| a.temperature_c)
                .fold(f64::MIN, f64::max);
            month.3 += airs.iter().map(|a| a.vapour_hpa).sum::<f64>() / 24.0;
            day = day
                .tomorrow()
                .expect("the years end long before the calendar");
        }
        for (m, (days, mean, max, vapour)) in sums.into_iter().enumerate() {
            let c = &weather.climate;
            let wanted_hpa = c.humidity[m] * saturation_hpa(c.mean_c[m]);
            assert!(
                (mean / days - c.mean_c[m]).abs() < 0.7,
                "month {m}: {}",
                mean / days
            );
            assert!(
                (max / days - c.mean_max_c[m]).abs() < 1.0,
                "month {m}: {}",
                max / days
            );
            let ratio = vapour / days / wanted_hpa;
            assert!((0.92..1.05).contains(&ratio), "month {m}: vapour {ratio}");
        }
    }

    #[test]
    fn air_is_never_wetter_than_saturated() {
        let hours = Weather::mild(3).hours(date(2025, 1, 1), 365, 120.0);
        assert!(
            hours
                .iter()
                .all(|a| a.humidity() > 0.05 && a.humidity() < 1.0)
        );
        assert!(
            hours
                .iter()
                .all(|a| (970.0..1030.0).contains(&a.atmosphere_hpa))
        );
    }
}
