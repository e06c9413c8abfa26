//! `calcant explain KIND`: the kind's page, as in the manual.
//!
//! Must not know: how a kind is decided.

use std::fmt::Write as _;

use anyhow::Result;
use judge::Kind;
use station::file::problem::nearest;

use crate::edge::{Outcome, about, print, unusable};

pub(super) fn run(kind: Option<&str>) -> Result<Outcome> {
    let Some(name) = kind else {
        let mut list = String::new();
        for kind in Kind::ALL {
            let _ = writeln!(list, "{:20} {}", kind.name(), kind.sentence());
        }
        print(&list)?;
        return Ok(Outcome::Done);
    };
    match Kind::named(name) {
        Some(kind) => {
            print(kind.page())?;
            Ok(Outcome::Done)
        }
        None => {
            let near = nearest(name, Kind::ALL.iter().map(|k| k.name()));
            let hint = near.map_or_else(
                || "`calcant explain` lists the kinds".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            let problem = about(
                "",
                format!("there is no kind of finding `{name}`"),
                Some(&hint),
            );
            Ok(unusable("explain", &[problem]))
        }
    }
}
