//! A file that says what foreign headers mean: the lines of `[log.columns]`, without the rest of a
//! station file.
//!
//! Must not know: which meanings there are.

use ::station::file::problem::Problem;

const SHAPE: &str = "write `\"Amps L1\" = \"K1.current [A]\"`, one a line";

/// The renames of a file; every problem at once.
pub(super) fn parse(bytes: &[u8]) -> Result<Vec<(String, String)>, Vec<Problem>> {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return Err(vec![problem(None, "the file is not text in UTF-8")]);
    };
    let (mut renames, mut problems) = (Vec::<(String, String)>::new(), Vec::new());
    for (number, line) in (1..).zip(text.trim_start_matches('\u{feff}').lines()) {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') || line == "[log.columns]" {
            continue;
        }
        match rename(line) {
            Some((foreign, _)) if renames.iter().any(|(known, _)| *known == foreign) => {
                let what = format!("`{foreign}` stands here twice");
                problems.push(problem(Some(number), &what));
            }
            Some(rename) => renames.push(rename),
            None => problems.push(problem(Some(number), "this is no rename")),
        }
    }
    if problems.is_empty() {
        Ok(renames)
    } else {
        Err(problems)
    }
}

fn problem(line: Option<u64>, what: &str) -> Problem {
    Problem {
        line,
        at: String::new(),
        what: what.to_owned(),
        hint: Some(SHAPE.to_owned()),
    }
}

/// `"foreign" = "meaning"`, and perhaps a remark.
fn rename(line: &str) -> Option<(String, String)> {
    let (foreign, rest) = word(line)?;
    let (meaning, rest) = word(rest.trim_start().strip_prefix('=')?.trim_start())?;
    let rest = rest.trim_start();
    (rest.is_empty() || rest.starts_with('#')).then_some((foreign, meaning))
}

/// A quoted text, or a bare word before the `=`, and what follows.
fn word(text: &str) -> Option<(String, &str)> {
    let mut chars = text.char_indices();
    let quote = match chars.next()? {
        (_, quote @ ('"' | '\'')) => quote,
        _ => {
            let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
            let end = text.find(|c| !bare(c)).unwrap_or(text.len());
            let (word, rest) = text.split_at_checked(end)?;
            return (!word.is_empty()).then(|| (word.to_owned(), rest));
        }
    };
    let mut word = String::new();
    while let Some((at, c)) = chars.next() {
        if c == quote {
            return Some((word, text.get(at + c.len_utf8()..)?));
        }
        if c == '\\' && quote == '"' {
            match chars.next()?.1 {
                c @ ('"' | '\\') => word.push(c),
                't' => word.push('\t'),
                _ => return None,
            }
        } else {
            word.push(c);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn renames_are_read() {
        let text = "\u{feff}# of the logger\n[log.columns]\n\"P \\\"1\\\"\" = \"K1.power [kW]\" # first\n\
                    'Run' = 'K1.running'\r\nUnl=\"not K1.loaded\"\n\n";
        let of = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(
            parse(text.as_bytes()),
            Ok(vec![
                of("P \"1\"", "K1.power [kW]"),
                of("Run", "K1.running"),
                of("Unl", "not K1.loaded"),
            ])
        );
    }

    #[test]
    fn what_is_no_rename_is_told() {
        let text = "\"a\" = \"b\"\n\"c\" \"d\"\n\"a\" = \"e\"\n\"f = \"g\"\n";
        let problems = parse(text.as_bytes()).expect_err("three lines are wrong");
        let lines: Vec<Option<u64>> = problems.iter().map(|p| p.line).collect();
        assert_eq!(lines, [Some(2), Some(3), Some(4)]);
        assert!(parse(b"\xFF\xFE").is_err());
    }
}
