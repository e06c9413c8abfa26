//! `calcant expect`: what is to be expected at every place under stated conditions.
//!
//! Must not know: formulas.

use ::judge::outlook;
use ::station::file::problem::{Problem, nearest};
use ::station::file::unit::{self, Kind};
use ::station::forward::{Conditions, Running};
use ::station::model::{Control, Station};
use anyhow::Result;
use physics::quantity::{GaugePressure, Temperature};
use report::{AirLine, PlaceBand, air_line};

use super::station_from;
use crate::args::ExpectArgs;
use crate::edge::{Outcome, about, not_writable, print, say, unusable, write};
use crate::wire;

mod text;

pub(super) fn run(args: &ExpectArgs) -> Result<Outcome> {
    let station = match station_from(&args.station) {
        Ok(station) => station,
        Err(problems) => return Ok(unusable(&args.station.display().to_string(), &problems)),
    };
    let conditions = match conditions(args, &station) {
        Ok(conditions) => conditions,
        Err(problems) => return Ok(unusable("expect", &problems)),
    };
    for word in too_high(&station, &conditions) {
        say(&format!("expect: {word}"));
    }
    let outlook = match outlook(&station, &conditions) {
        Ok(outlook) => outlook,
        Err(refused) => {
            let problem = about("", refused.sentence(&station), None);
            return Ok(unusable("expect", &[problem]));
        }
    };
    if let Some(path) = &args.svg {
        if let Some(problem) = not_writable("--svg", path) {
            return Ok(unusable("expect", &[problem]));
        }
        write(path, &picture(args, &station, &conditions, &outlook))?;
    }
    print(&if args.json {
        wire::expected(&station, &conditions, &outlook)?
    } else {
        text::of(&station, &conditions, &outlook, args)
    })?;
    Ok(Outcome::Done)
}

/// A word of warning for every limit that the pressure of a running machine passes.
fn too_high(station: &Station, conditions: &Conditions) -> Vec<String> {
    let running = conditions.machines.iter().zip(&station.machines);
    let highest = running
        .clone()
        .filter(|(run, _)| run.duty > 0.0)
        .map(|(run, _)| run.pressure.si())
        .fold(0.0, f64::max);
    let bars = |pa: f64| ::judge::say::Units::Si.gauge(pa);
    let mut words: Vec<String> = running
        .filter(|(run, machine)| run.duty > 0.0 && run.pressure > machine.max_pressure)
        .map(|(run, machine)| {
            format!(
                "{} is above the maximum pressure of {}, {}: never run it there",
                bars(run.pressure.si()),
                machine.id,
                bars(machine.max_pressure.si())
            )
        })
        .collect();
    for vessel in &station.vessels {
        let valve = vessel.safety_valve.map(|v| ("the safety valve", v.set));
        let limits = [Some(("the maximum pressure", vessel.max_pressure)), valve];
        for (what, limit) in limits.into_iter().flatten() {
            if highest > limit.si() {
                words.push(format!(
                    "{} at the outlet is above {what} of {}, {}: never let it come there",
                    bars(highest),
                    vessel.id,
                    bars(limit.si())
                ));
            }
        }
    }
    words
}

/// The conditions as typed; every problem at once.
fn conditions(args: &ExpectArgs, station: &Station) -> Result<Conditions, Vec<Problem>> {
    let mut problems = Vec::new();
    let ambient = quantity("--ambient", Kind::Temperature, &args.ambient)
        .and_then(|kelvin| {
            let sane = (213.15..=333.15).contains(&kelvin);
            if sane {
                Ok(kelvin)
            } else {
                Err(about(
                    "--ambient",
                    format!("`{}` is no weather", args.ambient),
                    Some("outdoors lies between -60 and 60 degC"),
                ))
            }
        })
        .map_err(|p| problems.push(p));
    let humidity = humidity(&args.humidity).map_err(|p| problems.push(p));
    let pressure = args
        .pressure
        .as_ref()
        .map(|text| quantity("--pressure", Kind::GaugePressure, text))
        .transpose()
        .and_then(|pa| match pa {
            Some(pa) if !(0.5e5..=16.0e5).contains(&pa) => Err(about(
                "--pressure",
                format!(
                    "`{}` is no working pressure",
                    args.pressure.as_deref().unwrap_or_default()
                ),
                Some("the model holds from 0.5 to 16 bar(g)"),
            )),
            other => Ok(other),
        })
        .map_err(|p| problems.push(p));
    let duties = duties(&args.duty, station).map_err(|mut p| problems.append(&mut p));
    let (Ok(ambient), Ok(humidity), Ok(pressure), Ok(duties)) =
        (ambient, humidity, pressure, duties)
    else {
        return Err(problems);
    };
    let mut conditions = Conditions::new(station, Temperature::new(ambient), humidity, 1.0);
    for (i, duty) in duties.into_iter().enumerate() {
        let mut run = Running::at_duty(station, i, duty);
        if let Some(pa) = pressure {
            run.pressure = GaugePressure::new(pa);
        }
        conditions.machines[i] = run;
    }
    Ok(conditions)
}

fn quantity(at: &str, kind: Kind, text: &str) -> Result<f64, Problem> {
    unit::quantity(kind, text).map_err(|p| about(at, p.what, p.hint.as_deref()))
}

/// Per cent; a share is refused, so that nobody asks for 0.6 % when 60 % is meant.
fn humidity(text: &str) -> Result<f64, Problem> {
    let number = text.trim().trim_end_matches('%').trim();
    let percent: f64 = number.parse().map_err(|_| {
        about(
            "--humidity",
            format!("`{text}` is no number"),
            Some("write per cent, as 60"),
        )
    })?;
    if percent > 1.0 && percent <= 100.0 {
        Ok(percent / 100.0)
    } else if percent > 0.0 && percent <= 1.0 {
        let hint = format!("humidity is in per cent here: write {}", percent * 100.0);
        Err(about(
            "--humidity",
            format!("`{text}` would be under 1 %"),
            Some(&hint),
        ))
    } else {
        Err(about(
            "--humidity",
            format!("`{text}` lies outside 1 to 100 per cent"),
            None,
        ))
    }
}

/// One duty for all, or one a machine; machines that are not named do not run.
fn duties(text: &str, station: &Station) -> Result<Vec<f64>, Vec<Problem>> {
    let duty = |text: &str| -> Result<f64, Problem> {
        let wrong = |what: String| about("--duty", what, Some("a duty lies between 0 and 1"));
        let value: f64 = text
            .trim()
            .parse()
            .map_err(|_| wrong(format!("`{}` is no number", text.trim())))?;
        if (0.0..=1.0).contains(&value) {
            Ok(value)
        } else {
            Err(wrong(format!("`{}` is no duty", text.trim())))
        }
    };
    if !text.contains('=') {
        return duty(text)
            .map(|d| vec![d; station.machines.len()])
            .map_err(|p| vec![p]);
    }
    let mut duties = vec![0.0; station.machines.len()];
    let mut problems = Vec::new();
    for part in text.split(',') {
        let (id, value) = part.split_once('=').unwrap_or((part, ""));
        match station.machines.iter().position(|m| m.id == id.trim()) {
            Some(i) => match duty(value) {
                Ok(value) => duties[i] = value,
                Err(problem) => problems.push(problem),
            },
            None => {
                let near = nearest(id.trim(), station.machines.iter().map(|m| m.id.as_str()));
                let hint = near.map(|near| format!("did you mean `{near}`?"));
                problems.push(about(
                    "--duty",
                    format!("there is no machine `{}`", id.trim()),
                    hint.as_deref(),
                ));
            }
        }
    }
    if problems.is_empty() {
        Ok(duties)
    } else {
        Err(problems)
    }
}

fn picture(
    args: &ExpectArgs,
    station: &Station,
    conditions: &Conditions,
    outlook: &::judge::Outlook,
) -> String {
    let bands: Vec<PlaceBand> = outlook
        .places
        .iter()
        .map(|p| PlaceBand {
            asset: p.asset,
            pressure: Some((p.pressure.low(), p.pressure.high())),
            temperature: Some((p.temperature.low(), p.temperature.high())),
            dew_point: Some((p.dew_point.low(), p.dew_point.high())),
        })
        .collect();
    let units: ::judge::say::Units = args.units.into();
    let title = format!(
        "{}: expected at {} and {} % humidity outdoors",
        station.site.name,
        units.temperature(conditions.ambient.si()),
        ::judge::say::round(conditions.humidity * 100.0, 0)
    );
    air_line(&AirLine {
        title: &title,
        station,
        state: &outlook.state,
        bands: &bands,
        readings: &[],
        units: match args.units {
            crate::args::Units::Si => report::Units::Si,
            crate::args::Units::Us => report::Units::Us,
        },
    })
}

/// Whether a machine cycles, so that its duty is not its flow.
pub(super) fn cycles(control: &Control) -> bool {
    matches!(control, Control::LoadUnload(_) | Control::StartStop(_))
}
