//! Tells what the history found: completes the findings that one round already made, makes those
//! that only many rounds can, and takes back what is only a machine's own level.
//!
//! Must not know: JSON, colours.

mod chart;
mod cooled;
mod drained;
mod flowing;
mod gauges;
mod leaking;
mod less_air;
mod limit;
mod loss;
mod named;
mod single;
mod valve;
mod worn;

use jiff::civil::Date;
use physics::quantity::Temperature;
use physics::solve::bracketed_root;
use physics::validity::Refusal;
use physics::working::{Formula, Mark, Step};
use station::forward::{Conditions, MachineHealth};
use station::model::{Asset, Fan};
use station::point::{Point, PointId};

use super::causes::{Group, Moves};
use super::change::{Change, Outcome, Scale, Search, cooling_part};
use super::forecast::{Dates, Need, Path, passage};
use super::level::{OwnLevel, usual};
use super::stream::{BY_WATCH, PROBE, Part, Sample, Stream, Streams, day_of};
use super::suspects::{FEELS_IT, SHOWS};
use super::wear::Wear;
use super::{CoolingNow, History, moment, own};
use crate::context::Context;
use crate::day::Moment;
use crate::finding::{Cause, Cost, Evidence, Finding, Kind, Limit, PartHealth, Urgency};
use crate::findings::room_hot::LEAST_C;
use crate::findings::thermostat::FAR_K;
use crate::findings::{draft, isolate, price};
use crate::line::before;
use crate::memory::LastDone;
use crate::safety::{at_a_gauge, at_leaks, at_the_line, at_the_rooms_fans, in_the_room};
use crate::say::{self, round};
use crate::{Chart, Drift, Level};
use gauges::gauge_finding;

/// Readings that teach a machine's own level before any change of it is looked for.
const LEARN: usize = 15;
/// Readings at least after a beginning.
const AFTER: usize = 3;
const OIL: Scale = Scale {
    level: 4.0,
    weather: 0.9,
    duty: 0.9,
    least_noise: 0.6,
    relative: false,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: Some((Part::OilSide, 0.4)),
    seldom: false,
};
const OUTLET: Scale = Scale {
    level: 3.0,
    weather: 0.9,
    duty: 0.9,
    least_noise: 0.45,
    relative: false,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: Some((Part::Aftercooler, 0.4)),
    seldom: false,
};

/// A change that moves its reading by less than this is proven, but not worth telling, K.
const LEAST_KELVIN: f64 = 0.7;
/// Below this it is worth watching only, whatever it may come to, K: with a constant fan, and with one that
/// follows the oil or of which nothing is told, whose swing is in each reading (from memory).
const MATTERS_KELVIN: f64 = 1.2;
const MATTERS_BY_FAN_KELVIN: f64 = 2.5;
/// A level is a machine's own from so many readings on.
const OWN_FROM: usize = 20;
/// Further than this from its own level a reading is news.
const NEWS: f64 = 4.0;

const EVIDENCE: Formula = Formula {
    name: "evidence for a change",
    equation: "ln K = ½ B²/(A + π) + ½ ln(π/(A + π)), + ln 2Φ(B/√(A + π)) where it goes one way only, told above 4.3",
    unit: "-",
    source: "regression of the model's residuals with a change at an unknown time",
    mark: Mark::Derived,
};
const CUMULATIVE_SUM: Formula = Formula {
    name: "cumulative sum of what its own level leaves",
    equation: "S = max(0, S + z − 0.5), tells from 5 on, z in σ of one reading",
    unit: "σ",
    source: "NIST/SEMATECH e-Handbook 6.3.2.3",
    mark: Mark::Published,
};
const MOVING_AVERAGE: Formula = Formula {
    name: "moving average of what its own level leaves",
    equation: "E = 0.2 z + 0.8 E, limit 3 σ √(0.2/1.8)",
    unit: "σ",
    source: "NIST/SEMATECH e-Handbook 6.3.2.4",
    mark: Mark::Published,
};
const SIZE: Formula = Formula {
    name: "health by all rounds",
    equation: "k = 0.8^x, a x + b x² = B/(A + π) · ∂r/∂x, a and b by the model at a fifth and a half lost",
    unit: "1",
    source: "the same regression, weighted with the forward model's sensitivities",
    mark: Mark::Derived,
};
const BENT: Formula = Formula {
    name: "health by all rounds",
    equation: "k = 1 − lost, lost even each day since it began; ∂r = a x + b x², x = ln k/ln 0.8, a and b by the model at a fifth and a half lost",
    unit: "1",
    source: "least squares in the share lost (Gauss-Newton, textbook), beginnings weighted by their evidence",
    mark: Mark::Derived,
};
const OWN: Formula = Formula {
    name: "expected by its own level",
    equation: "r = r_model + level by weather and load",
    unit: "in the reading's unit",
    source: "forward model, and the regression of all rounds before the change",
    mark: Mark::Derived,
};
const GROWN: Formula = Formula {
    name: "growth over its own level",
    equation: "x = B/(A + π)",
    unit: "in the reading's unit, or a share",
    source: "the same regression",
    mark: Mark::Derived,
};
const NOISE: Formula = Formula {
    name: "scatter of one reading, 95 %",
    equation: "1.96 s",
    unit: "in the reading's unit",
    source: "root mean square of the smaller nine tenths of successive differences, over √2 and what cutting took off (0.623 of the variance, normal distribution), widened by what stays correlated from round to round",
    mark: Mark::Derived,
};
const FORECAST: Formula = Formula {
    name: "days until the limit is likely reached",
    equation: "P(t) = max Φ((x + a d − x*(month))/σ(d)) passes 50 %",
    unit: "days",
    source: "health drawn forward, x* from the forward model at each month's mean maximum",
    mark: Mark::Derived,
};
const ENDED: Formula = Formula {
    name: "evidence that a change has ended",
    equation: "ln K = ln K(until then) − ln K(until now), believed above 10",
    unit: "-",
    source: "regression of the model's residuals with a change between two unknown times",
    mark: Mark::Derived,
};
/// So many days the keeper is asked for work that was not written down (from memory).
const ASKED_FOR: f64 = 45.0;
/// Work that was written down so near to it, days, is what ended it (common practice, no source).
const ABOUT_THEN: f64 = 7.0;
/// Days in a mean month.
const MONTH: f64 = 30.44;

/// Looks through all streams and changes the context's findings accordingly.
pub(crate) fn tell(ctx: &mut Context<'_>, history: &History) -> Vec<Drift> {
    let mut drifts = Vec::new();
    let (streams, own) = own::streams(ctx.station, &history.streams, |streams, i| {
        cooled::search(ctx, streams, i)
    });
    let streams = streams.as_ref();
    ctx.own_coolers = own;
    let mut hurries = Vec::new();
    for i in 0..ctx.station.machines.len() {
        cooled::cooling(ctx, streams, i, &mut drifts);
        valve::at_little_load(ctx, streams, i, &mut drifts);
        hurries.push(single::power(ctx, streams, i, &mut drifts));
        single::unloaded(ctx, streams, i, &mut drifts);
    }
    for i in 0..ctx.station.dryers.len() {
        single::dew_point(ctx, streams, i, &mut drifts);
    }
    single::room(ctx, streams, &mut drifts);
    flowing::delivery(ctx, streams, &mut drifts);
    leaking::leakage(ctx, streams, &mut drifts);
    drained::water(ctx, streams);
    gauges::pressures(ctx, streams);
    for i in 0..ctx.station.filters.len() {
        worn::torn(ctx, streams, i);
    }
    worn::wear(ctx, streams, &hurries, &mut drifts);
    worn::changed(ctx, streams);
    drifts
}

fn words(ctx: &Context<'_>, asset: Asset) -> Vec<(Point, station::point::Word)> {
    ctx.words
        .iter()
        .filter(|(id, _)| id.asset == asset)
        .map(|(id, s)| (id.point, s.word))
        .collect()
}

fn today(ctx: &Context<'_>) -> Date {
    ctx.now
        .to_zoned_datetime(ctx.station.site.time_zone.clone())
        .date()
}

fn days_to(from: Date, to: Date) -> f64 {
    from.until(to)
        .map_or(f64::INFINITY, |span| f64::from(span.get_days()))
}

fn evidence_steps(ctx: &Context<'_>, change: &Change) -> Vec<Step> {
    let began = moment(change.course.begins())
        .map_or_else(String::new, |t| t.strftime("%Y-%m-%d").to_string());
    let mut steps = vec![EVIDENCE.step(
        format!(
            "{}, begun about {began}, {}",
            change.cause.name,
            change
                .posterior
                .iter()
                .take(3)
                .map(|(name, p)| format!("{name} {}", round(*p, 2)))
                .collect::<Vec<_>>()
                .join(", ")
        ),
        change.log_odds,
    )];
    if let Some((id, no_gauge, control)) = change.control {
        let name = no_gauge.map_or_else(|| ctx.point_name(id), str::to_owned);
        let since = control.since.and_then(moment).map_or_else(
            || "not passed".to_owned(),
            |t| format!("passed, away from nought since {}", t.strftime("%Y-%m-%d")),
        );
        steps.push(CUMULATIVE_SUM.step(
            format!("{name}, {} readings: {since}", control.readings),
            control.sum,
        ));
        steps.push(MOVING_AVERAGE.step(
            format!("{name}, limit {}", round(control.limit, 2)),
            control.average,
        ));
    }
    steps.extend(named::steps(ctx, change));
    steps
}

/// A change that has ended lately asks for the work to be written down.
fn ask_what_was_done(ctx: &mut Context<'_>, asset: Asset, what: &str, outcome: &Outcome) {
    let Some(ended) = outcome.ended else { return };
    let date = |day| moment(day).map_or_else(String::new, |t| t.strftime("%Y-%m-%d").to_string());
    if day_of(ctx.now) - ended.ended >= ASKED_FOR {
        return;
    }
    // Work that was done about then is what was done.
    let about = |((on, _), last): (&(Asset, String), &LastDone)| {
        *on == asset && (day_of(last.time) - ended.ended).abs() < ABOUT_THEN
    };
    if ctx.memory.done.iter().any(about) {
        return;
    }
    let step = ENDED.step(
        format!(
            "wrong from {}, right again since {}",
            date(ended.began),
            date(ended.ended)
        ),
        ended.odds,
    );
    ctx.skip_by(
        &format!("what was done at {}", ctx.station.id(asset)),
        &format!(
            "{what} was wrong until about {} and is right again, though no work is written down; if something was cleaned, changed or mended then, write it as `done`",
            date(ended.ended)
        ),
        vec![step],
    );
}

/// Causes of two changes at once: how likely each is there, alone or beside the other.
fn both(one: Vec<Cause>, other: Vec<Cause>) -> Vec<Cause> {
    let mut list = one;
    for cause in other {
        match list.iter_mut().find(|c| c.cause == cause.cause) {
            // Nothing is wrong only if neither change is real.
            Some(known) if cause.cause == "nothing wrong" => {
                known.probability *= cause.probability;
            }
            Some(known) => {
                let either = 1.0 - (1.0 - known.probability) * (1.0 - cause.probability);
                if cause.probability > known.probability {
                    *known = cause;
                }
                known.probability = either;
            }
            None if cause.cause == "nothing wrong" => {}
            None => list.push(cause),
        }
    }
    list.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    list
}

/// A second change of what one was told of already: the surer one speaks first.
fn merge_another(old: &mut Finding, new: Finding) {
    let likely = |f: &Finding| f.limit.as_ref().and_then(|l| l.likely);
    let sooner = match (likely(old), likely(&new)) {
        (Some(one), Some(other)) => other < one,
        (one, other) => one.is_none() && other.is_some(),
    };
    if sooner {
        old.limit.clone_from(&new.limit);
    }
    old.since = match (old.since, new.since) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => b.or(a),
    };
    old.urgency = old.urgency.min(new.urgency);
    old.health = old.health.take().or(new.health);
    old.causes = both(std::mem::take(&mut old.causes), new.causes);
    old.working.extend(new.working);
}

/// Merges into the finding of this id, or adds it.
fn merge(ctx: &mut Context<'_>, new: Finding) {
    let again = ctx.told.contains(&new.id);
    if !again {
        ctx.told.push(new.id.clone());
    }
    match ctx.findings.iter_mut().find(|f| f.id == new.id) {
        Some(old) if again => merge_another(old, new),
        Some(old) => {
            old.since = match (old.since, new.since) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => b.or(a),
            };
            old.urgency = old.urgency.min(new.urgency);
            old.health = new.health.or(old.health.take());
            old.causes = new.causes;
            if new.limit.is_some() {
                old.limit = new.limit;
            }
            if new.next_check.is_some() {
                old.next_check = new.next_check;
            }
            for step in new.working {
                if !old.working.contains(&step) {
                    old.working.push(step);
                }
            }
        }
        None => ctx.findings.push(new),
    }
}

/// Kelvin from which a loss of a machine's cooling is more than worth watching.
fn matters_kelvin(ctx: &Context<'_>, i: usize) -> f64 {
    match ctx.station.machines[i].cooling.fan {
        Fan::Constant => MATTERS_KELVIN,
        Fan::Variable(_) | Fan::OnOff(_) | Fan::Unknown => MATTERS_BY_FAN_KELVIN,
    }
}

/// Keeps what readings stand at by themselves, each once.
fn remember_levels(ctx: &mut Context<'_>, outcome: &Outcome, points: &[PointId]) {
    for level in outcome.levels.iter().filter(|l| points.contains(&l.id)) {
        let known = ctx
            .levels
            .iter()
            .any(|l| l.id == level.id && l.relative == level.relative);
        if known && level.id.point != Point::MachinePower {
            continue;
        }
        ctx.levels.push(Level {
            id: level.id,
            moment: level.moment,
            over: level.moved + level.offset,
            sigma: level.sigma,
            scatter: level.noise,
            relative: level.relative,
            readings: level.samples,
            sum: level.control.map_or(0.0, |c| c.sum),
            since: level.control.and_then(|c| moment(c.since?)),
            average: level.control.map_or(0.0, |c| c.average),
        });
    }
}

/// A finding that one round makes of a machine that has always been so is no news. `matters` says
/// whether a change makes more of its readings than what is only watched.
fn take_back_own_levels(
    ctx: &mut Context<'_>,
    outcome: &Outcome,
    id: &str,
    points: &[PointId],
    matters: impl Fn(&Change) -> bool,
) {
    remember_levels(ctx, outcome, points);
    // A change of the part itself is news; one of a gauge or a valve is told as such, and what is left
    // is judged by the machine's own level.
    let told =
        |c: &&Change| !nothing(c) && !["gauge wrong", "thermostat stuck"].contains(&c.cause.name);
    if outcome.changes.iter().filter(told).any(matters) {
        return;
    }
    let changed = outcome.changes.iter().any(|c| told(&c));
    let news = |point: &PointId| -> Option<bool> {
        let level = outcome.levels.iter().find(|l| l.id == *point)?;
        let r = ctx.residuals.get(point)?;
        let unit = if r.id.point == Point::MachinePower {
            r.band.mid
        } else {
            1.0
        };
        let off = (r.read - r.band.mid - level.moved - level.offset * unit).abs();
        Some(level.samples < OWN_FROM || off >= NEWS * level.noise * unit)
    };
    // Without a level that was learned, nothing says that it has always been so.
    let learned: Vec<bool> = points.iter().filter_map(news).collect();
    if learned.is_empty() || learned.contains(&true) {
        return;
    }
    // What passes its limit in the coming months does so whether it is new or not; with a fan that does
    // not always run fully, one round's excess says nothing of those months.
    let guessed = |asset: Asset| matches!(asset, Asset::Machine(i) if ctx.station.machines[i].cooling.fan != Fan::Constant);
    let told = |f: &Finding| {
        f.id == id && (guessed(f.subject) || f.limit.as_ref().and_then(|l| l.likely).is_none())
    };
    // The plate says little of a machine whose fan follows the oil: what it has always done needs no words.
    let place = ctx.findings.iter().position(told);
    match place {
        Some(place)
            if guessed(ctx.findings[place].subject)
                && ctx.findings[place].kind == Kind::CoolingLost
                && !changed =>
        {
            ctx.findings.remove(place);
        }
        Some(place) => no_news(&mut ctx.findings[place], changed),
        None => {}
    }
}

/// What has always been so, but for a little that is told beside it, is worth watching only.
fn no_news(f: &mut Finding, changed: bool) {
    f.urgency = Urgency::Watch;
    f.title += if changed {
        "; nearly all of it has stood so since the first rounds"
    } else {
        "; it has stood so since the first rounds, nothing has changed"
    };
}

fn apply(ctx: &Context<'_>, f: &mut Finding, what: &str, dates: Dates, today: Date) {
    let days = dates.likely.map(|d| days_to(today, d));
    f.urgency = days.map_or(Urgency::Watch, Urgency::in_days);
    if let Some(days) = days {
        f.working
            .push(FORECAST.step(format!("counted from {today}"), days));
    }
    f.limit = Some(Limit {
        what: what.to_owned(),
        earliest: dates.earliest,
        likely: dates.likely,
        latest: dates.latest,
    });
    debug_assert!(ctx.now.as_millisecond() != 0 || dates.likely.is_none());
}

/// The newest sample as evidence.
fn evidence_of(id: PointId, sample: &Sample) -> Evidence {
    Evidence {
        id,
        read: sample.read,
        mid: Some(sample.mid),
        deviations: None,
    }
}

/// A reading that shows a change, and what it should be by the machine's own level.
struct Shown<'a> {
    id: PointId,
    sample: &'a Sample,
    own: f64,
    /// Whether any of late does.
    shows: bool,
}

/// How much of what it should show a reading shows, if one does.
const HALF_OF_IT: f64 = 0.5;

impl<'a> Shown<'a> {
    /// The newest reading of late that feels a change and stands on its side; the newest if none does.
    fn of(
        stream: &'a Stream,
        level: Option<&OwnLevel>,
        relative: bool,
        effect: impl Fn(&Sample) -> f64,
    ) -> Option<Self> {
        let own = |s: &Sample| {
            let unit = if relative { s.mid } else { 1.0 };
            s.mid + level.map_or(0.0, |l| l.of(s)) * unit
        };
        let newest = || stream.samples.iter().rev().take(SHOWS);
        let most = newest().map(|s| effect(s).abs()).fold(0.0, f64::max);
        let per = |s: &Sample| if relative { s.mid } else { 1.0 };
        let shows = |s: &&Sample| {
            let moved = effect(s);
            moved.abs() >= FEELS_IT * most && (s.read - own(s)) * moved > 0.0
        };
        // One that shows half of it says more than one that hardly stands on its side.
        let half = |s: &&Sample| shows(s) && (s.read - own(s)) / effect(s) > HALF_OF_IT * per(s);
        let shown = newest().find(half).or(newest().find(shows));
        let sample = shown.or(stream.samples.back())?;
        Some(Self {
            id: stream.id,
            sample,
            own: own(sample),
            shows: shown.is_some(),
        })
    }

    /// A change that no reading of late shows is not worth watching, however likely by all rounds.
    fn not_worth_watching(&self, urgency: Urgency) -> bool {
        !self.shows && urgency == Urgency::Watch
    }

    /// `79 °C, where 76 ± 1.3 is expected`; `half` in the reading's unit.
    fn beside(&self, ctx: &Context<'_>, half: f64) -> String {
        ctx.units
            .beside(self.id.point, self.sample.read, self.own, half)
    }

    fn evidence(&self) -> Evidence {
        Evidence {
            mid: Some(self.own),
            ..evidence_of(self.id, self.sample)
        }
    }

    fn step(&self) -> Step {
        let point = self.id.point;
        let (model, unit) = say::in_file_unit(point, self.sample.mid);
        OWN.step(
            format!(
                "{} {unit} by the model {}, {} °C outdoors",
                round(model, 2),
                if self.sample.moved == 0.0 {
                    "as new"
                } else {
                    "with its own oil cooler"
                },
                round(Temperature::new(self.sample.ambient).celsius(), 1)
            ),
            say::in_file_unit(point, self.own).0,
        )
    }
}

fn scatter_step(point: Point, half: f64) -> Step {
    NOISE.step(
        "the scatter of single readings about their own level",
        crate::working::in_difference_unit(point, half),
    )
}

fn grown_step(change: &Change) -> Step {
    GROWN.step(
        format!(
            "x = {} ± {}",
            round(change.size, 3),
            round(1.96 * change.sigma, 3)
        ),
        change.size,
    )
}

/// What a change moved the newest samples by: the third largest, so that no single look makes it.
fn lately(stream: &Stream, shows: impl Fn(&Sample) -> f64) -> Option<f64> {
    let mut list: Vec<f64> = stream.samples.iter().rev().take(SHOWS).map(shows).collect();
    list.sort_by(|a, b| b.abs().total_cmp(&a.abs()));
    list.get(2).or(list.last()).copied()
}

/// Whether nothing wrong is the likeliest.
fn nothing(change: &Change) -> bool {
    change
        .posterior
        .first()
        .is_none_or(|(name, _)| *name == "nothing wrong")
}

/// A change as it is drawn beside its finding: `level` is what it comes to now, and its course goes from `base` by so much
/// for each unit of its cause.
fn drift(
    (asset, what, unit): (Asset, &str, &str),
    change: &Change,
    (level, base, per_size): (f64, f64, f64),
    (finding, chart): (&Finding, Chart),
) -> Drift {
    let course = spark_of(change, false);
    Drift {
        subject: asset,
        what: what.to_owned(),
        unit: unit.to_owned(),
        level,
        sigma: (change.sigma * per_size).abs(),
        per_month: change.a_day * MONTH * per_size,
        per_month_sigma: (change.a_day_sigma * MONTH * per_size).abs(),
        limit: None,
        spark: course.iter().map(|x| base + x * per_size).collect(),
        finding: finding.id.clone(),
        chart: Some(chart),
    }
}

fn spark_of(change: &Change, relative: bool) -> Vec<f64> {
    let now_at = change.course.at(change.now);
    (0..26)
        .map(|week| {
            let day = change.now - f64::from(25 - week) * 7.0;
            let x = if now_at > 0.0 {
                change.size * change.course.at(day) / now_at
            } else {
                0.0
            };
            if relative { 1.0 + x } else { x }
        })
        .collect()
}
