//! The tables that causes are weighed by: data that an engineer can read, question and replace.
//!
//! Must not know: how the evidence of readings comes about, files.

use station::point::{Dimension, Point, Word};

use crate::finding::Kind;
use crate::history::{Cause, Check, Group, Moves, Part};

/// One of the tables, by the name of its file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// `causes.csv`: what each group of readings is laid to, and how often before anything is read.
    Causes,
    /// `words.csv`: how often a word is seen with a cause, and without it.
    Words,
    /// `kinds.csv`: what lies behind a finding by its kind alone.
    Kinds,
    /// `checks.csv`: what can be looked at next, and its effort.
    Checks,
    /// `trials.csv`: what can be tried or measured, and what it shows with a cause and without it.
    Trials,
    /// `beliefs.csv`: what is believed beside that.
    Beliefs,
}

impl Table {
    /// Every table.
    pub const ALL: [Self; 6] = [
        Self::Causes,
        Self::Words,
        Self::Kinds,
        Self::Checks,
        Self::Trials,
        Self::Beliefs,
    ];

    /// The name of its file.
    #[must_use]
    pub const fn file(self) -> &'static str {
        match self {
            Self::Causes => "causes.csv",
            Self::Words => "words.csv",
            Self::Kinds => "kinds.csv",
            Self::Checks => "checks.csv",
            Self::Trials => "trials.csv",
            Self::Beliefs => "beliefs.csv",
        }
    }

    const fn own(self) -> &'static str {
        match self {
            Self::Causes => include_str!("../data/causes.csv"),
            Self::Words => include_str!("../data/words.csv"),
            Self::Kinds => include_str!("../data/kinds.csv"),
            Self::Checks => include_str!("../data/checks.csv"),
            Self::Trials => include_str!("../data/trials.csv"),
            Self::Beliefs => include_str!("../data/beliefs.csv"),
        }
    }
}

/// What of a table cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableProblem {
    /// In which table.
    pub table: Table,
    /// On which line, the first is 1; 0 where no line is to blame.
    pub line: usize,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub mend: String,
}

/// All tables, each its own or one that was put in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tables {
    texts: [&'static str; 6],
}

impl Default for Tables {
    fn default() -> Self {
        Self {
            texts: Table::ALL.map(Table::own),
        }
    }
}

/// Cells of a table's rows with their line, comments and header left out.
fn rows(table: &'static str) -> impl Iterator<Item = (usize, Vec<&'static str>)> {
    let lines = table.lines().enumerate();
    lines
        .filter(|(_, line)| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|(n, line)| (n + 1, line.split(',').map(str::trim).collect()))
}

fn number(cell: &str) -> f64 {
    cell.parse()
        .expect("the tables are checked before they are used")
}

impl Tables {
    /// A table as it is.
    #[must_use]
    pub const fn text(&self, table: Table) -> &'static str {
        self.texts[table as usize]
    }

    /// The same tables with another in the place of one. The text is kept as long as the program runs.
    ///
    /// # Errors
    /// Everything in it that cannot be used.
    pub fn with(self, table: Table, text: String) -> Result<Self, Vec<TableProblem>> {
        let text: &'static str = Box::leak(text.into_boxed_str());
        let mut tables = self;
        tables.texts[table as usize] = text;
        let problems = tables.problems(table);
        if problems.is_empty() {
            Ok(tables)
        } else {
            Err(problems)
        }
    }

    fn rows(&self, table: Table) -> impl Iterator<Item = Vec<&'static str>> + use<> {
        rows(self.text(table)).map(|(_, row)| row)
    }

    /// The causes of a group.
    pub(crate) fn causes(&self, group: Group) -> Vec<Cause> {
        let of_group = self
            .rows(Table::Causes)
            .filter(|row| row[0] == group.name());
        of_group.map(|row| cause(&row)).collect()
    }

    /// What lies behind a finding of this kind (by its name) before many rounds speak, and how often.
    pub(crate) fn behind(&self, kind: &str) -> Vec<(&'static str, f64)> {
        let of_kind = self.rows(Table::Kinds).filter(|row| row[0] == kind);
        of_kind.map(|row| (row[1], number(row[2]))).collect()
    }

    /// ln of how much likelier all the words seen are with a cause than without it.
    pub(crate) fn weight_of(&self, cause: &str, seen: &[(Point, Word)]) -> f64 {
        let each = seen.iter().map(|(p, w)| self.word_weight(cause, *p, *w));
        each.sum()
    }

    /// The words that speak for a cause (`true`) or against it.
    pub(crate) fn speaking(&self, cause: &str, seen: &[(Point, Word)]) -> Vec<(Point, Word, bool)> {
        let weighed = seen.iter().filter_map(|&(point, word)| {
            let weight = self.word_weight(cause, point, word);
            (weight.abs() > WORD_SPEAKS).then_some((point, word, weight > 0.0))
        });
        weighed.collect()
    }

    /// ln of how much likelier a word is with a cause than without it.
    fn word_weight(&self, cause: &str, point: Point, word: Word) -> f64 {
        let mut rows = self.rows(Table::Words);
        rows.find(|row| row[0] == cause && row[1] == point.name() && row[2] == word.text())
            .map_or(0.0, |row| (number(row[3]) / number(row[4])).ln())
    }

    /// How often each word of a point is seen with a cause: (word, with, without).
    pub(crate) fn words_of(&self, cause: &str, point: &str) -> Vec<(&'static str, f64, f64)> {
        let rows = self.rows(Table::Words);
        rows.filter(|row| row[0] == cause && row[1] == point)
            .map(|row| (row[2], number(row[3]), number(row[4])))
            .collect()
    }

    /// What can be looked at, and what it costs.
    pub(crate) fn checks(&self) -> Vec<Check> {
        let check = |row: Vec<&'static str>| Check {
            point: row[0],
            effort: number(row[1]),
            words: row[2],
        };
        self.rows(Table::Checks).map(check).collect()
    }

    /// What can be tried or measured, each once.
    pub(crate) fn trials(&self) -> Vec<Trial> {
        let mut list: Vec<Trial> = Vec::new();
        for row in self.rows(Table::Trials) {
            let shows = (row[2], number(row[3]), number(row[4]));
            match list.iter_mut().find(|t| t.name == row[0]) {
                Some(trial) => trial.shows.push(shows),
                None => list.push(Trial {
                    name: row[0],
                    effort: number(row[1]),
                    shows: vec![shows],
                    unless: Some(row[5]).filter(|name| *name != "-"),
                    what: row[7],
                }),
            }
        }
        list
    }

    /// What is believed of something.
    pub(crate) fn belief(&self, belief: Belief) -> f64 {
        let mut rows = self.rows(Table::Beliefs);
        let row = rows.find(|row| row[0] == belief.name());
        number(row.expect("the tables are checked before they are used")[1])
    }
}

/// Something that can be tried or measured to part causes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Trial {
    name: &'static str,
    pub(crate) effort: f64,
    /// How likely it shows something with a cause, and without it.
    shows: Vec<(&'static str, f64, f64)>,
    /// The point that says it already.
    pub(crate) unless: Option<&'static str>,
    pub(crate) what: &'static str,
}

impl Trial {
    /// How likely it shows something if this is the cause.
    pub(crate) fn shows_with(&self, cause: &str) -> f64 {
        let own = self.shows.iter().find(|(name, ..)| *name == cause);
        own.map_or_else(
            || {
                self.shows
                    .iter()
                    .map(|(.., without)| *without)
                    .fold(0.0, f64::max)
            },
            |(_, with, _)| *with,
        )
    }
}

/// What is believed beside the causes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Belief {
    NothingWrong,
    AlwaysSo,
    Feels,
    Follows,
    NotRuledOut,
}

impl Belief {
    const ALL: [Self; 5] = [
        Self::NothingWrong,
        Self::AlwaysSo,
        Self::Feels,
        Self::Follows,
        Self::NotRuledOut,
    ];

    const fn name(self) -> &'static str {
        match self {
            Self::NothingWrong => "nothing wrong",
            Self::AlwaysSo => "always so",
            Self::Feels => "feels",
            Self::Follows => "follows",
            Self::NotRuledOut => "not ruled out",
        }
    }
}

/// ln of a likelihood ratio from which a word speaks for a cause, or against it.
const WORD_SPEAKS: f64 = 0.3;

/// How the reading feels a cause, by its name in the table.
const MOVES: [(&str, Moves); 20] = [
    ("cooling air", Moves::Model(Part::CoolingAir)),
    ("oil side", Moves::Model(Part::OilSide)),
    ("cooling air by half", Moves::Model(Part::CoolingAirByHalf)),
    ("oil side by half", Moves::Model(Part::OilSideByHalf)),
    ("aftercooler", Moves::Model(Part::Aftercooler)),
    ("delivered air", Moves::Model(Part::DeliveredAir)),
    ("thermostat", Moves::Model(Part::Thermostat)),
    ("valve open", Moves::Model(Part::ValveOpen)),
    ("separator", Moves::Model(Part::Separator)),
    ("capacity", Moves::Model(Part::Capacity)),
    ("ventilation", Moves::Model(Part::Ventilation)),
    ("second reading", Moves::Second),
    ("outlet reading", Moves::Second),
    ("one machine", Moves::Unplaced),
    ("one reading", Moves::Unplaced),
    ("down the line", Moves::Unplaced),
    ("all readings", Moves::All),
    ("both alike", Moves::BothAlike),
    ("reading", Moves::First),
    ("oil reading", Moves::First),
];

fn moves(name: &str) -> Option<Moves> {
    let known = MOVES.iter().find(|(known, _)| *known == name);
    known.map(|(_, moves)| *moves)
}

fn cause(row: &[&'static str]) -> Cause {
    Cause {
        name: row[1],
        moves: moves(row[2]).expect("the tables are checked before they are used"),
        sign: match row[3] {
            "+" => Some(1.0),
            "-" => Some(-1.0),
            _ => None,
        },
        spread: number(row[4]),
        most: match row[5] {
            "-" => f64::INFINITY,
            bound => number(bound),
        },
        prior: number(row[6]),
    }
}

/// Shares add up to one within this.
const ROUNDING: f64 = 1.0e-6;

impl Tables {
    /// Everything in a table that cannot be used.
    fn problems(&self, table: Table) -> Vec<TableProblem> {
        let mut list = Vec::new();
        let mut complain = |line: usize, what: String, mend: &str| {
            list.push(TableProblem {
                table,
                line,
                what,
                mend: mend.to_owned(),
            });
        };
        let header = |text: &'static str| {
            let mut lines = text.lines();
            lines.find(|l| !l.starts_with('#') && !l.trim().is_empty())
        };
        let own = header(table.own()).unwrap_or_default();
        if header(self.text(table)).map(str::trim) != Some(own) {
            complain(
                0,
                "its first line is not the header".to_owned(),
                &format!("begin it with `{own}`"),
            );
            return list;
        }
        let columns = own.split(',').count();
        let share = |cell: &str| cell.parse::<f64>().is_ok_and(|x| x > 0.0 && x <= 1.0);
        let positive = |cell: &str| cell.parse::<f64>().is_ok_and(|x| x > 0.0 && x.is_finite());
        for (line, row) in rows(self.text(table)) {
            if row.len() != columns || row.iter().any(|cell| cell.is_empty()) {
                complain(
                    line,
                    format!("it has {} cells, some perhaps empty", row.len()),
                    &format!("fill {columns} cells, parted by commas"),
                );
                continue;
            }
            let bad = |n: usize| format!("`{}` cannot stand there", row[n]);
            match table {
                Table::Causes => {
                    if !Group::ALL.iter().any(|g| g.name() == row[0]) {
                        complain(
                            line,
                            bad(0),
                            "name a group of the table that comes with the program",
                        );
                    }
                    if moves(row[2]).is_none() {
                        complain(
                            line,
                            bad(2),
                            "name a reading or part as the table that comes with the program does",
                        );
                    }
                    if !["+", "-", "±"].contains(&row[3]) {
                        complain(line, bad(3), "write `+`, `-` or `±`");
                    }
                    if !positive(row[4]) {
                        complain(line, bad(4), "write a number above 0");
                    }
                    if row[5] != "-" && !positive(row[5]) {
                        complain(line, bad(5), "write a number above 0, or `-` for none");
                    }
                    if !share(row[6]) {
                        complain(line, bad(6), "write a share above 0, at most 1");
                    }
                }
                Table::Words => {
                    let point = Point::ALL.iter().find(|p| p.name() == row[1]);
                    let words = |p: &Point| match p.dimension() {
                        Dimension::Words(words) => words.iter().any(|w| w.text() == row[2]),
                        _ => false,
                    };
                    if !point.is_some_and(words) {
                        complain(
                            line,
                            format!("`{}` of `{}` is no word", row[2], row[1]),
                            "name a point and one of its words",
                        );
                    }
                    for n in [3, 4] {
                        if !share(row[n]) {
                            complain(line, bad(n), "write a share above 0, at most 1");
                        }
                    }
                }
                Table::Kinds => {
                    if !Kind::ALL.iter().any(|k| k.name() == row[0]) && row[0] != FELL_BACK {
                        complain(
                            line,
                            bad(0),
                            "name a kind of finding: `calcant explain` lists them",
                        );
                    }
                    if !share(row[2]) {
                        complain(line, bad(2), "write a share above 0, at most 1");
                    }
                }
                Table::Checks => {
                    if !positive(row[1]) {
                        complain(line, bad(1), "write a number above 0");
                    }
                }
                Table::Trials => {
                    if !positive(row[1]) {
                        complain(line, bad(1), "write a number above 0");
                    }
                    for n in [3, 4] {
                        if !share(row[n]) {
                            complain(line, bad(n), "write a share above 0, at most 1");
                        }
                    }
                    if row[5] != "-" && !Point::ALL.iter().any(|p| p.name() == row[5]) {
                        complain(line, bad(5), "name a point, or write `-`");
                    }
                }
                Table::Beliefs => {
                    if !Belief::ALL.iter().any(|b| b.name() == row[0]) {
                        complain(
                            line,
                            bad(0),
                            "name a belief of the table that comes with the program",
                        );
                    }
                    if !positive(row[1]) {
                        complain(line, bad(1), "write a number above 0");
                    }
                }
            }
        }
        for belief in Belief::ALL.iter().filter(|_| table == Table::Beliefs) {
            if !self.rows(table).any(|row| row[0] == belief.name()) {
                complain(0, format!("`{}` is missing", belief.name()), "add its line");
            }
        }
        if list.is_empty() {
            self.sums(table, &mut list);
        }
        list
    }

    /// Shares of one thing that do not add up to one.
    fn sums(&self, table: Table, list: &mut Vec<TableProblem>) {
        let mut sums: Vec<(String, f64)> = Vec::new();
        let mut add = |key: String, share: &str| match sums.iter_mut().find(|(k, _)| *k == key) {
            Some((_, sum)) => *sum += number(share),
            None => sums.push((key, number(share))),
        };
        for row in self.rows(table) {
            match table {
                Table::Causes => {
                    add(format!("the priors of `{}`", row[0]), row[6]);
                }
                Table::Words => {
                    add(format!("words of `{}` with `{}`", row[1], row[0]), row[3]);
                    add(
                        format!("words of `{}` without `{}`", row[1], row[0]),
                        row[4],
                    );
                }
                Table::Kinds => add(format!("the shares of `{}`", row[0]), row[2]),
                Table::Checks | Table::Trials | Table::Beliefs => {}
            }
        }
        let off = sums
            .into_iter()
            .filter(|(_, sum)| (sum - 1.0).abs() > ROUNDING);
        list.extend(off.map(|(what, sum)| TableProblem {
            table,
            line: 0,
            what: format!("{what} add up to {sum:.3}"),
            mend: "make them add up to 1".to_owned(),
        }));
    }
}

/// What a drop tells that fell back to a new part's: no kind of its own, but causes of its own.
pub(crate) const FELL_BACK: &str = "filter-breached fell-back";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_that_come_with_the_program_are_whole() {
        let own = Tables::default();
        for table in Table::ALL {
            assert_eq!(own.problems(table), [], "{}", table.file());
        }
    }

    #[test]
    fn another_table_takes_the_place_of_one_and_a_broken_one_says_where() {
        let own = Tables::default();
        let text = own
            .text(Table::Beliefs)
            .replace("nothing wrong,0.5", "nothing wrong,2");
        let doubting = own.with(Table::Beliefs, text).expect("a sound table");
        assert!((doubting.belief(Belief::NothingWrong) - 2.0).abs() < 1e-9);
        assert!((doubting.belief(Belief::Feels) - own.belief(Belief::Feels)).abs() < 1e-9);
        let text = own
            .text(Table::Kinds)
            .replace("oil-hot,mat clogged,0.40", "oil-hot,mat clogged,0.50");
        let problems = own.with(Table::Kinds, text).expect_err("shares of 1.1");
        assert!(problems[0].what.contains("oil-hot"), "{problems:?}");
        let text = own.text(Table::Causes).replace(
            "held oil,thermostat stuck,reading,-,12",
            "held oil,thermostat stuck,reading,-,much",
        );
        let problems = own.with(Table::Causes, text).expect_err("no number");
        let line = own
            .text(Table::Causes)
            .lines()
            .position(|l| l.starts_with("held oil,thermostat"));
        assert_eq!(Some(problems[0].line), line.map(|n| n + 1));
        assert!(problems[0].what.contains("much"), "{problems:?}");
        assert!(own.with(Table::Words, "nothing".to_owned()).is_err());
    }
}
