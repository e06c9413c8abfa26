//! The page's style: paper and ink on screen, dark where the reader's screen is dark, always light
//! in print.
//!
//! Must not know: what the page says.

use crate::air_line::style::{DARK, Inks, LIGHT};
use crate::chart;

fn inks(inks: &Inks) -> String {
    let Inks {
        paper,
        ink,
        quiet,
        outside,
        hair,
        ribbon,
        ..
    } = inks;
    format!(
        "--paper:{paper};--ink:{ink};--quiet:{quiet};--outside:{outside};--hair:{hair};\
         --ribbon:{ribbon}"
    )
}

/// The whole style sheet.
pub(super) fn sheet() -> String {
    format!(
        ":root{{{}}}@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}{}{}{}{}",
        inks(&LIGHT),
        inks(&DARK),
        include_str!("page.css"),
        chart::sheet(),
        crate::log::STYLE,
        include_str!("print.css"),
    )
}
