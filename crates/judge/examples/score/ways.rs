//! Other stations and other keepers than those that the tables are of.
//!
//! Must not know: faults, how anything is judged.

use histories::{Habits, Plant};
use jiff::civil::Weekday;

/// How a station or its keeper differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    /// Not at all.
    Usual,
    /// The machines pass the lead on every week.
    Turns,
    /// One machine.
    One,
    /// Three machines.
    Three,
    /// One round a week, on Wednesdays.
    Weekly,
    /// A third of the rounds missing, and five weeks without any, twice.
    Gaps,
    /// A keeper with twice the errors, six times the misreadings and five times the empty cells.
    Careless,
    /// What is made changes from month to month by a sixth, and by a tenth from day to day.
    Wanders,
}

impl Way {
    pub(crate) const ALL: [(&'static str, Self); 8] = [
        ("usual", Self::Usual),
        ("turns", Self::Turns),
        ("one", Self::One),
        ("three", Self::Three),
        ("weekly", Self::Weekly),
        ("gaps", Self::Gaps),
        ("careless", Self::Careless),
        ("wanders", Self::Wanders),
    ];

    pub(crate) fn named(word: &str) -> Option<Self> {
        let found = Self::ALL.into_iter().find(|(name, _)| *name == word);
        found.map(|(_, way)| way)
    }

    pub(crate) fn apply(self, mut plant: Plant, habits: &mut Habits, seed: u64) -> Plant {
        match self {
            Self::Usual => {}
            Self::Turns => plant.lead_days = 7,
            Self::One => plant = plant.with_machines(1, seed),
            Self::Three => plant = plant.with_machines(3, seed),
            Self::Weekly => {
                habits.only_on = Some(Weekday::Wednesday);
                habits.cabinet_day = Weekday::Wednesday;
            }
            Self::Gaps => {
                habits.missed = 0.35;
                habits.away = vec![(130, 165), (420, 455)];
            }
            Self::Careless => {
                habits.care = 2.0;
                habits.misread = 0.03;
                habits.left_out = 0.05;
            }
            Self::Wanders => {
                plant.load.month_spread = 0.17;
                plant.load.day_spread = 0.10;
            }
        }
        plant
    }
}
