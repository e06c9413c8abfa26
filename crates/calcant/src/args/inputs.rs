//! The files of `calcant judge`, in the order in which they were typed: a log belongs to the station
//! before it.
//!
//! Must not know: what is in them.

use std::path::PathBuf;

#[cfg(feature = "study")]
use clap::ArgAction;
use clap::error::Error;
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches, value_parser};

const FILES: &str = "STATION ROUNDS";
#[cfg(feature = "study")]
const LOG: &str = "log";

/// One file, as it was named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Input {
    /// A station file, or rounds.
    File(PathBuf),
    /// A log.
    #[cfg_attr(
        not(feature = "study"),
        expect(dead_code, reason = "a program without the log study reads none")
    )]
    Log(PathBuf),
}

/// All files, as they were typed.
#[derive(Debug, Clone, Default)]
pub(crate) struct Inputs(pub(crate) Vec<Input>);

impl Args for Inputs {
    fn augment_args(command: Command) -> Command {
        let files = Arg::new(FILES)
            .help("A station file and its rounds, or several such pairs")
            .required(true)
            .num_args(1..)
            .value_parser(value_parser!(PathBuf));
        let command = command.arg(files);
        #[cfg(feature = "study")]
        let command = command.arg(
            Arg::new(LOG)
                .long(LOG)
                .value_name("LOG")
                .action(ArgAction::Append)
                .value_parser(value_parser!(PathBuf))
                .help(
                    "Judge a log of the station before it as well: CSV, plain or packed with gzip \
                     or zstd, or Parquet, or a folder of Parquet files; rounds may then be left out",
                ),
        );
        command
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Inputs {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        let mut inputs: Vec<(usize, Input)> = named(matches, FILES, Input::File).collect();
        #[cfg(feature = "study")]
        inputs.extend(named(matches, LOG, Input::Log));
        inputs.sort_by_key(|(at, _)| *at);
        Ok(Self(inputs.into_iter().map(|(_, input)| input).collect()))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

/// The files of one argument, with their places on the command line.
fn named<'a>(
    matches: &'a ArgMatches,
    id: &str,
    of: fn(PathBuf) -> Input,
) -> impl Iterator<Item = (usize, Input)> + use<'a> {
    let places = matches.indices_of(id).into_iter().flatten();
    let paths = matches.get_many::<PathBuf>(id).into_iter().flatten();
    places
        .zip(paths)
        .map(move |(at, path)| (at, of(path.clone())))
}
