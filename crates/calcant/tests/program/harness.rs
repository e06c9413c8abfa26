//! Runs the built program in a fresh folder, and compares whole texts with their snapshots.
//!
//! `BLESS=1 cargo test -p calcant` makes the snapshots anew; read the difference before it is kept.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

use serde_json::Value;

pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_calcant");
const HERE: &str = env!("CARGO_MANIFEST_DIR");

/// The folder of the whole project.
pub(crate) fn project() -> PathBuf {
    Path::new(HERE)
        .ancestors()
        .nth(2)
        .expect("a crate stands two folders under the project")
        .to_owned()
}

/// A folder of its own for one test, gone when the test is over.
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn fresh() -> Self {
        static SERIAL: AtomicU32 = AtomicU32::new(0);
        let serial = SERIAL.fetch_add(1, Ordering::Relaxed);
        let name = format!("calcant-test-{}-{serial}", std::process::id());
        let path = std::env::temp_dir().join(name);
        fs::create_dir_all(&path).expect("the temporary folder takes a folder");
        Self(path)
    }

    /// With `station.toml` and `rounds.csv` of the demo.
    pub(crate) fn with_demo() -> Self {
        let folder = Self::fresh();
        let demo = project().join("examples/quillbank");
        for name in ["station.toml", "rounds.csv"] {
            fs::copy(demo.join(name), folder.path(name)).expect("the demo is in examples");
        }
        folder
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub(crate) fn put(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("a fresh folder takes a file");
    }

    pub(crate) fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect("the test put it there")
    }

    /// The names of what is in it, sorted.
    pub(crate) fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(&self.0)
            .expect("it is there")
            .map(|entry| {
                let name = entry.expect("it can be listed").file_name();
                name.to_string_lossy().into_owned()
            })
            .collect();
        names.sort();
        names
    }

    pub(crate) fn run<I: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = I>) -> Ran {
        let mut command = Command::new(PROGRAM);
        command.args(args);
        self.run_as(command)
    }

    /// Runs a line of the shell, in which `calcant` is the program under test.
    pub(crate) fn shell(&self, line: &str) -> Ran {
        let folder = Path::new(PROGRAM).parent().expect("it stands in a folder");
        let path = std::env::var("PATH").unwrap_or_default();
        let mut command = Command::new("sh");
        command
            .args(["-c", line])
            .env("PATH", format!("{}:{path}", folder.display()));
        self.run_as(command)
    }

    fn run_as(&self, mut command: Command) -> Ran {
        let output = command
            .current_dir(&self.0)
            .stdin(Stdio::null())
            .output()
            .expect("it was built for this test");
        Ran::of(output)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // A folder left over hurts no other test.
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// How a run ended.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) status: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    fn of(output: Output) -> Self {
        Self {
            status: output.status.code(),
            out: String::from_utf8(output.stdout).expect("data is UTF-8"),
            err: String::from_utf8(output.stderr).expect("words are UTF-8"),
        }
    }

    /// The data, of a run that did all of it.
    #[track_caller]
    pub(crate) fn done(self) -> String {
        assert_eq!(self.status, Some(0), "{}", self.err);
        self.out
    }

    /// The words, of a run that refused its input and printed nothing.
    #[track_caller]
    pub(crate) fn refused(self) -> String {
        assert_eq!(self.status, Some(2), "{self:?}");
        assert_eq!(self.out, "", "data although the input was refused");
        assert_ne!(self.err, "", "refused without a word");
        self.err
    }

    #[track_caller]
    pub(crate) fn json(self) -> Value {
        serde_json::from_str(&self.done()).expect("`--json` prints JSON")
    }
}

/// Runs it in a fresh folder that holds nothing.
pub(crate) fn calcant<I: AsRef<OsStr>>(args: impl IntoIterator<Item = I>) -> Ran {
    Folder::fresh().run(args)
}

/// Compares a text with its snapshot, or makes the snapshot anew.
#[track_caller]
pub(crate) fn snapshot(name: &str, text: &str) {
    let text = text.replace(env!("CARGO_PKG_VERSION"), "VERSION");
    let path = snapshots().join(format!("{name}.txt"));
    if std::env::var_os("BLESS").is_some_and(|bless| bless == "1") {
        fs::write(&path, &text).expect("the snapshots can be written");
        return;
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    if kept == text {
        return;
    }
    let line = kept
        .lines()
        .zip(text.lines())
        .position(|(kept, now)| kept != now)
        .unwrap_or_else(|| kept.lines().count().min(text.lines().count()));
    let of = |text: &str| text.lines().nth(line).unwrap_or("(ends)").to_owned();
    panic!(
        "{name} differs from its snapshot at line {}:\n  kept: {}\n  now:  {}\n\
         `BLESS=1 cargo test -p calcant` makes it anew",
        line + 1,
        of(&kept),
        of(&text)
    );
}

pub(crate) fn snapshots() -> PathBuf {
    Path::new(HERE).join("tests/snapshots")
}

/// Every file under a folder with this ending.
pub(crate) fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let Ok(entries) = fs::read_dir(folder) else {
        return files;
    };
    for entry in entries {
        let path = entry.expect("it can be listed").path();
        if path.is_dir() {
            files.extend(self::files(&path, ending));
        } else if path.extension().is_some_and(|e| e == ending) {
            files.push(path);
        }
    }
    files.sort();
    files
}

#[test]
fn every_snapshot_belongs_to_a_test() {
    let sources: String = files(&Path::new(HERE).join("tests"), "rs")
        .iter()
        .map(|path| fs::read_to_string(path).expect("sources are text"))
        .collect();
    let kept = files(&snapshots(), "txt");
    assert!(kept.len() > 20, "the snapshots are gone");
    for path in kept {
        let name = path.file_stem().expect("it has a name").to_string_lossy();
        assert!(
            sources.contains(&format!("\"{name}\"")),
            "no test speaks of tests/snapshots/{name}.txt: take it away"
        );
    }
}
