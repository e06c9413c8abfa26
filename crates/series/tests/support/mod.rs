//! What the tests share: tables with a source, comparisons, and seeded noise.

use std::collections::HashMap;
use std::f64::consts::TAU;

/// One line of a table, by column.
pub(crate) struct Row(HashMap<String, f64>);

impl Row {
    pub(crate) fn num(&self, column: &str) -> f64 {
        *self.0.get(column).expect("the column stands in the table")
    }
}

/// Reads a table whose first line names its source.
pub(crate) fn table(text: &str) -> Vec<Row> {
    assert!(text.starts_with("# SOURCE "), "a table names its source");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let names = reader.headers().expect("a table has a header").clone();
    let rows: Vec<Row> = reader
        .records()
        .map(|line| {
            let line = line.expect("a well-formed table");
            let cells = names.iter().zip(line.iter());
            Row(cells
                .map(|(name, cell)| (name.to_owned(), cell.parse().expect("a number")))
                .collect())
        })
        .collect();
    assert!(!rows.is_empty(), "a table has lines");
    rows
}

#[track_caller]
pub(crate) fn near(what: &str, got: f64, want: f64, room: f64) {
    assert!(
        (got - want).abs() <= room,
        "{what}: got {got}, want {want} within {room}"
    );
}

#[track_caller]
pub(crate) fn near_rel(what: &str, got: f64, want: f64, share: f64) {
    near(what, got, want, share * want.abs().max(f64::MIN_POSITIVE));
}

/// A seeded source of normal numbers, apart from the crate's own.
pub(crate) struct Noise(fastrand::Rng);

impl Noise {
    pub(crate) fn new(seed: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed))
    }

    /// A standard normal number (Box and Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.0.f64()).ln()).sqrt();
        radius * (TAU * self.0.f64()).cos()
    }
}
