//! Finds the change in a group of readings that belong together, and weighs its causes.
//!
//! For each cause the evidence of all readings that feel it is added, over a grid of beginnings and
//! both courses; words seen weigh in; causes that the readings can't part keep their shares.
//!
//! Must not know: sentences, money.

use station::point::{PointId, Word};

use crate::tables::{Belief, Tables};

use super::causes::{Cause, Moves};
use super::control::{self, Control};
use super::curve::{self, Curve};
use super::ended::Ended;
use super::level::OwnLevel;
use super::prepare::prepared;
use super::shift::{Course, Evidence, Prepared};
use super::stream::{Mends, Part, Sample, Stream};
use super::suspects::Suspect;
use super::weigh::{Averaged, likeliest, posterior};

/// ln K from which a change is told: one healthy stream passes it less than once in some years.
pub(super) const TELL: f64 = 4.3;
/// A change of which work takes so much away, by the probability of its causes, is taken to have ended with it.
const LIKELY_ENDED: f64 = 0.5;
/// Beginnings, or ends, that are tried.
const TRIED: usize = 40;
/// Pieces of work that nobody wrote down, at most.
const MOST_UNWRITTEN: usize = 3;
/// Changes that are told apart at once.
const MOST_AT_ONCE: usize = 2;
/// Beginnings that are so much less likely (ln) than the likeliest are not bent too (from memory).
const WORTH_BENDING: f64 = 10.0;
/// A bent loss is preferred though it is by so much (ln) less likely than straight stretches, which have more
/// to choose (from memory).
const AS_WELL: f64 = 15.0;
/// Causes less likely than this are not named.
pub(crate) const WORTH_NAMING: f64 = 0.01;

/// What one reading's stream looks like to the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    /// How far a machine strays from its plate, in the reading's unit (or as a share).
    pub(crate) level: f64,
    /// What weather, and moisture or the valve, may do beyond the model, per standard deviation of each.
    pub(crate) weather: f64,
    /// What load may do beyond the model, likewise.
    pub(crate) duty: f64,
    /// The least noise.
    pub(crate) least_noise: f64,
    /// Whether residuals are shares of the expected value.
    pub(crate) relative: bool,
    /// Samples that teach a level of its own before any change is looked for.
    pub(crate) learn: usize,
    /// Samples at least after a beginning.
    pub(crate) after: usize,
    /// What it wears by itself over a standard deviation of its days; such a reading has no
    /// weather.
    pub(crate) wears: Option<f64>,
    /// How far the part's apparent state strays from reading to reading, in its units, since flow and
    /// inlet are not known at that moment: a reading that feels the part strongly is noisier for it.
    pub(crate) blur: f64,
    /// The part whose state the plate does not tell exactly, and how far it strays, in the part's
    /// units: a cooler that was always a little smaller shows it more where the valve is open.
    pub(crate) own: Option<(Part, f64)>,
    /// Whether it is read so seldom that the newest reading counts for something, far off as it is, before the
    /// next bears it out: others of its group may do that too.
    pub(crate) seldom: bool,
}

/// A change that was found.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Change {
    pub(crate) cause: Cause,
    pub(crate) course: Course,
    /// Evidence, ln K.
    pub(crate) log_odds: f64,
    /// Size in units of the cause, and its standard deviation, at the newest sample.
    pub(crate) size: f64,
    pub(crate) sigma: f64,
    /// Growth a day, in units of the cause.
    pub(crate) a_day: f64,
    /// What the readings leave open of the growth, over every beginning that they allow.
    pub(crate) a_day_sigma: f64,
    /// The newest sample's day.
    pub(crate) now: f64,
    /// Causes with their probability, likeliest first; `nothing wrong` among them.
    pub(crate) posterior: Vec<(&'static str, f64)>,
    /// Scatter of each reading of the group, in its unit or as a share.
    noise: Vec<f64>,
    /// Readings that show it.
    pub(crate) ids: Vec<PointId>,
    /// What speaks for and against the likeliest causes, likeliest first.
    pub(crate) suspects: Vec<Suspect>,
    /// Plain control charts of the reading that shows it most, beside its point and what it is where no gauge reads it.
    pub(crate) control: Option<(PointId, Option<&'static str>, Control)>,
    /// A loss of cooling as the model bends it, with all its stretches, where that fits as well as they do.
    pub(crate) curve: Option<Curve>,
}

impl Change {
    /// Scatter of a reading of the group about its own level, 95 %.
    pub(crate) fn scatter(&self, id: PointId) -> f64 {
        let place = self.ids.iter().position(|i| *i == id);
        place.map_or(0.0, |n| self.scatter_at(n))
    }

    /// The same of the group's reading at a place: one gauge may be read in two ways.
    pub(crate) fn scatter_at(&self, place: usize) -> f64 {
        1.96 * self.noise.get(place).copied().unwrap_or_default()
    }
}

/// What the search says of a group.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Outcome {
    /// At most two at once, the surer one first.
    pub(crate) changes: Vec<Change>,
    pub(crate) levels: Vec<OwnLevel>,
    /// What was wrong and is right again though nobody wrote down why, the newest.
    pub(crate) ended: Option<Ended>,
}

/// The readings since work was last done, with what was healthy before it, and the changes in them.
struct Stretch {
    slots: Vec<Slot>,
    found: Vec<Found>,
    span: (f64, f64),
    ended: Option<Ended>,
}

/// Readings of one group with their scales, and the words seen of late.
pub(crate) struct Search<'a> {
    pub(crate) tables: Tables,
    pub(crate) causes: Vec<Cause>,
    pub(crate) streams: Vec<(&'a Stream, Scale)>,
    pub(crate) words: Vec<(station::point::Point, Word)>,
    /// Readings that are held against the first one of the group: were that gauge wrong, each would
    /// seem to stray the other way, as far as it feels the air.
    pub(crate) witnesses: Vec<(&'a Stream, Scale)>,
}

impl<'a> Search<'a> {
    /// A search with no word seen and nothing held against it.
    pub(crate) fn of(
        tables: Tables,
        causes: Vec<Cause>,
        streams: Vec<(&'a Stream, Scale)>,
    ) -> Self {
        Self {
            tables,
            causes,
            streams,
            words: Vec::new(),
            witnesses: Vec::new(),
        }
    }
}

impl Search<'_> {
    /// Runs the search over all that was read.
    pub(crate) fn run(&self) -> Outcome {
        let causes = &self.causes;
        let Stretch {
            slots: prepared,
            found,
            span: (from, to),
            ended,
        } = self.newest_stretch();
        let healthy = self.without(&prepared, causes, &found, (from, to));
        let mut outcome = Outcome {
            levels: self.levels(&healthy, &prepared, from),
            ended,
            ..Outcome::default()
        };
        outcome.changes = (0..found.len())
            .map(|i| {
                let others = all_but(&found, i);
                let left = self.without(&prepared, causes, &others, (from, to));
                let mut change = self.change(causes, &left, found[i], from, to);
                change.control = self.control(&change, &left, &healthy, from);
                change
            })
            .collect();
        for i in 0..found.len() {
            let changes = &outcome.changes;
            let curve = self.curve(causes, &prepared, (&found, changes), i, (from, to));
            outcome.changes[i].curve = curve;
        }
        outcome
            .changes
            .sort_by(|a, b| b.log_odds.total_cmp(&a.log_odds));
        outcome
    }

    /// ln of how likely all readings are, with the changes that are found in them: what one model of the machine
    /// has over another.
    pub(super) fn likelihood(&self) -> f64 {
        let Stretch { slots, found, .. } = self.newest_stretch();
        let rare = self.tables.belief(Belief::AlwaysSo);
        let as_if_healthy: f64 = slots.iter().flatten().map(|(p, _)| p.likelihood()).sum();
        as_if_healthy + found.iter().map(|f| f.log_odds - rare).sum::<f64>()
    }

    /// The newest stretch, after work that was written down or must have been done.
    fn newest_stretch(&self) -> Stretch {
        // Stretches between pieces of work: what was healthy of each teaches the next.
        let mut left_out: Vec<(f64, f64)> = Vec::new();
        let mut from = f64::NEG_INFINITY;
        for (to, mends) in self.resets() {
            let prepared = self.prepare(to, &left_out);
            let (slots, found) = self.all_but_lone(&self.causes, prepared, (from, to));
            // What the work does not touch goes on.
            let ends = |f: &Found| {
                let likely = self.change(&self.causes, &slots, *f, from, to).posterior;
                let ended = likely.iter().filter(|(name, _)| mends.ends(name));
                ended.map(|(_, p)| p).sum::<f64>() > LIKELY_ENDED
            };
            if mends != Mends::Whole && !found.iter().any(ends) {
                continue;
            }
            if let Some(begins) = found.iter().map(|f| f.course.begins()).reduce(f64::min) {
                left_out.push((begins, to));
            }
            from = to;
        }
        let newest = |from: f64, left_out: &[(f64, f64)]| {
            let span = (from, f64::INFINITY);
            let prepared = self.prepare(span.1, left_out);
            let (slots, found) = self.all_but_lone(&self.causes, prepared, span);
            Stretch {
                slots,
                found,
                span,
                ended: None,
            }
        };
        let mut stretch = newest(from, &left_out);
        // Work that nobody wrote down ends a stretch too.
        for _ in 0..MOST_UNWRITTEN {
            let Some(ended) = self.ended(&stretch.slots, &stretch.found, from) else {
                break;
            };
            left_out.push((ended.began, ended.ended));
            from = ended.ended;
            stretch = Stretch {
                ended: Some(ended),
                ..newest(from, &left_out)
            };
        }
        stretch
    }

    /// Changes one after another, each sought in what the others leave; each is weighed anew once
    /// another is known.
    pub(super) fn all(&self, causes: &[Cause], slots: &[Slot], span: (f64, f64)) -> Vec<Found> {
        let mut found: Vec<Found> = Vec::new();
        for _ in 0..MOST_AT_ONCE {
            let left = self.without(slots, causes, &found, span);
            let Some(next) = self.best(causes, &left, span.0, span.1) else {
                break;
            };
            found.push(next);
            if found.len() < 2 {
                continue;
            }
            let mut again = Vec::new();
            for i in 0..found.len() {
                let mut others = again.clone();
                others.extend_from_slice(&found[i + 1..]);
                let left = self.without(slots, causes, &others, span);
                again.extend(self.best(causes, &left, span.0, span.1));
            }
            found = again;
        }
        found
    }

    /// The residuals less what these changes do to them.
    pub(super) fn without(
        &self,
        slots: &[Slot],
        causes: &[Cause],
        found: &[Found],
        (from, to): (f64, f64),
    ) -> Vec<Slot> {
        slots
            .iter()
            .enumerate()
            .map(|(place, slot)| {
                let (prepared, samples) = slot.as_ref()?;
                if found.is_empty() {
                    return slot.clone();
                }
                let relative = self.streams[place].1.relative;
                let less = prepared.less(|i, day| {
                    if day < from || day >= to {
                        return 0.0;
                    }
                    found
                        .iter()
                        .map(|f| {
                            let moves = causes[f.cause].moves;
                            f.size * f.course.at(day) * effect(moves, place, &samples[i], relative)
                        })
                        .sum()
                });
                Some((less, samples.clone()))
            })
            .collect()
    }

    /// Days on which work set some reading of the group back, and what it mends.
    fn resets(&self) -> Vec<(f64, Mends)> {
        let of = |(stream, _): &(&Stream, Scale)| -> Vec<(f64, Mends)> {
            let days = stream.samples.iter();
            days.filter_map(|x| Some((x.day, x.reset?))).collect()
        };
        let mut days: Vec<(f64, Mends)> = self.streams.iter().flat_map(of).collect();
        days.sort_by(|a, b| a.0.total_cmp(&b.0));
        days.dedup_by(|later, earlier| {
            let same = (later.0 - earlier.0).abs() < 0.5;
            if same {
                earlier.1 = earlier.1.and(later.1);
            }
            same
        });
        days
    }

    fn prepare(&self, to: f64, left_out: &[(f64, f64)]) -> Vec<Slot> {
        self.streams
            .iter()
            .map(|(stream, scale)| {
                let samples: Vec<Sample> = stream
                    .samples
                    .iter()
                    .filter(|s| s.day < to)
                    .filter(|s| !left_out.iter().any(|(a, b)| *a <= s.day && s.day < *b))
                    .copied()
                    .collect();
                Some((prepared(&samples, *scale)?, samples))
            })
            .collect()
    }

    /// A and B of a cause over every stream that feels it.
    fn evidence(
        &self,
        cause: &Cause,
        prepared: &[Slot],
        course: Course,
        span: (f64, f64),
    ) -> Evidence {
        let each = (0..prepared.len())
            .filter_map(|place| self.evidence_of(cause, place, prepared, course, span));
        each.fold(Evidence::default(), Evidence::and)
    }

    /// A and B of a cause for each of many courses: a list for every stream.
    pub(super) fn by_course(
        &self,
        cause: &Cause,
        slots: &[Slot],
        courses: &[Course],
        to: f64,
    ) -> Vec<Vec<Evidence>> {
        let each = slots.iter().zip(&self.streams).enumerate();
        each.filter_map(|(place, (slot, (_, scale)))| {
            let (prepared, samples) = slot.as_ref()?;
            let felt = |i: usize| effect(cause.moves, place, &samples[i], scale.relative);
            Some(prepared.of_courses(courses, to, felt))
        })
        .collect()
    }

    /// A and B of a cause on one stream.
    pub(super) fn evidence_of(
        &self,
        cause: &Cause,
        place: usize,
        slots: &[Slot],
        course: Course,
        span: (f64, f64),
    ) -> Option<Evidence> {
        let relative = self.streams.get(place)?.1.relative;
        evidence_at(slots, place, span, |sample, day| {
            effect(cause.moves, place, sample, relative) * course.at(day)
        })
    }

    fn best(&self, causes: &[Cause], prepared: &[Slot], from: f64, to: f64) -> Option<Found> {
        let courses = self.beginnings(prepared, from, to);
        let now = newest_day(prepared);
        let mut best: Option<Found> = None;
        for (place, cause) in causes.iter().enumerate() {
            let table = self.by_course(cause, prepared, &courses, to);
            for (i, &course) in courses.iter().enumerate() {
                let evidence = together(&table, i);
                let log_odds = log_odds(cause, evidence, course, now);
                if best.as_ref().is_none_or(|b| log_odds > b.log_odds) {
                    best = Some(Found {
                        cause: place,
                        course,
                        log_odds,
                        size: evidence.size(cause.spread).0,
                    });
                }
            }
        }
        best.filter(|b| b.log_odds > TELL)
    }

    fn change(
        &self,
        causes: &[Cause],
        prepared: &[Slot],
        found: Found,
        from: f64,
        to: f64,
    ) -> Change {
        let now = newest_day(prepared);
        // Each cause gets its own best beginning before they are weighed against each other.
        let courses = self.beginnings(prepared, from, to);
        let tables: Vec<Vec<Vec<Evidence>>> = causes
            .iter()
            .map(|cause| self.by_course(cause, prepared, &courses, to))
            .collect();
        let known = (
            self.tables.belief(Belief::Feels),
            self.tables.belief(Belief::Follows),
        );
        let fits: Vec<(f64, Course)> = causes
            .iter()
            .zip(&tables)
            .map(|(cause, table)| {
                let fit =
                    |(i, &c): (usize, &Course)| (weighed(cause, table, (i, c), now, known), c);
                let best = |a: (f64, Course), b: (f64, Course)| if b.0 > a.0 { b } else { a };
                let each = courses.iter().enumerate().map(fit);
                each.fold((0.0, found.course), best)
            })
            .collect();
        let witnesses = self.witnesses();
        let heard = |cause: &Cause, course: Course| {
            let size = self
                .evidence(cause, prepared, course, (from, to))
                .size(cause.spread);
            witnesses.heard(cause, course, size, (from, to))
        };
        let weights: Vec<f64> = causes
            .iter()
            .zip(&fits)
            .map(|(cause, &(readings, course))| {
                let words = self.tables.weight_of(cause.name, &self.words);
                readings + words + cause.prior.ln() + heard(cause, course)
            })
            .collect();
        let likeliest = likeliest(causes, &weights).unwrap_or(found.cause);
        let cause = causes[likeliest].clone();
        let course = fits.get(likeliest).map_or(found.course, |fit| fit.1);
        let evidence = self.evidence(&cause, prepared, course, (from, to));
        let over_all = Averaged::over(
            courses.iter().enumerate().map(|(i, &c)| {
                let e = together(&tables[likeliest], i);
                let (size, sigma) = e.size(cause.spread);
                (log_odds(&cause, e, c, now), c, size, sigma)
            }),
            now,
        );
        let nothing = self.tables.belief(Belief::NothingWrong);
        let posterior = posterior(causes, &weights, nothing);
        // Of several ways in which one cause shows, the likeliest speaks for it.
        let likeliest_of = |name: &str| {
            (0..causes.len())
                .filter(|&i| causes[i].name == name)
                .max_by(|&a, &b| weights[a].total_cmp(&weights[b]))
        };
        let suspects = posterior
            .iter()
            .filter(|(_, p)| *p >= WORTH_NAMING)
            .filter_map(|(name, _)| likeliest_of(name))
            .map(|i| self.suspect(&causes[i], fits[i].1, prepared, now, (from, to)))
            .collect();
        Change {
            log_odds: found
                .log_odds
                .max(evidence.log_odds(cause.spread, cause.sign)),
            size: over_all.size,
            sigma: over_all.sigma,
            a_day: over_all.a_day,
            a_day_sigma: over_all.a_day_sigma,
            now,
            course,
            posterior,
            suspects,
            noise: prepared
                .iter()
                .map(|slot| slot.as_ref().map_or(0.0, |(p, _)| p.noise()))
                .collect(),
            ids: self.streams.iter().map(|(s, _)| s.id).collect(),
            control: None,
            curve: None,
            cause,
        }
    }

    /// The loss that a change and its further stretches tell, as the model bends it.
    fn curve(
        &self,
        causes: &[Cause],
        slots: &[Slot],
        (found, changes): (&[Found], &[Change]),
        i: usize,
        span: (f64, f64),
    ) -> Option<Curve> {
        let part = curve::bends(changes[i].cause.moves)?;
        let alike = |c: &Change| curve::bends(c.cause.moves) == Some(part);
        let others = found.iter().zip(changes).filter(|(_, c)| !alike(c));
        let others: Vec<Found> = others.map(|(f, _)| *f).collect();
        let left = self.without(slots, causes, &others, span);
        let now = newest_day(&left);
        let cause = &changes[i].cause;
        let tried = self.beginnings(&left, span.0, span.1);
        let table = self.by_course(cause, &left, &tried, span.1);
        let odds = |(n, c): (usize, Course)| (c, log_odds(cause, together(&table, n), c, now));
        let tried: Vec<(Course, f64)> = tried.into_iter().enumerate().map(odds).collect();
        let top = tried.iter().map(|(_, o)| *o).fold(0.0, f64::max);
        let worth = tried.iter().filter(|(_, o)| *o > top - WORTH_BENDING);
        let courses: Vec<Course> = worth.map(|(c, _)| *c).collect();
        let curve = curve::fit(&left, part, &courses, span, now)?;
        // Straight stretches, as they were found.
        let stretches: Vec<&Change> = changes.iter().filter(|c| alike(c)).collect();
        let straight = evidence_of_all(&left, span, |place, sample, day| {
            let does = |c: &&Change| {
                let all = c.course.at(c.now).max(1e-9);
                let share = c.course.at(day) / all;
                share * c.size * effect(c.cause.moves, place, sample, false)
            };
            stretches.iter().map(does).sum()
        });
        (curve.odds > straight.b - 0.5 * straight.a - AS_WELL).then_some(curve)
    }

    /// The readings that are held against the first one.
    fn witnesses(&self) -> Witnesses<'_> {
        let search = Search::of(self.tables, Vec::new(), self.witnesses.clone());
        let slots = search.prepare(f64::INFINITY, &[]);
        Witnesses { search, slots }
    }

    /// Control charts of the reading that the change moves most, about its own level.
    fn control(
        &self,
        change: &Change,
        left: &[Slot],
        healthy: &[Slot],
        from: f64,
    ) -> Option<(PointId, Option<&'static str>, Control)> {
        let moved = |place: usize| {
            let (prepared, samples) = left[place].as_ref()?;
            let relative = self.streams[place].1.relative;
            let shown = change.shown(place, samples.last()?, relative).abs();
            Some((place, shown / prepared.noise()))
        };
        let (place, _) = (0..left.len())
            .filter_map(moved)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let (with, own) = (left[place].as_ref()?, healthy[place].as_ref()?);
        let (points, noise) = (with.0.points(), with.0.noise());
        let control = control::charts(points, own.0.nuisance(), noise, from)?;
        let stream = self.streams[place].0;
        Some((stream.id, stream.no_gauge(), control))
    }

    /// Beginnings between two days, with samples enough after each: as steps and as ramps.
    pub(super) fn beginnings(&self, prepared: &[Slot], from: f64, to: f64) -> Vec<Course> {
        let days = days_read(prepared, |d| d >= from && d < to);
        // A level is learnt before a change of it is looked for; work done begins a new stretch at once.
        let learnt = prepared
            .iter()
            .zip(&self.streams)
            .filter_map(|(slot, (_, scale))| {
                let (_, samples) = slot.as_ref()?;
                samples.get(scale.learn).map(|s| s.day)
            })
            .fold(f64::INFINITY, f64::min);
        let learnt = if from.is_finite() { from } else { learnt };
        let newest = newest_day(prepared);
        let after = self.streams.iter().map(|(stream, s)| {
            // A reading that something else bears out is not misread: one of them is enough, if none is newer.
            let sure = |last: &Sample| last.borne_out && last.day >= newest;
            let sure = stream.samples.back().is_some_and(sure);
            if sure { 1 } else { s.after }
        });
        let after = after.min().unwrap_or(4);
        if days.len() < after + 2 {
            return Vec::new();
        }
        let last = days.len() - after;
        let worth_trying = worth_trying(last);
        let mut courses = Vec::new();
        for (i, &day) in days[..last].iter().enumerate() {
            if day < learnt {
                continue;
            }
            if worth_trying(i) {
                courses.push(Course::Ramp(day));
                if i >= after {
                    courses.push(Course::Step(day));
                }
            }
        }
        courses
    }
}

/// Readings that say whether a gauge is wrong that they are compared with.
struct Witnesses<'a> {
    search: Search<'a>,
    slots: Vec<Slot>,
}

impl Witnesses<'_> {
    /// ln of how much likelier these readings are with the first gauge wrong by so much (and its
    /// standard deviation) than with it right; nothing for causes that are no gauge's.
    fn heard(
        &self,
        cause: &Cause,
        course: Course,
        (size, sigma): (f64, f64),
        span: (f64, f64),
    ) -> f64 {
        if cause.moves != Moves::First {
            return 0.0;
        }
        let alike = cause.placed(Moves::BothAlike);
        let feels = self.search.tables.belief(Belief::Feels);
        let of = |place| {
            let evidence = self
                .search
                .evidence_of(&alike, place, &self.slots, course, span)?;
            let (e, constant) = evidence.loosened((feels * size).hypot(sigma));
            Some(constant - size * e.b - 0.5 * size * size * e.a)
        };
        (0..self.slots.len()).filter_map(of).sum()
    }
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Found {
    pub(super) cause: usize,
    pub(super) course: Course,
    pub(super) log_odds: f64,
    /// In units of the cause.
    pub(super) size: f64,
}

/// One stream's residuals with the samples that they come from; `None` with too few.
pub(super) type Slot = Option<(Prepared, Vec<Sample>)>;

/// A and B of any effect on one stream between two days; it is told of each sample and its day.
fn evidence_at(
    slots: &[Slot],
    place: usize,
    (from, to): (f64, f64),
    effect: impl Fn(&Sample, f64) -> f64,
) -> Option<Evidence> {
    let (prepared, samples) = slots.get(place)?.as_ref()?;
    Some(prepared.evidence(|i, day| {
        if day < from || day >= to {
            return 0.0;
        }
        effect(&samples[i], day)
    }))
}

/// The same over every stream; the effect is told of the stream's place too.
pub(super) fn evidence_of_all(
    slots: &[Slot],
    span: (f64, f64),
    effect: impl Fn(usize, &Sample, f64) -> f64,
) -> Evidence {
    (0..slots.len())
        .filter_map(|place| evidence_at(slots, place, span, |s, day| effect(place, s, day)))
        .fold(Evidence::default(), Evidence::and)
}

/// A and B of one course over every stream.
pub(super) fn together(table: &[Vec<Evidence>], course: usize) -> Evidence {
    let each = table.iter().map(|list| list[course]);
    each.fold(Evidence::default(), Evidence::and)
}

/// ln K of a cause beside others: how strongly each reading feels it is not exactly known.
fn weighed(
    cause: &Cause,
    table: &[Vec<Evidence>],
    (i, course): (usize, Course),
    now: f64,
    (feels, follows): (f64, f64),
) -> f64 {
    let plain = together(table, i);
    if log_odds(cause, plain, course, now) <= 0.0 {
        return 0.0;
    }
    let size = plain.size(cause.spread).0;
    let (mut loose, mut gained) = (Evidence::default(), 0.0);
    for (place, list) in table.iter().enumerate() {
        let known = if place == 0 { feels } else { follows };
        let (e, constant) = list[i].loosened(known * size.abs());
        loose = loose.and(e);
        gained += constant;
    }
    (log_odds(cause, loose, course, now) + gained).max(0.0)
}

/// Evidence for a cause of a course; none where it would have come to more than such a fault can.
pub(super) fn log_odds(cause: &Cause, evidence: Evidence, course: Course, now: f64) -> f64 {
    let size = evidence.size(cause.spread).0 * course.at(now);
    if size.abs() > cause.most {
        return 0.0;
    }
    evidence.log_odds(cause.spread, cause.sign)
}

/// Days on which something was read, in order.
pub(super) fn days_read(slots: &[Slot], wanted: impl Fn(f64) -> bool) -> Vec<f64> {
    let each = slots.iter().flatten().flat_map(|(_, samples)| samples);
    let mut days: Vec<f64> = each.map(|s| s.day).filter(|d| wanted(*d)).collect();
    days.sort_by(f64::total_cmp);
    days.dedup();
    days
}

/// Which of so many days are tried: the newest one by one, the older ones coarsely.
pub(super) fn worth_trying(count: usize) -> impl Fn(usize) -> bool {
    let stride = (count / TRIED).max(1);
    move |i| i % stride == 0 || i + 10 >= count
}

/// The newest sample's day.
fn newest_day(slots: &[Slot]) -> f64 {
    let last = |(_, samples): &(Prepared, Vec<Sample>)| samples.last().map(|s| s.day);
    let days = slots.iter().flatten().filter_map(last);
    days.fold(f64::NEG_INFINITY, f64::max)
}

fn all_but(found: &[Found], place: usize) -> Vec<Found> {
    let mut list = found.to_vec();
    list.remove(place);
    list
}

impl Change {
    /// How far the change moves the newest sample of the group's stream at `place`, in the reading's
    /// unit or as a share.
    pub(crate) fn shown(&self, place: usize, sample: &Sample, relative: bool) -> f64 {
        self.size * effect(self.cause.moves, place, sample, relative)
    }
}

/// How far one unit of a cause moves a sample's residual.
pub(super) fn effect(moves: Moves, place: usize, sample: &Sample, relative: bool) -> f64 {
    let absolute = match (moves, place) {
        (Moves::Model(part), _) => Stream::feels(part, sample),
        (Moves::BothAlike, _) => sample.warm_air,
        (Moves::First, 0) | (Moves::Second, 1) | (Moves::All, _) => return 1.0,
        (Moves::Only(one), _) => return f64::from(u8::from(one == place)),
        (Moves::From(first), _) => return f64::from(u8::from(place >= first)),
        (Moves::First | Moves::Second | Moves::Unplaced, _) => return 0.0,
    };
    if relative {
        absolute / sample.mid
    } else {
        absolute
    }
}

/// Whether a part is one that the model's sensitivities speak of.
pub(crate) fn cooling_part(cause: &Cause) -> Option<Part> {
    match cause.moves {
        Moves::Model(part) => Some(part),
        _ => None,
    }
}
