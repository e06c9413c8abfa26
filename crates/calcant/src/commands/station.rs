//! `calcant station new | check | defaults`.
//!
//! Must not know: how a station file is parsed.

use anyhow::Result;
use station::defaults::DefaultUsed;
use station::file::station::TEMPLATE;

use super::station_from;
use crate::args::StationCommand;
use crate::edge::{Outcome, print, say, unusable};
use crate::layout::wrap;

pub(super) fn run(command: &StationCommand) -> Result<Outcome> {
    match command {
        StationCommand::New => {
            print(TEMPLATE)?;
            Ok(Outcome::Done)
        }
        StationCommand::Check { file } => match station_from(file) {
            Ok(station) => {
                let path = file.display();
                for (vessel, fault) in station.valve_faults() {
                    say(&format!(
                        "{path}: vessel {}: {}: {}\n  hint: the file can be used, the vessel should not be before a licensed person has looked at it",
                        station.vessels[vessel].id,
                        fault.key(),
                        fault.sentence()
                    ));
                }
                let defaults = match station.defaults_used.len() {
                    0 => "no default is used".to_owned(),
                    1 => format!("1 default is used, see `calcant station defaults {path}`"),
                    n => format!("{n} defaults are used, see `calcant station defaults {path}`"),
                };
                say(&format!(
                    "{path}: {} is sound; {defaults}",
                    station.site.name
                ));
                Ok(Outcome::Done)
            }
            Err(problems) => Ok(unusable(&file.display().to_string(), &problems)),
        },
        StationCommand::Defaults { file } => match station_from(file) {
            Ok(station) => {
                print(&table(&station.defaults_used))?;
                Ok(Outcome::Done)
            }
            Err(problems) => Ok(unusable(&file.display().to_string(), &problems)),
        },
    }
}

/// One default each: key, value with uncertainty, then mark and source.
fn table(defaults: &[DefaultUsed]) -> String {
    let with_uncertainty = |d: &DefaultUsed| match d.uncertainty.as_str() {
        "" => d.value.clone(),
        uncertainty => format!("{} ± {uncertainty}", d.value),
    };
    let width = |of: &dyn Fn(&DefaultUsed) -> usize| defaults.iter().map(of).max().unwrap_or(0);
    let key = width(&|d| d.key.chars().count());
    let value = width(&|d| with_uncertainty(d).chars().count());
    let mut text = String::new();
    for d in defaults {
        let first = format!("{:key$}  {:value$}  ", d.key, with_uncertainty(d));
        let source = format!("{}: {}", d.mark, d.source);
        wrap(&mut text, &first, key + value + 4, &source);
    }
    text
}
