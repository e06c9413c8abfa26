//! Ink and paper: one accent ink for what lies outside its band, one quiet ink for expectations.
//!
//! Must not know: what is drawn with them.

use std::fmt::Write as _;

/// Colours of one scheme.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Inks {
    pub(crate) paper: &'static str,
    pub(crate) ink: &'static str,
    pub(crate) quiet: &'static str,
    pub(crate) outside: &'static str,
    pub(crate) water: &'static str,
    pub(crate) ribbon: &'static str,
    pub(crate) hair: &'static str,
}

/// On paper and on a bright screen.
pub(crate) const LIGHT: Inks = Inks {
    paper: "#fbf9f4",
    ink: "#1b2430",
    quiet: "#46535f",
    outside: "#861650",
    water: "#1d5470",
    ribbon: "#dde3e4",
    hair: "#d9d6cd",
};

/// In a dark room.
pub(crate) const DARK: Inks = Inks {
    paper: "#14181d",
    ink: "#eceae4",
    quiet: "#b6bfc7",
    outside: "#f5aed6",
    water: "#96cde8",
    ribbon: "#2c363f",
    hair: "#333a41",
};

fn rules(inks: &Inks) -> String {
    let Inks {
        paper,
        ink,
        quiet,
        outside,
        water,
        ribbon,
        hair,
    } = inks;
    let mut css = String::new();
    for (class, rule) in [
        ("paper", format!("fill:{paper}")),
        ("title,.air-line .t,.air-line .b", format!("fill:{ink}")),
        ("q", format!("fill:{quiet}")),
        ("o", format!("fill:{outside}")),
        ("hair", format!("stroke:{hair}")),
        ("rule", format!("stroke:{quiet}")),
        ("ribbon", format!("fill:{ribbon};stroke:{quiet}")),
        (
            "grade,.air-line .air,.air-line .join",
            format!("stroke:{ink}"),
        ),
        ("dot", format!("fill:{ink}")),
        ("wanted,.air-line .lead", format!("stroke:{ink}")),
        (
            "dew,.air-line .dewjoin,.air-line .hatch",
            format!("stroke:{water}"),
        ),
        ("water", format!("stroke:{water}")),
        ("in", format!("fill:{paper};stroke:{ink}")),
        ("out", format!("fill:{outside};stroke:{paper}")),
        ("outlead", format!("stroke:{outside}")),
        ("cold", format!("fill:{ink}")),
        ("halo", format!("fill:{paper}")),
    ] {
        let _ = write!(css, ".air-line .{class}{{{rule}}}");
    }
    css
}

/// The picture's style sheet.
pub(crate) fn sheet(picture: &str, hatch: &str) -> String {
    format!(
        ".air-line{{font-family:system-ui,\"Liberation Sans\",Arial,sans-serif;font-variant-numeric:\
         tabular-nums}}\
         .air-line .title{{font-size:19px;font-weight:600}}\
         .air-line .t{{font-size:14px}}.air-line .b{{font-size:15px;font-weight:600}}\
         .air-line .q{{font-size:13px}}.air-line .o{{font-size:14px;font-weight:700}}\
         .air-line .hair{{stroke-width:1}}.air-line .rule{{stroke-width:1}}\
         .air-line .ribbon{{stroke-width:.6}}\
         .air-line .grade,.air-line .air{{fill:none;stroke-width:2.4;stroke-linejoin:round}}\
         .air-line .join{{fill:none;stroke-width:1.1}}\
         .air-line .dew{{fill:none;stroke-width:2.4;stroke-dasharray:8 5}}\
         .air-line .dewjoin{{fill:none;stroke-width:1.1;stroke-dasharray:5 4}}\
         .air-line .hatch{{stroke-width:1.7}}\
         #{picture} .water{{fill:url(#{hatch});stroke-width:1.2}}\
         .air-line .wanted{{stroke-width:1.6;stroke-dasharray:2 5;stroke-linecap:round}}\
         .air-line .lead,.air-line .outlead{{stroke-width:1}}\
         .air-line .in{{stroke-width:2}}.air-line .out{{stroke-width:1.5}}\
         {}@media screen and (prefers-color-scheme:dark){{{}}}",
        rules(&LIGHT),
        rules(&DARK)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast: W3C, Web Content Accessibility Guidelines 2.1 (2018),
    /// definitions of "relative luminance" and "contrast ratio".
    fn luminance(hex: &str) -> f64 {
        let channel = |from: usize| {
            let raw = hex
                .get(from..from + 2)
                .and_then(|h| u8::from_str_radix(h, 16).ok());
            let c = f64::from(raw.expect("every colour here is #rrggbb")) / 255.0;
            if c <= 0.03928 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn contrast_of_black_on_white_is_21() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    }

    #[test]
    fn every_ink_stands_out_sevenfold_from_its_paper() {
        for inks in [LIGHT, DARK] {
            for ink in [inks.ink, inks.quiet, inks.outside, inks.water] {
                assert!(contrast(ink, inks.paper) >= 7.0, "{ink} on {}", inks.paper);
            }
            // Words and marks also lie on ribbons.
            assert!(contrast(inks.ink, inks.ribbon) >= 7.0);
        }
    }
}
