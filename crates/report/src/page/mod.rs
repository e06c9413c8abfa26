//! The page: one judgement, or several, laid out for paper and screen in one self-contained file.
//!
//! First a summary that an owner reads alone and signs, then the air line of the last round, the
//! findings in order with their charts, what was expected, what is not judged, the rows that were
//! rejected, and last the working, to which every number leads.
//!
//! Must not know: files, the clock, how anything is judged.

mod beside;
mod expected;
mod finding;
mod foot;
mod head;
mod logged;
mod outlook;
mod overview;
mod owner;
mod phrase;
mod picture;
mod plate;
mod style;
mod summary;
mod working;

use judge::{Judgement, LastRound, say};
use station::file::rounds::Rejection;
use station::model::Station;

use crate::html::Html;
use crate::log::Logged;
use crate::units::Units;

/// All that goes on one page.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// The stations, who needs help first first.
    pub stations: &'a [StationReport<'a>],
    /// Units of the reader.
    pub units: Units,
    /// The temperature outdoors that was asked about, as people write it: `42 °C`.
    pub if_hot: Option<&'a str>,
    /// The version of the program.
    pub version: &'a str,
}

/// One station on the page.
#[derive(Debug, Clone, Copy)]
pub struct StationReport<'a> {
    /// What is fitted.
    pub station: &'a Station,
    /// What its rounds say; findings with their working.
    pub judgement: &'a Judgement,
    /// The newest round, where the model knows it.
    pub last_round: Option<&'a LastRound>,
    /// What became of the rows.
    pub rows: Rows<'a>,
    /// What a long log shows, where the judgement is of one and not of rounds.
    pub log: Option<&'a Logged>,
    /// Whether the station file says of itself that it is invented.
    pub invented: bool,
}

/// What became of the rows of a rounds file.
#[derive(Debug, Clone, Copy, Default)]
pub struct Rows<'a> {
    /// Rows that were read.
    pub read: u64,
    /// Rounds that were taken.
    pub accepted: u64,
    /// Rows that were not.
    pub rejected_total: u64,
    /// Those rows, or the first of many.
    pub rejected: &'a [Rejection],
}

/// One station while its part of the page is written.
#[derive(Debug, Clone, Copy)]
struct Sheet<'a> {
    one: &'a StationReport<'a>,
    report: &'a Report<'a>,
    /// Sets its anchors apart from those of other stations.
    number: usize,
    /// How deep its own heading stands.
    level: usize,
}

impl Sheet<'_> {
    fn station(&self) -> &Station {
        self.one.station
    }

    fn units(&self) -> say::Units {
        self.report.units.into()
    }

    /// The anchor of something of this station.
    fn at(&self, what: &str) -> String {
        format!("s{}-{what}", self.number)
    }

    /// The anchor of the finding of this place in the order.
    fn finding(&self, n: usize) -> String {
        self.at(&format!("f{n}"))
    }

    /// The anchor of that finding's working.
    fn working(&self, n: usize) -> String {
        self.at(&format!("f{n}-working"))
    }

    /// A heading so many steps under the station's own.
    fn heading(&self, below: usize) -> &'static str {
        const TAGS: [&str; 6] = ["h1", "h2", "h3", "h4", "h5", "h6"];
        TAGS.get(self.level - 1 + below).copied().unwrap_or("h6")
    }

    /// A part of the station's page with its heading.
    fn section(
        &self,
        h: &mut Html,
        class: &str,
        what: &str,
        title: &str,
        body: impl FnOnce(&mut Html),
    ) {
        let id = self.at(what);
        let label = format!("{id}-heading");
        let attributes = [
            ("id", id.as_str()),
            ("class", class),
            ("aria-labelledby", &label),
        ];
        h.el("section", &attributes, |h| {
            h.put(self.heading(1), &[("id", &label)], title);
            body(h);
        });
    }
}

/// The whole page.
#[must_use]
pub fn page(report: &Report) -> String {
    let several = report.stations.len() > 1;
    let mut h = Html::default();
    h.own("<!DOCTYPE html>\n");
    h.el("html", &[("lang", "en")], |h| {
        h.el("head", &[], |h| head::of(h, report));
        h.el("body", &[], |h| {
            if several {
                h.el("header", &[], |h| overview::of(h, report));
            }
            h.el("main", &[], |h| {
                for (i, one) in report.stations.iter().enumerate() {
                    let sheet = Sheet {
                        one,
                        report,
                        number: i + 1,
                        level: if several { 2 } else { 1 },
                    };
                    of_station(h, &sheet);
                }
            });
            h.el("footer", &[], |h| foot::of(h, report));
        });
    });
    h.finish()
}

fn of_station(h: &mut Html, sheet: &Sheet) {
    let id = sheet.at("station");
    h.el("article", &[("id", &id)], |h| {
        summary::of(h, sheet);
        picture::of(h, sheet);
        finding::all(h, sheet);
        logged::of(h, sheet);
        expected::of(h, sheet);
        head::rows(h, sheet);
        working::of(h, sheet);
    });
}
