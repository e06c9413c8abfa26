//! The style of charts, in the inks of the air line.
//!
//! Must not know: what is drawn.

use crate::air_line::style::{DARK, Inks, LIGHT};

fn rules(inks: &Inks) -> String {
    let Inks {
        paper,
        ink,
        quiet,
        outside,
        ribbon,
        hair,
        ..
    } = inks;
    format!(
        ".chart .q{{fill:{quiet}}}.chart .done{{fill:{ink}}}\
         .chart .name{{fill:{ink};stroke:{paper}}}\
         .chart .hair{{stroke:{hair}}}.chart .rule,.chart .today,.chart .lead{{stroke:{quiet}}}\
         .chart .ribbon{{fill:{ribbon};stroke:{quiet}}}.chart .fan{{fill:{hair};stroke:{ink}}}\
         .chart .ahead,.chart .limit,.chart .work,.chart .course{{stroke:{ink}}}\
         .chart .in{{fill:{ink}}}.chart .out{{fill:{outside};stroke:{paper}}}"
    )
}

/// The style sheet of all charts on a page.
pub(crate) fn sheet() -> String {
    format!(
        ".chart{{font-family:system-ui,\"Liberation Sans\",Arial,sans-serif;\
         font-variant-numeric:tabular-nums}}\
         .chart .q,.chart .done{{font-size:13px}}\
         .chart .name{{font-size:13px;font-weight:600;paint-order:stroke;stroke-width:4px;\
         stroke-linejoin:round}}\
         .chart .ribbon{{stroke-width:.6}}.chart .fan{{stroke-width:.8;stroke-dasharray:2 3}}\
         .chart .ahead{{fill:none;stroke-width:1.8;stroke-dasharray:7 4}}\
         .chart .limit{{stroke-width:1.5;stroke-dasharray:12 4 2 4}}\
         .chart .work{{stroke-width:3}}.chart .lead,.chart .today{{stroke-width:.8}}\
         .chart .course{{fill:none;stroke-width:2}}.chart .out{{stroke-width:.8}}\
         {}@media screen and (prefers-color-scheme:dark){{{}}}",
        rules(&LIGHT),
        rules(&DARK)
    )
}
