//! What goes wrong: the kinds of fault, how bad they get, and how they are mended.
//!
//! Must not know: how a fault shows in the readings.

/// A kind of fault. The words in brackets say in what a [`Trouble`]'s severity is counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// The cooling-air mat clogs (share of the cooling air that is lost).
    MatClogging,
    /// A deposit on the oil side of the oil cooler (share of its conductance that is lost).
    OilSideFouling,
    /// The thermostatic valve no longer closes (smallest share of the oil that passes the cooler).
    ThermostatStuckOpen,
    /// The belts slip (share of the speed that is lost).
    BeltSlipping,
    /// The separator element loads (bar more than clean, at rated flow).
    SeparatorLoading,
    /// The filter element loads (bar more than clean, at rated flow).
    FilterLoading,
    /// The filter element is torn (share of the air that goes past it).
    FilterTorn,
    /// The dryer loses capacity (share that is lost).
    DryerWeak,
    /// The drain does not open (share of the water that stays).
    DrainBlocked,
    /// The drain does not close (m³/min (ANR) lost).
    DrainPassing,
    /// Leaks beyond those at the start (m³/min (ANR) at 7 bar(g)).
    LeaksGrowing,
    /// The air end is worn (share of delivery that is lost).
    AirEndWorn,
    /// A gauge reads wrong (its error, in the unit of the point).
    GaugeOff {
        /// The point that the gauge shows, `K1.oil_temperature` for example.
        point: String,
    },
    /// The room's ventilation falls short (share of the air flow that is lost).
    RoomHot,
    /// The intake filter is choked (bar more than clean).
    IntakeChoked,
}

impl Fault {
    /// What a keeper writes after mending it; `None` if there is no usual word.
    #[must_use]
    pub fn work(&self) -> Option<&'static str> {
        match self {
            Self::MatClogging => Some("clean mat"),
            Self::OilSideFouling => Some("flush oil side"),
            Self::ThermostatStuckOpen => Some("change thermostat"),
            Self::BeltSlipping => Some("tighten belt"),
            Self::SeparatorLoading => Some("change separator"),
            Self::FilterLoading | Self::FilterTorn => Some("change element"),
            Self::DryerWeak => Some("mend dryer"),
            Self::DrainBlocked | Self::DrainPassing => Some("mend drain"),
            Self::LeaksGrowing => Some("mend leaks"),
            Self::GaugeOff { .. } => Some("change gauge"),
            Self::IntakeChoked => Some("change intake filter"),
            Self::AirEndWorn | Self::RoomHot => None,
        }
    }
}

/// A fault with its course: nothing before `from`, full at `full`, gone once mended.
#[derive(Debug, Clone, PartialEq)]
pub struct Trouble {
    /// What goes wrong.
    pub fault: Fault,
    /// Where: an asset (`K1`, `F1`, `MAIN`), a drain (`R1.drain`) or `room`.
    pub on: String,
    /// The day on which it begins; the first day of the history is 0.
    pub from: u32,
    /// The day on which it reaches `severity`, growing evenly until then and staying after.
    pub full: u32,
    /// How bad it gets, in the measure named beside each [`Fault`].
    pub severity: f64,
    /// The day on which it is mended, before that day's round; `None` if it is not.
    pub mended: Option<u32>,
}

impl Trouble {
    /// A trouble that nobody mends.
    #[must_use]
    pub fn new(fault: Fault, on: &str, from: u32, full: u32, severity: f64) -> Self {
        Self {
            fault,
            on: on.to_owned(),
            from,
            full,
            severity,
            mended: None,
        }
    }

    /// The same trouble, mended on a day.
    #[must_use]
    pub fn mended(mut self, day: u32) -> Self {
        self.mended = Some(day);
        self
    }

    /// How bad it is on a day.
    #[must_use]
    pub fn severity_on(&self, day: u32) -> f64 {
        if day < self.from || self.mended.is_some_and(|mended| day >= mended) {
            0.0
        } else if day >= self.full {
            self.severity
        } else {
            let grown = f64::from(day - self.from) / f64::from(self.full - self.from);
            self.severity * grown
        }
    }
}

/// How bad a kind of fault is at a place on a day, all troubles together.
pub(crate) fn severity(troubles: &[Trouble], fault: &Fault, on: &str, day: u32) -> f64 {
    let same = troubles.iter().filter(|t| t.fault == *fault && t.on == on);
    same.map(|t| t.severity_on(day)).sum()
}

/// The error of the gauge of a point on a day, in the unit of the point.
pub(crate) fn gauge_error(troubles: &[Trouble], point: &str, day: u32) -> f64 {
    let of_point = |t: &&Trouble| matches!(&t.fault, Fault::GaugeOff { point: p } if p == point);
    troubles
        .iter()
        .filter(of_point)
        .map(|t| t.severity_on(day))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trouble_grows_stays_and_goes() {
        let trouble = Trouble::new(Fault::MatClogging, "K1", 10, 20, 0.4).mended(30);
        let near = |day, wanted: f64| (trouble.severity_on(day) - wanted).abs() < 1e-12;
        assert!(near(9, 0.0) && near(15, 0.2) && near(20, 0.4) && near(29, 0.4) && near(30, 0.0));
    }

    #[test]
    fn a_sudden_trouble_has_no_slope() {
        let trouble = Trouble::new(Fault::FilterTorn, "F1", 10, 10, 0.5);
        assert!((trouble.severity_on(10) - 0.5).abs() < 1e-12);
    }
}
