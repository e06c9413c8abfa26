//! A finding: one thing worth telling, with its evidence, price, date, action and working.
//!
//! Must not know: how it is decided, JSON, colours.

use std::cmp::Ordering;

use jiff::Timestamp;
use jiff::civil::Date;
use physics::working::Step;
use station::model::{Asset, Station};
use station::point::PointId;

use crate::say::{date, percent};

macro_rules! kinds {
    ($($variant:ident = $name:literal, $stake:ident, $sentence:literal;)*) => {
        /// What kind of finding.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[expect(missing_docs, reason = "each has a sentence and a page")]
        pub enum Kind { $($variant),* }
        impl Kind {
            /// Every kind.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];
            /// Its name in files and on the command line.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }
            /// What it says, in one sentence.
            #[must_use]
            pub const fn sentence(self) -> &'static str {
                match self { $(Self::$variant => $sentence),* }
            }
            /// What is at stake, which orders findings of one urgency.
            #[must_use]
            pub const fn stake(self) -> Stake {
                match self { $(Self::$variant => Stake::$stake),* }
            }
            /// Its page: what it tells, how it is decided, what to do.
            #[must_use]
            pub const fn page(self) -> &'static str {
                match self { $(Self::$variant => include_str!(concat!("../pages/", $name, ".md"))),* }
            }
        }
    };
}

/// What is at stake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stake {
    /// People.
    Safety,
    /// Air in the plant, dry and at pressure, and the machines that make it.
    Supply,
    /// Money.
    Money,
}

kinds! {
    OilHot = "oil-hot", Supply, "The oil is at its warning or trip temperature";
    OilCoolWet = "oil-cool-wet", Supply, "The oil is so cool that water stays in it";
    CoolingLost = "cooling-lost", Supply, "The machine cools worse than today's weather and load explain";
    Thermostat = "thermostat", Supply, "The thermostatic valve does not hold its temperature";
    DeliveryShort = "delivery-short", Money, "The machine delivers less air than it should";
    PowerHigh = "power-high", Money, "The machine draws more power on load than it should";
    UnloadedPowerHigh = "unloaded-power-high", Money, "The machine draws more power unloaded than it should";
    BeltSlack = "belt-slack", Money, "The belts slip or want tightening";
    SeparatorLoaded = "separator-loaded", Supply, "The oil separator is at its change pressure drop";
    IntakeChoked = "intake-choked", Money, "The intake filter is choked";
    FilterLoaded = "filter-loaded", Money, "A filter is at its change pressure drop";
    FilterBreached = "filter-breached", Supply, "A filter holds nothing back: its element is breached";
    DewPointHigh = "dew-point-high", Supply, "The dryer's pressure dew point is higher than it should be";
    WaterDownstream = "water-downstream", Supply, "Water reaches the plant";
    DrainBlocked = "drain-blocked", Supply, "A drain does not pass the water that falls out";
    DrainPassing = "drain-passing", Money, "A drain lets air through";
    Leakage = "leakage", Money, "The plant loses air while it does not work";
    PressureShort = "pressure-short", Supply, "The pressure is lower than the plant wants";
    ShortCycling = "short-cycling", Money, "The machine loads or starts too often";
    RoomHot = "room-hot", Supply, "The room is hotter than its ventilation explains";
    OilLevel = "oil-level", Supply, "The oil level is out of its band";
    OilCarryover = "oil-carryover", Money, "The machine uses more oil than it should";
    OilAged = "oil-aged", Supply, "The oil has aged to the end of its life";
    Observation = "observation", Supply, "Something was seen or heard that wants a look";
    ServiceDue = "service-due", Supply, "Work that comes round is due";
    GaugeSuspect = "gauge-suspect", Supply, "A reading cannot be right";
    Design = "design", Supply, "The station as it is built does not stand its worst day";
}

impl Kind {
    /// The kind of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.name() == name)
    }
}

/// How urgent: time, in words. Ordered, soonest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Urgency {
    /// People, machine or supply at risk today.
    Now,
    /// A limit in force is passed, or likely within 14 days.
    ThisWeek,
    /// Likely within 180 days, or a proven loss above 1 % of the machine's yearly energy.
    NextService,
    /// Proven, neither.
    Watch,
}

impl Urgency {
    /// Every urgency, the most urgent first.
    pub const ALL: [Self; 4] = [Self::Now, Self::ThisWeek, Self::NextService, Self::Watch];

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Now => "now",
            Self::ThisWeek => "this week",
            Self::NextService => "next service",
            Self::Watch => "watch",
        }
    }

    /// By the days until it matters.
    #[must_use]
    pub fn in_days(days: f64) -> Self {
        if days <= 14.0 {
            Self::ThisWeek
        } else if days <= 180.0 {
            Self::NextService
        } else {
            Self::Watch
        }
    }
}

/// One reading as evidence. Numbers are SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// What was read.
    pub id: PointId,
    /// What it said.
    pub read: f64,
    /// What was expected, if the model says.
    pub mid: Option<f64>,
    /// (read − mid)/σ.
    pub deviations: Option<f64>,
}

/// A part's health as the finding sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct PartHealth {
    /// What: `cooling conductance`.
    pub what: String,
    /// Unit, `1` for a factor.
    pub unit: &'static str,
    /// The value, with its 95 % interval.
    pub value: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Drift a month, if known.
    pub per_month: Option<f64>,
}

/// When a limit is reached.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Which limit.
    pub what: String,
    /// 10 %.
    pub earliest: Option<Date>,
    /// 50 %.
    pub likely: Option<Date>,
    /// 90 %.
    pub latest: Option<Date>,
}

/// How sure it is that a limit is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// Its whole span lies behind, or it has none: hours and months are counted, not drawn forward.
    Surely,
    /// The likely date lies behind, the latest one does not.
    Likely,
}

impl Reached {
    /// As it is told.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Surely => "reached",
            Self::Likely => "likely already",
        }
    }
}

impl Limit {
    /// Whether the likely date is past on a day; nothing where it is to come or no date is likely.
    #[must_use]
    pub fn reached(&self, today: Option<Date>) -> Option<Reached> {
        let today = today?;
        self.likely.filter(|likely| *likely <= today)?;
        let open = self.earliest.is_some() && self.latest.is_none_or(|last| last > today);
        Some(if open {
            Reached::Likely
        } else {
            Reached::Surely
        })
    }

    /// Which limit; how it is drawn forward says nothing of one that is reached.
    #[must_use]
    pub fn which(&self, today: Option<Date>) -> &str {
        match self.reached(today) {
            Some(_) => self.what.trim_end_matches(" by its own pace"),
            None => &self.what,
        }
    }

    /// When it is reached, in words; with how sure that is where it is wanted. `None` where nothing
    /// can be said.
    #[must_use]
    pub fn when(&self, today: Option<Date>, how_sure: bool) -> Option<String> {
        if let Some(reached) = self.reached(today) {
            let until = match (reached, self.latest) {
                (Reached::Likely, Some(latest)) if how_sure => {
                    format!("; with 90 % by {}", date(latest))
                }
                _ => String::new(),
            };
            return Some(format!("{}{until}", reached.words()));
        }
        let likely = match self.likely {
            Some(likely) => date(likely),
            None if self.earliest.is_none() && self.latest.is_none() => return None,
            None => "likely later than two years".to_owned(),
        };
        let range = match (self.earliest, self.latest) {
            _ if !how_sure => String::new(),
            (Some(first), Some(last)) if first == last => String::new(),
            (Some(first), Some(last)) => {
                let year = if first.year() == last.year() {
                    "%-d %B"
                } else {
                    "%-d %B %Y"
                };
                format!(
                    "; with 80 % between {} and {}",
                    first.strftime(year),
                    date(last)
                )
            }
            (Some(first), None) => {
                let late = if self.likely.is_some() {
                    ", perhaps later than two years"
                } else {
                    ""
                };
                format!("; with 90 % not before {}{late}", date(first))
            }
            (None, Some(last)) => format!("; with 90 % by {}", date(last)),
            (None, None) => String::new(),
        };
        Some(format!("{likely}{range}"))
    }
}

/// What leaving it costs a year.
#[derive(Debug, Clone, PartialEq)]
pub struct Cost {
    /// Money a year, if energy is lost and a price is told.
    pub per_year: Option<f64>,
    /// Energy a year, kWh.
    pub kwh_per_year: Option<f64>,
    /// Why there is no sum.
    pub why_not: Option<String>,
}

impl Cost {
    /// Energy hardly changes: what is at stake instead.
    #[must_use]
    pub fn at_stake(what: impl Into<String>) -> Self {
        Self {
            per_year: None,
            kwh_per_year: None,
            why_not: Some(what.into()),
        }
    }
}

/// A cause with its probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// In words.
    pub cause: String,
    /// 0…1.
    pub probability: f64,
    /// What was read or seen that speaks for it, in words.
    pub speaks_for: Vec<String>,
    /// The same against it.
    pub speaks_against: Vec<String>,
}

/// One thing worth telling.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Subject plus part: stays the same while the trouble lasts.
    pub id: String,
    /// On what.
    pub subject: Asset,
    /// What kind.
    pub kind: Kind,
    /// How urgent.
    pub urgency: Urgency,
    /// One sentence with the numbers.
    pub title: String,
    /// Since when.
    pub since: Option<Timestamp>,
    /// What shows it.
    pub evidence: Vec<Evidence>,
    /// The part's health, if the readings give it.
    pub health: Option<PartHealth>,
    /// The limit that it runs into.
    pub limit: Option<Limit>,
    /// What it costs.
    pub cost: Cost,
    /// Likely causes.
    pub causes: Vec<Cause>,
    /// The cheapest next look.
    pub next_check: Option<String>,
    /// What to do.
    pub action: String,
    /// Whether the machine has to be isolated for it.
    pub isolate: bool,
    /// Cautions for the steps that need them.
    pub cautions: Vec<String>,
    /// How the numbers come about; never empty.
    pub working: Vec<Step>,
}

/// What speaks on one side of a cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Argument<'a> {
    /// For it, or against it.
    pub is_for: bool,
    /// Which cause.
    pub cause: &'a str,
    /// What was read or seen.
    pub says: &'a [String],
}

/// Causes less likely than this are not worth a word (common practice, no source).
const HARDLY_LIKELY: f64 = 0.05;

impl Finding {
    /// The causes that are worth a word, likeliest first.
    fn likely(&self) -> Vec<&Cause> {
        let mut causes: Vec<_> = self
            .causes
            .iter()
            .filter(|c| c.probability >= HARDLY_LIKELY)
            .collect();
        causes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        causes
    }

    /// The likely causes in words, likeliest first; empty where none is known.
    #[must_use]
    pub fn likely_in_words(&self) -> String {
        let said = self.likely().into_iter().map(|c| match c.probability {
            // Nothing is certain from readings alone.
            p if p > 0.99 => format!("{} over 99 %", c.cause),
            p => format!("{} {}", c.cause, percent(p)),
        });
        said.collect::<Vec<_>>().join(", ")
    }

    /// What speaks for the likeliest cause, and against it and the one after it.
    #[must_use]
    pub fn arguments(&self) -> Vec<Argument<'_>> {
        fn side(cause: &Cause, is_for: bool) -> Argument<'_> {
            let says = if is_for {
                &cause.speaks_for
            } else {
                &cause.speaks_against
            };
            Argument {
                is_for,
                cause: &cause.cause,
                says,
            }
        }
        let likely = self.likely();
        let for_the_first = likely.first().map(|c| side(c, true));
        let against = likely.iter().take(2).map(|c| side(c, false));
        for_the_first
            .into_iter()
            .chain(against)
            .filter(|argument| !argument.says.is_empty())
            .collect()
    }

    /// A finding with everything that a kind need not say left empty.
    #[must_use]
    pub fn draft(
        station: &Station,
        kind: Kind,
        subject: Asset,
        part: &str,
        since: Option<Timestamp>,
    ) -> Self {
        Self {
            id: format!("{}.{part}", station.id(subject)),
            subject,
            kind,
            urgency: Urgency::Watch,
            title: String::new(),
            since,
            evidence: Vec::new(),
            health: None,
            limit: None,
            cost: Cost::at_stake("risk, not energy"),
            causes: Vec::new(),
            next_check: None,
            action: String::new(),
            isolate: false,
            cautions: Vec::new(),
            working: Vec::new(),
        }
    }

    /// Order of telling: urgency, then safety before supply before money, then money a year.
    #[must_use]
    pub fn order(&self, other: &Self) -> Ordering {
        let money = |f: &Self| f.cost.per_year.or(f.cost.kwh_per_year).unwrap_or(0.0);
        self.urgency
            .cmp(&other.urgency)
            .then(self.stake().cmp(&other.stake()))
            .then(money(other).total_cmp(&money(self)))
            .then(self.id.cmp(&other.id))
    }

    /// What is at stake: people where something is to be done now that was seen, or where a vessel's valve
    /// does not hold its pressure down.
    #[must_use]
    pub fn stake(&self) -> Stake {
        let seen = self.urgency == Urgency::Now && self.kind == Kind::Observation;
        let valve = self.kind == Kind::Design && matches!(self.subject, Asset::Vessel(_));
        if seen || valve {
            return Stake::Safety;
        }
        self.kind.stake()
    }
}

/// Something that could not be judged, and the reading that is lacking.
#[derive(Debug, Clone, PartialEq)]
pub struct NotJudged {
    /// What.
    pub what: String,
    /// Why.
    pub why: String,
    /// Where the numbers of the reason come from; empty where it has none.
    pub working: Vec<Step>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date as on;

    #[test]
    fn a_limit_says_how_sure_it_is() {
        let limit = |earliest, likely, latest| Limit {
            what: "its change value by its own pace".to_owned(),
            earliest,
            likely,
            latest,
        };
        let (july, next) = (on(2026, 7, 14), on(2027, 2, 8));
        let (likely, november) = (on(2026, 7, 20), on(2026, 11, 8));
        let told = |l: &Limit, today| l.when(Some(today), true).unwrap_or_default();
        let before = on(2026, 7, 1);
        for (span, said) in [
            (
                (Some(july), Some(likely), Some(november)),
                "20 July 2026; with 80 % between 14 July and 8 November 2026",
            ),
            (
                (Some(july), Some(likely), Some(next)),
                "20 July 2026; with 80 % between 14 July 2026 and 8 February 2027",
            ),
            (
                (Some(july), Some(likely), None),
                "20 July 2026; with 90 % not before 14 July 2026, perhaps later than two years",
            ),
            (
                (Some(july), None, None),
                "likely later than two years; with 90 % not before 14 July 2026",
            ),
            ((None, Some(likely), None), "20 July 2026"),
            ((None, None, None), ""),
        ] {
            assert_eq!(told(&limit(span.0, span.1, span.2), before), said);
        }
        let drawn = limit(Some(july), Some(likely), Some(november));
        assert_eq!(
            drawn.when(Some(before), false).as_deref(),
            Some("20 July 2026")
        );
        assert_eq!(
            drawn.which(Some(before)),
            "its change value by its own pace"
        );
        let after = on(2026, 8, 1);
        assert_eq!(
            told(&drawn, after),
            "likely already; with 90 % by 8 November 2026"
        );
        assert_eq!(drawn.which(Some(after)), "its change value");
        assert_eq!(told(&drawn, next), "reached");
    }
}
