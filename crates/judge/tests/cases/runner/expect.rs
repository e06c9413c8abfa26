//! The grammar of an `expect` block; `cases/README.md` tells it to whoever writes cases.

use judge::{Kind, Urgency};

use super::page::Block;

/// What a case expects.
#[derive(Debug, Default)]
pub(crate) struct Expect {
    pub(crate) us_units: bool,
    pub(crate) as_of: Option<String>,
    pub(crate) nothing: bool,
    pub(crate) also_anything: bool,
    pub(crate) findings: Vec<Wanted>,
    pub(crate) quiet: Vec<Quiet>,
    pub(crate) not_judged: Vec<Said>,
    pub(crate) judged: Vec<Said>,
    pub(crate) rejected: Vec<Rejected>,
    pub(crate) points: Vec<PointRange>,
}

/// A finding that has to be there.
#[derive(Debug)]
pub(crate) struct Wanted {
    pub(crate) line: usize,
    pub(crate) kind: Kind,
    pub(crate) subject: String,
    pub(crate) urgency: Urgency,
    pub(crate) details: Vec<(usize, Detail)>,
}

/// A finding that must not be there.
#[derive(Debug)]
pub(crate) struct Quiet {
    pub(crate) line: usize,
    pub(crate) kind: Kind,
    pub(crate) subject: String,
}

/// Something of the list of what was not judged, with a part of its reason.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) line: usize,
    pub(crate) what: String,
    pub(crate) because: Option<String>,
}

/// A row that has to be rejected: its line in the `csv` block, with a part of the problem.
#[derive(Debug)]
pub(crate) struct Rejected {
    pub(crate) line: usize,
    pub(crate) row: u64,
    pub(crate) has: Option<String>,
}

/// An expectation of the last round, in file units.
#[derive(Debug)]
pub(crate) struct PointRange {
    pub(crate) line: usize,
    pub(crate) point: String,
    pub(crate) range: (f64, f64),
}

/// A text of a finding that can be looked into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Text {
    Title,
    Action,
    NextCheck,
    Stake,
    Cautions,
    Working,
}

/// More about one finding.
#[derive(Debug)]
pub(crate) enum Detail {
    Part(String),
    Has(Text, String),
    Lacks(Text, String),
    Since(String),
    Health(f64, f64),
    Limit(Option<(String, String)>),
    Cost(Option<(f64, f64, String)>),
    Energy(Option<(f64, f64)>),
}

/// Reads an `expect` block.
///
/// # Errors
/// The line that is not understood.
pub(crate) fn parse(block: &Block) -> Result<Expect, String> {
    let mut expect = Expect::default();
    for (line, text) in (block.line..).zip(block.text.lines()) {
        let told = |why: &str| format!("line {line}: `{}`: {why}", text.trim());
        if text.trim().is_empty() || text.trim_start().starts_with('#') {
            continue;
        }
        if text.starts_with(' ') {
            let last = expect
                .findings
                .last_mut()
                .ok_or_else(|| told("indented, but no finding stands before it"))?;
            last.details
                .push((line, detail(text.trim()).map_err(|why| told(&why))?));
        } else {
            statement(&mut expect, line, text.trim()).map_err(|why| told(&why))?;
        }
    }
    let silent = expect.findings.is_empty() && !expect.nothing && !expect.also_anything;
    if silent {
        return Err(format!(
            "line {}: say `nothing`, name findings, or write `also anything`",
            block.line
        ));
    }
    if expect.nothing && !expect.findings.is_empty() {
        return Err(format!("line {}: `nothing`, and yet findings", block.line));
    }
    Ok(expect)
}

fn statement(expect: &mut Expect, line: usize, text: &str) -> Result<(), String> {
    if text == "nothing" {
        expect.nothing = true;
    } else if text == "also anything" {
        expect.also_anything = true;
    } else if text == "asked in US units" {
        expect.us_units = true;
    } else if let Some(time) = text.strip_prefix("asked as of ") {
        expect.as_of = Some(time.to_owned());
    } else if let Some(rest) = text.strip_prefix("not judged: ") {
        expect.not_judged.push(said(line, rest)?);
    } else if let Some(rest) = text.strip_prefix("judged: ") {
        expect.judged.push(said(line, rest)?);
    } else if let Some(rest) = text.strip_prefix("rejected: line ") {
        let (row, has) = split_has(rest)?;
        let row = row.parse().map_err(|_| format!("`{row}` is no line"))?;
        expect.rejected.push(Rejected { line, row, has });
    } else if let Some(rest) = text.strip_prefix("expected ") {
        let (point, rest) = rest.split_once(' ').ok_or("a point and a range")?;
        let (range, _unit) = rest.split_once(' ').unwrap_or((rest, ""));
        expect.points.push(PointRange {
            line,
            point: point.to_owned(),
            range: numbers(range)?,
        });
    } else if let Some(rest) = text.strip_prefix("not ") {
        let (kind, subject) = kind_on(rest)?;
        expect.quiet.push(Quiet {
            line,
            kind,
            subject,
        });
    } else {
        let (what, urgency) = text.rsplit_once(", ").ok_or("an urgency after a comma")?;
        let (kind, subject) = kind_on(what)?;
        expect.findings.push(Wanted {
            line,
            kind,
            subject,
            urgency: urgency_named(urgency)?,
            details: Vec::new(),
        });
    }
    Ok(())
}

fn kind_on(text: &str) -> Result<(Kind, String), String> {
    let (kind, subject) = text
        .split_once(" on ")
        .ok_or("not understood; a finding is `<kind> on <subject>, <urgency>`")?;
    let kind = Kind::named(kind).ok_or_else(|| format!("`{kind}` is no kind of finding"))?;
    Ok((kind, subject.trim().to_owned()))
}

fn urgency_named(text: &str) -> Result<Urgency, String> {
    [
        Urgency::Now,
        Urgency::ThisWeek,
        Urgency::NextService,
        Urgency::Watch,
    ]
    .into_iter()
    .find(|u| u.words() == text)
    .ok_or_else(|| format!("`{text}` is no urgency: now, this week, next service or watch"))
}

fn said(line: usize, text: &str) -> Result<Said, String> {
    let (what, because) = match text.split_once(", because ") {
        Some((what, why)) => (what, Some(quoted(why)?)),
        None => (text, None),
    };
    Ok(Said {
        line,
        what: what.trim().to_owned(),
        because,
    })
}

fn split_has(text: &str) -> Result<(&str, Option<String>), String> {
    match text.split_once(", ") {
        Some((first, rest)) => Ok((first, Some(quoted(rest)?))),
        None => Ok((text, None)),
    }
}

fn detail(text: &str) -> Result<Detail, String> {
    let (word, rest) = text.split_once(' ').ok_or("a value after the word")?;
    Ok(match word {
        "part" => Detail::Part(rest.to_owned()),
        "since" => Detail::Since(rest.to_owned()),
        "health" => {
            let (low, high) = numbers(rest)?;
            Detail::Health(low, high)
        }
        "limit" if rest == "none" => Detail::Limit(None),
        "limit" => {
            let (from, to) = ends(rest);
            Detail::Limit(Some((from.to_owned(), to.to_owned())))
        }
        "cost" if rest == "none" => Detail::Cost(None),
        "cost" => {
            let (range, currency) = rest.rsplit_once(' ').ok_or("a currency after the range")?;
            let (low, high) = numbers(range)?;
            Detail::Cost(Some((low, high, currency.to_owned())))
        }
        "energy" if rest == "none" => Detail::Energy(None),
        "energy" => {
            let range = rest.strip_suffix(" kWh").ok_or("energy is told in kWh")?;
            let (low, high) = numbers(range)?;
            Detail::Energy(Some((low, high)))
        }
        _ => return look_into(text),
    })
}

fn look_into(text: &str) -> Result<Detail, String> {
    let texts = [
        ("title", Text::Title),
        ("action", Text::Action),
        ("next check", Text::NextCheck),
        ("stake", Text::Stake),
        ("cautions", Text::Cautions),
        ("working", Text::Working),
    ];
    for (word, which) in texts {
        let Some(rest) = text.strip_prefix(word) else {
            continue;
        };
        if let Some(rest) = rest.strip_prefix(if which == Text::Cautions {
            " have "
        } else {
            " has "
        }) {
            return Ok(Detail::Has(which, quoted(rest)?));
        }
        if let Some(rest) = rest.strip_prefix(if which == Text::Cautions {
            " lack "
        } else {
            " lacks "
        }) {
            return Ok(Detail::Lacks(which, quoted(rest)?));
        }
    }
    Err("not understood".to_owned())
}

fn quoted(text: &str) -> Result<String, String> {
    text.trim()
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .map(str::to_owned)
        .ok_or_else(|| format!("{text} does not stand between quotes"))
}

fn ends(text: &str) -> (&str, &str) {
    text.split_once('…').unwrap_or((text, text))
}

fn numbers(text: &str) -> Result<(f64, f64), String> {
    let (low, high) = ends(text);
    let number = |t: &str| {
        t.trim()
            .replace('−', "-")
            .parse::<f64>()
            .map_err(|_| format!("`{t}` is no number; a range is `0.8…0.9`"))
    };
    Ok((number(low)?, number(high)?))
}
