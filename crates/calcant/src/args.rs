//! What can be typed.
//!
//! Must not know: what the commands do with it.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

mod inputs;

pub(crate) use inputs::{Input, Inputs};

/// Knows the physics of your compressed-air station and says whether its readings are right.
#[derive(Debug, Parser)]
#[command(
    name = "calcant",
    version,
    disable_help_subcommand = true,
    max_term_width = 100
)]
pub(crate) struct Calcant {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write, check or explain a station file
    #[command(subcommand)]
    Station(StationCommand),
    /// Print what is to be expected at every place under stated conditions
    Expect(ExpectArgs),
    /// Judge the rounds of one or more stations
    Judge(JudgeArgs),
    /// Study logs: hours, energy, cycles and pressures, from loggers' own files
    #[cfg(feature = "study")]
    Study(StudyArgs),
    /// Work with logs
    #[cfg(feature = "study")]
    #[command(subcommand)]
    Log(LogCommand),
    /// Print the page of a kind of finding
    Explain {
        /// The kind, as in a finding: `cooling-lost`; without it, all kinds
        kind: Option<String>,
    },
    /// Write the tables that causes are weighed by into a folder, to read, question and change them
    Causes {
        /// The folder; `calcant judge --causes FOLDER` uses what stands there
        folder: PathBuf,
    },
    /// Judge the invented station that comes with the program
    Demo(DemoArgs),
}

#[derive(Debug, Subcommand)]
pub(crate) enum StationCommand {
    /// Print a commented starting file
    New,
    /// Check a station file and tell every problem at once
    Check {
        /// The station file
        file: PathBuf,
    },
    /// List every default that a station file uses, how uncertain it is and where it comes from
    Defaults {
        /// The station file
        file: PathBuf,
    },
}

#[derive(Debug, Args)]
pub(crate) struct ExpectArgs {
    /// The station file
    pub(crate) station: PathBuf,
    /// Temperature outdoors, with unit: "32 degC"
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub(crate) ambient: String,
    /// Relative humidity outdoors in per cent: 60
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true)]
    pub(crate) humidity: String,
    /// Hours loaded over hours run: 0.8 for all, or K1=0.8,K2=0
    #[arg(long, default_value = "1")]
    pub(crate) duty: String,
    /// Pressure at the package outlet, with unit: "7.2 bar(g)"; default is the middle of each band
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) pressure: Option<String>,
    /// Units of the text and the picture; JSON and the working keep SI units
    #[arg(long, value_enum, default_value_t = Units::Si)]
    pub(crate) units: Units,
    /// Lay every number open: formula, numbers, result, source
    #[arg(long)]
    pub(crate) working: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub(crate) json: bool,
    /// Draw the air line into this file
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[cfg_attr(
    feature = "study",
    command(
        override_usage = "calcant judge [OPTIONS] STATION ROUNDS [--log LOG]… [STATION ROUNDS …]"
    )
)]
#[cfg_attr(
    not(feature = "study"),
    command(override_usage = "calcant judge [OPTIONS] STATION ROUNDS [STATION ROUNDS …]")
)]
pub(crate) struct JudgeArgs {
    #[command(flatten)]
    pub(crate) inputs: Inputs,
    #[command(flatten)]
    pub(crate) log: JudgeLog,
    #[command(flatten)]
    pub(crate) how: JudgeHow,
}

/// How the logs that are judged beside rounds are read.
#[derive(Debug, Clone, Args)]
pub(crate) struct JudgeLog {
    /// What foreign headers of the logs mean, one a line: "Amps L1" = "K1.current [A]"
    #[cfg(feature = "study")]
    #[arg(long, value_name = "FILE", requires = "log")]
    pub(crate) map: Option<PathBuf>,
    /// Which comes first in the logs' dates, where nothing in the file shows it
    #[cfg(feature = "study")]
    #[arg(long, value_enum, value_name = "ORDER", requires = "log")]
    pub(crate) dates: Option<Dates>,
}

/// Which logs, and how they are read.
#[cfg(feature = "study")]
#[derive(Debug, Args)]
pub(crate) struct LogArgs {
    /// The station file
    pub(crate) station: PathBuf,
    /// Logs in the order of time: CSV, plain or packed with gzip or zstd, or Parquet; a folder
    /// stands for every Parquet file in it
    #[arg(required = true, num_args = 1.., value_name = "LOG")]
    pub(crate) logs: Vec<PathBuf>,
    /// What foreign headers mean, one a line: "Amps L1" = "K1.current [A]"
    #[arg(long, value_name = "FILE")]
    pub(crate) map: Option<PathBuf>,
    /// Leave out what was logged before: 2026-03-01, or 2026-03-01T07:00, or with an offset
    #[arg(long, value_name = "TIME")]
    pub(crate) from: Option<String>,
    /// Leave out what was logged from then on; a date alone stands for its end
    #[arg(long, value_name = "TIME")]
    pub(crate) to: Option<String>,
    /// Which comes first in the log's dates, where nothing in the file shows it
    #[arg(long, value_enum, value_name = "ORDER")]
    pub(crate) dates: Option<Dates>,
}

#[cfg(feature = "study")]
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Dates {
    /// 13/07/2026
    DayFirst,
    /// 07/13/2026
    MonthFirst,
}

#[cfg(feature = "study")]
#[derive(Debug, Args)]
pub(crate) struct StudyArgs {
    #[command(flatten)]
    pub(crate) log: LogArgs,
    /// Write the study as one page for screen and paper into this file
    #[arg(long, value_name = "FILE.html")]
    pub(crate) report: Option<PathBuf>,
    /// Write the demand of each hour of the week, and of each hour that was logged, into this file
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) demand: Option<PathBuf>,
    /// Write the looks that are taken off the logs, as `judge --log` judges them, as a rounds file
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) looks: Option<PathBuf>,
    /// Units of the text; JSON and CSV keep SI units
    #[arg(long, value_enum, default_value_t = Units::Si)]
    pub(crate) units: Units,
    /// Print JSON instead of text
    #[arg(long)]
    pub(crate) json: bool,
}

#[cfg(feature = "study")]
#[derive(Debug, Subcommand)]
pub(crate) enum LogCommand {
    /// Write logs as Parquet, sorted by time, one row group or one file for each local day
    Convert(ConvertArgs),
}

#[cfg(feature = "study")]
#[derive(Debug, Args)]
pub(crate) struct ConvertArgs {
    #[command(flatten)]
    pub(crate) log: LogArgs,
    /// A file that ends in .parquet, or a folder, which gets station=NAME/day=DATE/part-0.parquet
    #[arg(long, value_name = "FOLDER|FILE")]
    pub(crate) out: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct DemoArgs {
    #[command(flatten)]
    pub(crate) how: JudgeHow,
    /// Write the demo's station file and rounds into this folder instead of judging them
    #[arg(long, value_name = "FOLDER")]
    pub(crate) write: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(crate) struct JudgeHow {
    /// Judge as if it were then: 2026-03-01 (its end), or 2026-03-01T07:00, or with an offset
    #[arg(long, value_name = "TIME")]
    pub(crate) as_of: Option<String>,
    /// Ask what each machine would do at this temperature outdoors tomorrow: "42 degC"
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub(crate) if_hot: Option<String>,
    /// Weigh causes by your own tables in this folder: `calcant causes FOLDER` writes them to begin with
    #[arg(long, value_name = "FOLDER")]
    pub(crate) causes: Option<PathBuf>,
    /// Units of the text; JSON and the working keep SI units
    #[arg(long, value_enum, default_value_t = Units::Si)]
    pub(crate) units: Units,
    /// Lay every number open: formula, numbers, result, source
    #[arg(long)]
    pub(crate) working: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub(crate) json: bool,
    /// Write one page with pictures and the working into this file, for screen and paper
    #[arg(long, value_name = "FILE.html")]
    pub(crate) report: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    /// bar, °C, m³/min
    Si,
    /// psi, °F, cfm
    Us,
}

impl From<Units> for report::Units {
    fn from(units: Units) -> Self {
        match units {
            Units::Si => Self::Si,
            Units::Us => Self::Us,
        }
    }
}

impl From<Units> for judge::say::Units {
    fn from(units: Units) -> Self {
        match units {
            Units::Si => Self::Si,
            Units::Us => Self::Us,
        }
    }
}
