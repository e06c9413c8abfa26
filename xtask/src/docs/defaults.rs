//! `docs/defaults.md`: what the program takes where a station file says nothing.
//!
//! Must not know: what a default does.

use station::defaults::{Default, all};

use super::{head, table};

pub(super) fn page() -> String {
    let mut text = head("Defaults", "`crates/station/data/defaults.csv`");
    text.push_str(
        "What Calcant takes where a station file says nothing, how uncertain that is, and where it \
         comes from.\n\
         Every value that a file gives replaces its default, and `calcant station defaults FILE` \
         lists the defaults that a station uses.\n\n\
         - A key is that of the station file; `given.` before it tells how uncertain a value is that \
         the file does give, `table.` where a value comes from that a formula looks up.\n\
         - *Times* names what value and uncertainty are multiples of.\n\
         - *Uncertainty* is one standard deviation, in the unit of the value.\n\n",
    );
    let rows: Vec<Vec<String>> = all().map(row).collect();
    text.push_str(&table(
        &["key", "value", "times", "uncertainty", "mark", "source"],
        &rows,
    ));
    text
}

fn row(default: &Default) -> Vec<String> {
    let number = default.value.parse::<f64>().is_ok();
    let value = match default.unit.as_str() {
        unit if number && unit != "1" => format!("{} {unit}", default.value),
        _ => default.value.clone(),
    };
    let uncertainty = if default.sigma > 0.0 {
        format!("{} {}", default.sigma, default.difference_unit())
            .trim()
            .to_owned()
    } else if number || default.value.is_empty() {
        "exact".to_owned()
    } else {
        String::new()
    };
    vec![
        format!("`{}`", default.key),
        value,
        default.per.clone(),
        uncertainty,
        default.mark.to_string(),
        default.source.clone(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_carries_units_mark_and_source() {
        let text = page();
        let line = text
            .lines()
            .find(|line| line.contains("`machine.blowdown`"))
            .unwrap();
        assert!(
            line.starts_with("| `machine.blowdown` | 30 s |  | 10 s | common practice"),
            "{line}"
        );
        assert_eq!(
            text.lines().filter(|line| line.starts_with("| `")).count(),
            all().count()
        );
    }
}
