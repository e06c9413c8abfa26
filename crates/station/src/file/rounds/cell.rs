//! Cells: numbers, words and the work done.
//!
//! Must not know: the rows around.

use super::header::PointColumn;
use super::{Complaint, Names};
use crate::file::problem::nearest;
use crate::file::unit::{digits, humidity_as_share, number_of, short};
use crate::model::Asset;
use crate::point::{On, Point, Word};
use crate::round::{Value, Work, WorkDone};

/// The value of a cell that is not empty.
pub(super) fn value(
    point: &PointColumn,
    text: &str,
    decimal_comma: bool,
) -> Result<Value, Complaint> {
    match point.words {
        Some(words) => word(words, text).map(Value::Word),
        None => number(point, text, decimal_comma).map(Value::Number),
    }
}

fn number(point: &PointColumn, text: &str, decimal_comma: bool) -> Result<f64, Complaint> {
    let written = if text.as_bytes().contains(&b',') {
        with_point(text, decimal_comma)?
    } else {
        number_of(text).ok_or_else(|| not_a_number(point, text))?
    };
    if point.humidity
        && let Some(problem) = humidity_as_share(written)
    {
        return Err(Complaint::new(
            problem.what,
            problem.hint.unwrap_or_default(),
        ));
    }
    if point.whole && written.fract().abs() > 0.0 {
        return Err(Complaint::new(
            format!("`{}` is not a whole number", short(text)),
            "write how many the counter shows",
        ));
    }
    let si = point.unit.to_si(written);
    // The bounds themselves can be read, whatever the unit rounds them to.
    let slack = 1e-12 * point.high.abs();
    if si >= point.low - slack && si <= point.high + slack {
        return Ok(si.clamp(point.low, point.high));
    }
    let bound = |si: f64| digits(point.unit.from_si(si));
    let (name, space) = (
        point.unit.name,
        if point.unit.name.is_empty() { "" } else { " " },
    );
    Err(Complaint::new(
        format!(
            "`{}` is outside what can be read here, {} to {}{space}{name}",
            short(text),
            bound(point.low),
            bound(point.high)
        ),
        if name.is_empty() {
            "check the reading".to_owned()
        } else {
            format!("check the reading, and whether `{name}` is its unit")
        },
    ))
}

/// A number with a decimal comma.
fn with_point(text: &str, decimal_comma: bool) -> Result<f64, Complaint> {
    let one_comma = text.bytes().filter(|&b| b == b',').count() == 1;
    if !one_comma || text.contains('.') {
        return Err(Complaint::new(
            format!("`{}` has marks between its thousands", short(text)),
            "write nothing between thousands: `1000` or `1000,5`",
        ));
    }
    if decimal_comma && let Some(number) = number_of(&text.replacen(',', ".", 1)) {
        return Ok(number);
    }
    Err(Complaint::new(
        format!("`{}` is not a number", short(text)),
        "write a number such as `7,5`",
    ))
}

fn not_a_number(point: &PointColumn, text: &str) -> Complaint {
    let shown = short(text);
    let finite = text.parse::<f64>().map_or(true, f64::is_finite);
    if !finite && text.bytes().any(|b| b.is_ascii_digit()) {
        return Complaint::new(
            format!("`{shown}` is too large a number"),
            "check the reading",
        );
    }
    let alone = text
        .trim_end_matches(|c: char| !c.is_ascii_digit())
        .trim_end();
    let hint = if !alone.is_empty() && alone.len() < text.len() && number_of(alone).is_some() {
        let alone = short(alone);
        if point.unit.name.is_empty() {
            format!("write the number alone: `{alone}`")
        } else {
            format!("write the number alone, `{alone}`: the unit stands in the header")
        }
    } else {
        "leave the cell empty if it was not read".to_owned()
    };
    Complaint::new(format!("`{shown}` is not a number"), hint)
}

fn word(words: &'static [Word], text: &str) -> Result<Word, Complaint> {
    let is = |written: &str| {
        words
            .iter()
            .copied()
            .find(|word| word.text().eq_ignore_ascii_case(written))
    };
    if let Some(word) = is(text) {
        return Ok(word);
    }
    let plain = text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase();
    if let Some(word) = is(&plain) {
        return Ok(word);
    }
    let list: Vec<String> = words
        .iter()
        .map(|word| format!("`{}`", word.text()))
        .collect();
    let list = list.join(", ");
    let near = (plain.len() <= 40)
        .then(|| nearest(&plain, words.iter().map(|word| word.text())))
        .flatten();
    Err(Complaint::new(
        format!("`{}` is none of the words {list}", short(text)),
        match near {
            Some(word) => format!("did you mean `{word}`?"),
            None => "write one of them, or leave the cell empty if it was not looked at".to_owned(),
        },
    ))
}

/// The work done: `K1:clean mat; K1:change oil filter`.
pub(super) fn done(text: &str, names: &Names) -> Result<Vec<WorkDone>, Complaint> {
    text.split(';')
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .map(|p| work(p, names))
        .collect()
}

fn work(part: &str, names: &Names) -> Result<WorkDone, Complaint> {
    let example = names.first_machine();
    let Some((id, phrase)) = part.split_once(':').map(|(a, b)| (a.trim(), b.trim())) else {
        return Err(Complaint::new(
            format!("`{}` does not say on what it was done", short(part)),
            format!("write the thing and a colon before it: `{example}:clean mat`"),
        ));
    };
    let Some(on) = names.find(id) else {
        return Err(Complaint::new(
            format!("`{}` is nothing on this station", short(id)),
            match names.nearest(id) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "write an id of the station file".to_owned(),
            },
        ));
    };
    if phrase.is_empty() {
        return Err(Complaint::new(
            format!("`{}` does not say what was done", short(part)),
            format!("write it after the colon: `{id}:clean mat`"),
        ));
    }
    let work = Work::from_phrase(phrase);
    match &work {
        Work::Other(words) => {
            let mut words = words.split(' ');
            let begins =
                |word: Option<&str>, with: &str| word.is_some_and(|w| w.eq_ignore_ascii_case(with));
            if begins(words.next(), "replace") && begins(words.next(), "counter") {
                return Err(unknown_counter(id, words.next().unwrap_or_default()));
            }
        }
        Work::ReplaceCounter(_) if on.on() != Some(On::Machine) => {
            return Err(Complaint::new(
                format!("`{}` has no counters", short(id)),
                format!(
                    "only machines have them: write `{example}:{}`",
                    work.phrase()
                ),
            ));
        }
        _ => {}
    }
    Ok(WorkDone { on, work })
}

fn unknown_counter(id: &str, name: &str) -> Complaint {
    let counters: Vec<&str> = Point::ALL
        .iter()
        .filter(|p| p.is_counter())
        .map(|p| p.name())
        .collect();
    let near = (1..=40)
        .contains(&name.len())
        .then(|| nearest(name, counters.iter().copied()))
        .flatten();
    let what = if name.is_empty() {
        "it is not said which counter was replaced".to_owned()
    } else {
        format!("`{}` is not a counter", short(name))
    };
    Complaint::new(
        what,
        match near {
            Some(near) => format!("did you mean `{id}:replace counter {near}`?"),
            None => format!("the counters are `{}`", counters.join("`, `")),
        },
    )
}

impl Names {
    fn find(&self, id: &str) -> Option<Asset> {
        self.0
            .iter()
            .find(|(name, _)| name == id)
            .map(|(_, asset)| *asset)
    }

    fn nearest(&self, id: &str) -> Option<&str> {
        near_id(id, self.0.iter().map(|(name, _)| name.as_str()))
    }

    fn first_machine(&self) -> &str {
        let machine = self
            .0
            .iter()
            .find(|(_, asset)| asset.on() == Some(On::Machine));
        machine.map_or("K1", |(name, _)| name)
    }
}

/// The id that was meant: first the same in other letters, then the nearest.
pub(super) fn near_id<'a>(
    id: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Option<&'a str> {
    if id.len() > 80 {
        return None;
    }
    known
        .clone()
        .find(|k| k.eq_ignore_ascii_case(id))
        .or_else(|| nearest(id, known))
}
