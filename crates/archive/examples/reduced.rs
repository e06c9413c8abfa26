//! The reduced figures of a log, CSV or Parquet, as JSON: `reduced [--lines] FILE`. The benchmark
//! compares them with those of general-purpose libraries. With `--lines`, counts line ends and does
//! nothing else.
#![expect(clippy::print_stdout, reason = "its figures go to another program")]

use std::error::Error;
use std::fs::File;
use std::io::{Read, Seek as _};

use study::{Channel, LogOptions, LogSource, Study, read_log};

/// The invented machine whose log the benchmark reads.
const STATION: &str = r#"
calcant  = 1
air_path = ["K1", "R1", "MAIN"]
[site]
name      = "Quillbank Tileworks (invented)"
altitude  = "0 m"
time_zone = "UTC"
[[machine]]
id             = "K1"
kind           = "oil-injected screw"
drive          = "gear"
control        = "load/unload"
rated          = { pressure = "7.5 bar(g)", fad = "5.3 m3/min", power = "33.4 kW" }
band           = { load = "6.8 bar(g)", unload = "7.5 bar(g)" }
max_pressure   = "8.0 bar(g)"
unloaded_power = "9.2 kW"
[[vessel]]
id           = "R1"
volume       = "1000 L"
max_pressure = "11 bar(g)"
[[header]]
id     = "MAIN"
wanted = "6.2 bar(g)"
"#;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    match args.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["--lines", path] => lines(path),
        [path] => figures(path),
        _ => Err("usage: reduced [--lines] FILE".into()),
    }
}

fn figures(path: &str) -> Result<(), Box<dyn Error>> {
    let told = |problems: Vec<station::file::problem::Problem>| {
        problems
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("\n")
    };
    let station = station::file::station::parse(STATION).map_err(told)?;
    let mut file = File::open(path)?;
    let mut first = [0; archive::FIRST_BYTES];
    file.read_exact(&mut first)?;
    file.rewind()?;
    let source = if archive::is_parquet(&first) {
        LogSource::columns(
            path,
            archive::read::open_file(file).map_err(|refusal| refusal.what)?,
        )
    } else {
        LogSource::new(path, file)
    };
    let block = std::env::var("LOG_BLOCK").ok().and_then(|b| b.parse().ok());
    let workers = std::env::var("LOG_WORKERS")
        .ok()
        .and_then(|w| w.parse().ok());
    let mut options = LogOptions {
        workers,
        ..LogOptions::default()
    };
    options.block = block.unwrap_or(options.block);
    let study = read_log([source], &station, &options).map_err(told)?;
    println!("{{\"figures\": [{}]}}", days(&study).join(","));
    Ok(())
}

/// For each day what the script computes too, in its units and order.
fn days(study: &Study) -> Vec<String> {
    let power = study
        .channels
        .iter()
        .position(|c| c.channel == Channel::power_of(0));
    let Some(machine) = study.machines.first() else {
        return Vec::new();
    };
    let one = |(at, states): (usize, &study::MachineDay)| {
        let mut figures = Vec::new();
        for (channel, column) in study.channels.iter().enumerate() {
            let (factor, offset) = [(1e3, 0.0), (1e5, 0.0), (1.0, 273.15), (1.0, 273.15)][channel];
            let day = &column.days[at];
            if channel == 0 {
                figures.push(day.count as f64);
            }
            figures.extend([day.mean, day.min, day.max].map(|si| (si - offset) / factor));
        }
        let energy = power.map_or(0.0, |at_power| study.channels[at_power].days[at].integral);
        figures.push(energy / 3.6e6);
        figures.extend(study::plain(&states.hours));
        figures.extend([states.loads as f64, states.starts as f64]);
        let figures: Vec<String> = figures.iter().map(|f| format!("{f:?}")).collect();
        format!("[\"{}\",{}]", states.date, figures.join(","))
    };
    machine.days.iter().enumerate().map(one).collect()
}

fn lines(path: &str) -> Result<(), Box<dyn Error>> {
    let mut file = File::open(path)?;
    let mut bytes = vec![0; 1 << 20];
    let mut lines = 0;
    loop {
        let read = file.read(&mut bytes)?;
        if read == 0 {
            break;
        }
        lines += memchr::memchr_iter(b'\n', &bytes[..read]).count();
    }
    println!("{{\"figures\": [{lines}]}}");
    Ok(())
}
