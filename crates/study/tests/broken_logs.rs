//! Logs that are wrong in one way each, and what is said about them.

mod support;

use study::{DateOrder, LogOptions};

use support::{read, read_with};

/// What refuses a log as a whole.
fn refused(bytes: impl Into<Vec<u8>>) -> String {
    let answer = read_with(bytes, "UTC", &LogOptions::default());
    answer.err().unwrap_or_else(|| "it was accepted".to_owned())
}

#[test]
fn what_cannot_be_used_at_all_is_refused() {
    let row = "2026-01-01 00:00:00,5\n";
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (
            b"".to_vec(),
            "the file is empty\n  hint: its first line names the columns: `time,K1.power [kW]`",
        ),
        (
            b"\n \n".to_vec(),
            "the file is empty\n  hint: its first line names the columns: `time,K1.power [kW]`",
        ),
        (
            b"PK\x03\x04rest".to_vec(),
            "the file is a workbook or an archive, not text\n  hint: save it again as CSV in UTF-8",
        ),
        (
            b"PAR1\x15\x04".to_vec(),
            "the file is in Parquet, not text\n  hint: give it as CSV, plain or packed with gzip or zstd",
        ),
        (
            b"t\0i\0m\0e\0,\0K\x001\0\n\0".to_vec(),
            "the file is text in UTF-16\n  hint: save it again as CSV in UTF-8",
        ),
        (
            b"time,\x01\x02\n".to_vec(),
            "the file is not text\n  hint: save it again as CSV in UTF-8",
        ),
        (
            b"time,K1.power [kW]\r2026-01-01 00:00,5\r".to_vec(),
            "the lines end with a carriage return alone\n  hint: save the file with the line ends LF or CR LF",
        ),
        (
            format!("Time stamp,K1.power [kW]\n{row}").into_bytes(),
            "line 1: header: there is no column `time`\n  hint: if `Time stamp` is it, map it: `\"Time stamp\" = \"time\"`",
        ),
        (
            format!("a,b\n{row}").into_bytes(),
            "line 1: header: there is no column `time`\n  hint: the first line names the columns, separated by commas, \
             semicolons or tabs: `time,K1.power [kW]`",
        ),
        (
            format!("time,P1\n{row}").into_bytes(),
            "line 1: header: no column says anything about this station\n  hint: name a column `K1.power [kW]` or \
             `MAIN.pressure [bar(g)]`, or map the logger's own headers",
        ),
        (
            format!("time,K1.powr [kW]\n{row}").into_bytes(),
            "line 1: K1.powr [kW]: `K1` has no `powr`\n  hint: did you mean `K1.power`?",
        ),
        (
            format!("time,K9.power [kW]\n{row}").into_bytes(),
            "line 1: K9.power [kW]: `K9` is nothing on this station\n  hint: did you mean `K1.power`?",
        ),
        (
            format!("time,K1.state\n{row}").into_bytes(),
            "line 1: K1.state: `K1.state` is said in words, and a log holds numbers\n  hint: leave it out with `#`, or map \
             it to `running` or `loaded`",
        ),
        (
            format!("time,K1.power [kW\n{row}").into_bytes(),
            "line 1: K1.power [kW: the unit is not closed with `]`\n  hint: write `K1.power [kW]`",
        ),
        (
            format!("time,K1.running [kW]\n{row}").into_bytes(),
            "line 1: K1.running [kW]: `K1.running` carries no unit, and `[kW]` is one\n  hint: write `K1.running` alone",
        ),
        (
            format!("time,not K1.power [kW]\n{row}").into_bytes(),
            "line 1: not K1.power [kW]: `not K1.power [kW]` cannot be turned round\n  hint: `not` stands before `running` \
             or `loaded` only",
        ),
        (
            b"time,K1.power [kW],K1.power [W]\n2026-01-01 00:00:00,5,5000\n".to_vec(),
            "line 1: K1.power [W]: this column stands in the header twice\n  hint: keep one of them, or begin the other's \
             header with `#` to leave it out",
        ),
        (
            format!("time,\"K1.power [kW]\n{row}").into_bytes(),
            "line 1: header: a quote is not closed, or text follows it\n  hint: write a quote inside quotes twice",
        ),
        (
            b"time,K1.power [kW]\n".to_vec(),
            "there are no rows under the header\n  hint: check that the logger recorded, and that the file was copied whole",
        ),
        (
            b"time,K1.power [kW]\n01/02/2026 10:00,5\n01/02/2026 10:01,5\n".to_vec(),
            "line 2: time: `01/02/2026 10:00` can be read with the day or the month first, and nothing in the file shows \
             which\n  hint: say which: `day-first` or `month-first`",
        ),
        (
            b"time,K1.power [kW]\n13.02.26 10:00,5\n".to_vec(),
            "line 2: time: the year of `13.02.26 10:00` has two digits\n  hint: let the logger write years with four digits",
        ),
        (
            b"time,K1.power [kW]\n46023.5,5\n".to_vec(),
            "line 2: time: `46023.5` is not a time\n  hint: write times as `2026-07-14 07:10:05`, in the station's time \
             zone, or as `2026-07-14T07:10:05+01:00`",
        ),
        (
            b"time,K1.power [kW]\n2026-02-30 10:00,5\n".to_vec(),
            "line 2: no row can be used; the first: there is no day `2026-02-30 10:00`\n  hint: check the date: years run \
             from 1970 to 2199",
        ),
        (
            b"time;K1.pressure [bar]\n2026-01-01 00:00:00;7\n".to_vec(),
            "line 1: K1.pressure [bar]: `bar` does not say whether it is gauge or absolute\n  hint: write `bar(g)` for what a gauge shows; above vacuum it would be `bar(a)`; for example `K1.pressure [bar(g)]`",
        ),
        (
            b"time,K1.power\n2026-01-01 00:00:00,7\n".to_vec(),
            "line 1: K1.power: the unit is missing: a power is expected\n  hint: write `kW`, `W`, `MW` or `hp`; for example `K1.power [kW]`",
        ),
    ];
    for (bytes, message) in cases {
        let shown = String::from_utf8_lossy(&bytes).into_owned();
        assert_eq!(refused(bytes), message, "{shown:?}");
    }
}

#[test]
fn a_given_order_that_the_file_contradicts_is_refused() {
    let options = LogOptions {
        dates: Some(DateOrder::DayFirst),
        ..LogOptions::default()
    };
    let answer = read_with("time,K1.power [kW]\n01/13/2026 10:00,5\n", "UTC", &options);
    assert_eq!(
        answer.err().as_deref(),
        Some(
            "time: the dates are not written day, month, year: line 2 says `01/13/2026 10:00`\n  hint: leave the order \
             out, or give `month, day, year`"
        )
    );
}

/// The first thing that is rejected in a log whose first row is good, by line.
fn rejected(header: &str, row: &str) -> String {
    let first = if header.contains(';') {
        "2026-01-01 00:00:00;5,0"
    } else {
        "2026-01-01 00:00:00,5.0"
    };
    let study = read(format!("{header}\n{first}\n{row}\n"));
    assert_eq!(study.rejected_total, 1, "{row}");
    let it = &study.rejected[0];
    format!(
        "line {}: {}: {}\n{}",
        it.line, it.column, it.problem, it.hint
    )
}

#[test]
fn a_bad_cell_is_left_out_and_told() {
    let power = "time,K1.power [kW]";
    for (header, row, message) in [
        (
            power,
            "2026-01-01 00:00:01,ERR",
            "line 3: K1.power [kW]: `ERR` is not a number\nleave the cell empty where nothing was read",
        ),
        (
            power,
            "2026-01-01 00:00:01",
            "line 3: : the row has 1 cells, and the header 2\ncheck that the row was written whole and that no text holds the separator",
        ),
        (
            power,
            "2026-01-01 00:00:01,5,6",
            "line 3: : the row has 3 cells, and the header 2\ncheck that the row was written whole and that no text holds the separator",
        ),
        (
            power,
            "2026-01-01 00:00:01,\"5",
            "line 3: : a quote is not closed, or text follows it\nwrite a quote inside quotes twice",
        ),
        (
            power,
            ",5",
            "line 3: time: the time is missing\ncheck the row",
        ),
        (
            power,
            "2026-01-01 25:00:01,5",
            "line 3: time: `2026-01-01 25:00:01` is not a time\nwrite it as `2026-07-14 07:10:05`",
        ),
        (
            power,
            "01.01.2026 00:00:01,5",
            "line 3: time: `01.01.2026 00:00:01` is not written year, month, day, as the times before it are\nlet the logger write every date alike",
        ),
        (
            power,
            "2026-01-01 00:00:01,99999",
            "line 3: K1.power [kW]: `99999` is outside what can be read here, 0 to 2000 kW\ncheck the sensor, and whether `kW` is its unit",
        ),
        (
            power,
            "2026-01-01 00:00:01,-5",
            "line 3: K1.power [kW]: `-5` is outside what can be read here, 0 to 2000 kW\ncheck the sensor, and whether `kW` is its unit",
        ),
        (
            power,
            "2026-01-01 00:00:01,5.0.1",
            "line 3: K1.power [kW]: `5.0.1` is not a number\nleave the cell empty where nothing was read",
        ),
        (
            "time;K1.power [kW]",
            "2026-01-01 00:00:01;1.234,5",
            "line 3: K1.power [kW]: `1.234,5` does not have the decimal mark of this file, `,`\nlet the logger write one decimal mark, and nothing between thousands",
        ),
    ] {
        assert_eq!(rejected(header, row), message);
    }
}
