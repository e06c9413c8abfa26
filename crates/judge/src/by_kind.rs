//! What probably lies behind a finding that nothing but its kind and the words seen speak of.
//!
//! Many rounds part causes by their readings; one round or one log cannot, and what the trade knows
//! of such findings is all there is. Must not know: how findings come about.

use station::model::Asset;
use station::point::{Point, Word};

use crate::finding::{Cause, Finding};
use crate::say;
use crate::tables::Tables;

/// Names the causes of findings that have none, by their kind and by the words seen of late.
/// `name` gives a point's name.
pub(crate) fn name(
    tables: Tables,
    findings: &mut [Finding],
    seen: &[(Asset, Point, Word)],
    name: impl Fn(Asset, Point) -> String,
) {
    for f in findings.iter_mut().filter(|f| f.causes.is_empty()) {
        let words: Vec<(Point, Word)> = seen
            .iter()
            .filter(|(on, ..)| *on == f.subject)
            .map(|(_, point, word)| (*point, *word))
            .collect();
        let mut causes: Vec<Cause> = tables
            .behind(f.kind.name())
            .into_iter()
            .map(|(cause, share)| {
                let words_speak = tables.speaking(cause, &words);
                let said = |on_its_side: bool| {
                    let own = words_speak.iter().filter(|(.., side)| *side == on_its_side);
                    own.map(|(point, word, _)| say::seen(&name(f.subject, *point), *word))
                        .collect()
                };
                Cause {
                    cause: cause.to_owned(),
                    probability: share * tables.weight_of(cause, &words).exp(),
                    speaks_for: said(true),
                    speaks_against: said(false),
                }
            })
            .collect();
        let sum: f64 = causes.iter().map(|c| c.probability).sum();
        for cause in &mut causes {
            cause.probability /= sum;
        }
        causes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        f.causes = causes;
    }
}

/// Names the causes of findings that have none by their kind alone, as of a log, where no words are
/// seen.
pub fn name_causes(findings: &mut [Finding]) {
    name(Tables::default(), findings, &[], |_, _| String::new());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Kind;

    #[test]
    fn a_clean_mat_speaks_against_a_clogged_one() {
        let asset = Asset::Machine(0);
        let file = include_str!("../../../examples/quillbank/station.toml");
        let station = station::file::station::parse(file).expect("the demo's station");
        let finding = || Finding::draft(&station, Kind::OilHot, asset, "oil", None);
        let of = |seen: &[(Asset, Point, Word)]| {
            let mut list = [finding()];
            name(Tables::default(), &mut list, seen, |_, point| {
                point.name().to_owned()
            });
            let [f] = list;
            f.causes
        };
        let unseen = of(&[]);
        assert_eq!(unseen[0].cause, "mat clogged");
        let word = |text: &str| {
            let station::point::Dimension::Words(words) = Point::Mat.dimension() else {
                panic!("a mat is seen in words");
            };
            *words.iter().find(|w| w.text() == text).expect("a word")
        };
        let clean = of(&[(asset, Point::Mat, word("clean"))]);
        let mat = clean
            .iter()
            .find(|c| c.cause == "mat clogged")
            .expect("named");
        assert!(mat.probability < unseen[0].probability / 2.0);
        assert_eq!(mat.speaks_against, ["mat was seen clean"]);
        assert!(mat.speaks_for.is_empty());
    }
}
