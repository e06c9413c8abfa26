//! Reading: some thousand rows at a time, the wanted columns alone, and of the row groups only those
//! that the wanted time touches.
//!
//! Must not know: what the columns mean.

use std::any::Any;
use std::fs::File;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, PoisonError};

use parquet::basic::{Compression, Type};
use parquet::column::reader::ColumnReaderImpl;
use parquet::data_type::{
    BoolType, ByteArray, ByteArrayType, DataType, DoubleType, FixedLenByteArray,
    FixedLenByteArrayType, FloatType, Int32Type, Int64Type, Int96, Int96Type,
};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::{ParquetMetaData, ParquetMetaDataReader, RowGroupMetaData};
use parquet::file::serialized_reader::SerializedPageReader;
use parquet::file::statistics::Statistics;
use study::table::{Cells, Table, TableColumn, TableRows, TextCells};

use crate::kind::Kind;
use crate::pages::{Bounded, Checked};
pub use crate::shared::{Apart, Shared};

/// So many rows are given at a time.
const ROWS: usize = 1 << 14;

/// What keeps a file from being used, and how that can be mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub hint: String,
}

/// Opens a file in Parquet.
///
/// # Errors
/// As [`open`], and what the system says of the file.
pub fn open_file(file: File) -> Result<ParquetLog<Shared>, Refusal> {
    let shared = Shared::new(file).map_err(|error| Refusal {
        what: format!("the file cannot be read: {error}"),
        hint: "check that it is there and may be read".to_owned(),
    })?;
    open(shared)
}

/// Opens what a file in Parquet holds; its columns are unpacked side by side.
///
/// # Errors
/// Why it cannot be read: it is cut off, damaged, encrypted, or packed in a way that is not known.
pub fn open<R: Apart>(input: R) -> Result<ParquetLog<R>, Refusal> {
    let size = input.len();
    let whole = |error: &ParquetError| Refusal {
        what: format!(
            "the file is Parquet, and damaged or not whole: {}",
            words(error)
        ),
        hint: "check that it was copied whole".to_owned(),
    };
    let first = input.get_bytes(0, crate::FIRST_BYTES);
    if first.is_ok_and(|first| first.as_ref() == b"PARE") {
        return Err(Refusal {
            what: "the file is Parquet, and encrypted".to_owned(),
            hint: "write it without encryption".to_owned(),
        });
    }
    let opened = caught(|| ParquetMetaDataReader::new().parse_and_finish(&input));
    let file = opened.map_err(|error| whole(&error))?;
    let groups = file.row_groups();
    let chunks = groups.iter().flat_map(|group| group.columns());
    let known = |packed: Compression| {
        matches!(
            packed,
            Compression::UNCOMPRESSED
                | Compression::SNAPPY
                | Compression::GZIP(_)
                | Compression::ZSTD(_)
        )
    };
    if let Some(packed) = chunks.map(|c| c.compression()).find(|&p| !known(p)) {
        let name = packed.to_string();
        let name = name.split('(').next().unwrap_or_default();
        return Err(Refusal {
            what: format!("the pages of the file are packed with {name}"),
            hint: "write it with zstd, snappy or gzip, or unpacked".to_owned(),
        });
    }
    let columns = file.file_metadata().schema_descr().columns();
    let columns = columns
        .iter()
        .map(|column| Column {
            name: name(column.path().parts(), column.max_rep_level() > 0),
            kind: Kind::of(column),
            whole: column.max_def_level(),
        })
        .collect();
    let rows = groups.iter().map(|group| rows_of(group.num_rows())).sum();
    Ok(ParquetLog {
        input: Arc::new(input),
        file,
        columns,
        wanted: Vec::new(),
        within: None,
        group: 0,
        skipped: 0,
        left: 0,
        lanes: Vec::new(),
        size,
        rows,
        given: 0,
    })
}

/// What a column is called: with the names of the groups that it stands in, but of a list only the
/// name of the whole.
fn name(parts: &[String], list: bool) -> String {
    match parts.first() {
        Some(whole) if list => whole.clone(),
        _ => parts.join("."),
    }
}

fn rows_of(told: i64) -> u64 {
    u64::try_from(told).unwrap_or(0)
}

/// The words of an error, without the name of the format, which stands before them.
fn words(error: &ParquetError) -> String {
    match error {
        ParquetError::General(words) | ParquetError::EOF(words) => words.clone(),
        other => other.to_string(),
    }
}

/// Runs what may trip over damaged bytes.
fn caught<T>(run: impl FnOnce() -> Result<T>) -> Result<T> {
    let panicked = |_: Box<dyn Any + Send>| {
        Err(ParquetError::General(
            "its bytes contradict each other".to_owned(),
        ))
    };
    catch_unwind(AssertUnwindSafe(run)).unwrap_or_else(panicked)
}

struct Column {
    name: String,
    kind: Kind,
    /// The level of a cell that is not missing.
    whole: i16,
}

/// A log in Parquet.
pub struct ParquetLog<R: Apart> {
    input: Arc<R>,
    file: ParquetMetaData,
    columns: Vec<Column>,
    wanted: Vec<usize>,
    /// Only rows with times from here up to there are wanted: which column has the times, and the
    /// limits, µs.
    within: Option<(usize, i64, i64)>,
    /// The next row group.
    group: usize,
    /// Rows of row groups that were left out since rows were last given.
    skipped: u64,
    /// Rows of the row group that is being read which were not given yet.
    left: u64,
    lanes: Vec<Lane>,
    size: u64,
    rows: u64,
    given: u64,
}

impl<R: Apart> ParquetLog<R> {
    /// Opens the next row group that has rows; false at the end.
    fn open_group(&mut self) -> Result<bool> {
        while self.left == 0 {
            let Some(group) = self.file.row_groups().get(self.group) else {
                return Ok(false);
            };
            self.group += 1;
            let rows = rows_of(group.num_rows());
            if self.lies_outside(group) {
                self.skipped += rows;
                self.given += rows;
                continue;
            }
            self.left = rows;
            self.lanes.clear();
            for &at in &self.wanted {
                self.lanes.push(Lane::open(&self.input, group, at)?);
            }
        }
        Ok(true)
    }

    /// Whether the times that a row group is said to hold all lie outside those that are wanted.
    fn lies_outside(&self, group: &RowGroupMetaData) -> bool {
        let Some((time, from, to)) = self.within else {
            return false;
        };
        let (Some(column), Some(chunk)) = (self.columns.get(time), group.columns().get(time))
        else {
            return false;
        };
        let Some(Statistics::Int64(told)) = chunk.statistics() else {
            return false;
        };
        let micros = |stamp: Option<&i64>| {
            let micros = column.kind.micros(*stamp?);
            (micros != Cells::NO_TIME).then_some(micros)
        };
        let (Some(first), Some(last)) = (micros(told.min_opt()), micros(told.max_opt())) else {
            return false;
        };
        first <= last && (last < from || first >= to)
    }

    fn read(&mut self, rows: &mut TableRows) -> Result<bool> {
        let more = self.open_group()?;
        rows.skipped = std::mem::take(&mut self.skipped);
        if !more {
            // What was left out at the end is told too.
            rows.count = 0;
            rows.bytes = self.size;
            return Ok(rows.skipped > 0);
        }
        let count = usize::try_from(self.left).map_or(ROWS, |left| left.min(ROWS));
        rows.count = count;
        rows.columns
            .resize_with(self.wanted.len(), || Cells::Numbers(Vec::new()));
        let columns = &self.columns;
        let jobs: Vec<Job> = self
            .lanes
            .iter_mut()
            .zip(&self.wanted)
            .zip(&mut rows.columns)
            .filter_map(|((lane, &at), cells)| Some((lane, columns.get(at)?, cells)))
            .collect();
        unpack(jobs, count)?;
        self.left -= count as u64;
        self.given += count as u64;
        let share = self.given as f64 / self.rows.max(1) as f64;
        rows.bytes = (share * self.size as f64) as u64;
        Ok(true)
    }
}

impl<R: Apart> Table for ParquetLog<R> {
    fn columns(&self) -> Vec<TableColumn> {
        let told = |column: &Column| TableColumn {
            name: column.name.clone(),
            holds: column.kind.holds(),
        };
        self.columns.iter().map(told).collect()
    }

    fn choose(&mut self, wanted: &[usize]) {
        self.wanted = wanted.to_vec();
    }

    fn within(&mut self, time: usize, from: i64, to: i64) {
        self.within = Some((time, from, to));
    }

    fn next(&mut self, rows: &mut TableRows) -> Result<bool, String> {
        caught(|| self.read(rows)).map_err(|error| {
            format!(
                "after row {} it is damaged or not whole: {}",
                self.given,
                words(&error)
            )
        })
    }
}

/// A column to be read, what it is, and where its cells go.
type Job<'a> = (&'a mut Lane, &'a Column, &'a mut Cells);

/// Fewer rows are sooner read than a thread is begun.
const WORTH_A_THREAD: usize = 4096;

/// Unpacks columns side by side on two threads: each takes the next that nobody has begun.
fn unpack(jobs: Vec<Job>, count: usize) -> Result<()> {
    let two = jobs.len() > 1 && count >= WORTH_A_THREAD;
    let next = Mutex::new(jobs.into_iter());
    let work = || {
        caught(|| {
            loop {
                let job = next.lock().unwrap_or_else(PoisonError::into_inner).next();
                let Some((lane, column, cells)) = job else {
                    return Ok(());
                };
                lane.read(column, count, cells)?;
            }
        })
    };
    if !two {
        return work();
    }
    std::thread::scope(|scope| {
        let other = scope.spawn(work);
        let own = work();
        // What trips is caught inside.
        let other = other.join().unwrap_or_else(|_| {
            Err(ParquetError::General(
                "its bytes contradict each other".to_owned(),
            ))
        });
        own.and(other)
    })
}

/// Reads one column of one row group.
struct Reader<T: DataType> {
    reader: ColumnReaderImpl<T>,
    values: Vec<T::T>,
    levels: Vec<i16>,
}

enum Lane {
    Bools(Reader<BoolType>),
    Ints(Reader<Int32Type>),
    Longs(Reader<Int64Type>),
    Stamps(Reader<Int96Type>),
    Floats(Reader<FloatType>),
    Doubles(Reader<DoubleType>),
    Bytes(Reader<ByteArrayType>),
    Fixed(Reader<FixedLenByteArrayType>),
}

impl<T: DataType> Reader<T> {
    fn open<R: Apart>(input: &Arc<R>, group: &RowGroupMetaData, at: usize) -> Result<Self> {
        let column = group.schema_descr().column(at);
        let chunk = group.column(at);
        let input = Arc::new(Bounded::of(input, chunk));
        let rows = usize::try_from(group.num_rows()).unwrap_or(0);
        let pages = SerializedPageReader::new(input, chunk, rows, None)?;
        let pages = Box::new(Checked(Box::new(pages)));
        Ok(Self {
            reader: ColumnReaderImpl::new(column, pages),
            values: Vec::new(),
            levels: Vec::new(),
        })
    }

    /// Reads so many cells; what is missing has a level below the whole one.
    fn read(&mut self, count: usize, whole: i16) -> Result<()> {
        self.values.clear();
        self.levels.clear();
        let levels = (whole > 0).then_some(&mut self.levels);
        let (records, values, _) =
            self.reader
                .read_records(count, levels, None, &mut self.values)?;
        let told = if whole > 0 {
            self.levels.iter().filter(|&&level| level == whole).count()
        } else {
            count
        };
        if records != count || values != told || self.values.len() != told {
            return Err(ParquetError::General(
                "a column has fewer cells than its row group has rows".to_owned(),
            ));
        }
        Ok(())
    }

    /// Each cell in turn; `None` is missing.
    fn each(&self, whole: i16, mut cell: impl FnMut(Option<&T::T>)) {
        if self.values.len() == self.levels.len() || whole == 0 {
            self.values.iter().for_each(|value| cell(Some(value)));
            return;
        }
        let mut values = self.values.iter();
        for &level in &self.levels {
            cell(if level == whole { values.next() } else { None });
        }
    }

    fn numbers(
        &mut self,
        (count, whole): (usize, i16),
        into: &mut Cells,
        number: impl Fn(&T::T) -> f64,
    ) -> Result<()> {
        self.read(count, whole)?;
        let mut numbers = match std::mem::replace(into, Cells::Numbers(Vec::new())) {
            Cells::Numbers(numbers) => numbers,
            _ => Vec::new(),
        };
        numbers.clear();
        self.each(whole, |v| numbers.push(v.map_or(f64::NAN, &number)));
        *into = Cells::Numbers(numbers);
        Ok(())
    }

    fn times(
        &mut self,
        (count, whole): (usize, i16),
        into: &mut Cells,
        micros: impl Fn(&T::T) -> i64,
    ) -> Result<()> {
        self.read(count, whole)?;
        let mut times = match std::mem::replace(into, Cells::Numbers(Vec::new())) {
            Cells::Times(times) => times,
            _ => Vec::new(),
        };
        times.clear();
        self.each(whole, |v| times.push(v.map_or(Cells::NO_TIME, &micros)));
        *into = Cells::Times(times);
        Ok(())
    }
}

impl Reader<DoubleType> {
    /// Numbers that need no turning into numbers: if none is missing, they are handed over.
    fn doubles(&mut self, (count, whole): (usize, i16), into: &mut Cells) -> Result<()> {
        let Cells::Numbers(numbers) = into else {
            return self.numbers((count, whole), into, |&f| f);
        };
        self.read(count, whole)?;
        if self.values.len() == count {
            std::mem::swap(numbers, &mut self.values);
        } else {
            numbers.clear();
            self.each(whole, |v| numbers.push(v.copied().unwrap_or(f64::NAN)));
        }
        Ok(())
    }
}

impl Lane {
    fn open<R: Apart>(input: &Arc<R>, group: &RowGroupMetaData, at: usize) -> Result<Self> {
        let columns = group.schema_descr().columns();
        let Some(column) = columns.get(at).filter(|_| at < group.num_columns()) else {
            return Err(ParquetError::General(
                "a row group has fewer columns than the file".to_owned(),
            ));
        };
        Ok(match column.physical_type() {
            Type::BOOLEAN => Self::Bools(Reader::open(input, group, at)?),
            Type::INT32 => Self::Ints(Reader::open(input, group, at)?),
            Type::INT64 => Self::Longs(Reader::open(input, group, at)?),
            Type::INT96 => Self::Stamps(Reader::open(input, group, at)?),
            Type::FLOAT => Self::Floats(Reader::open(input, group, at)?),
            Type::DOUBLE => Self::Doubles(Reader::open(input, group, at)?),
            Type::BYTE_ARRAY => Self::Bytes(Reader::open(input, group, at)?),
            Type::FIXED_LEN_BYTE_ARRAY => Self::Fixed(Reader::open(input, group, at)?),
        })
    }

    fn read(&mut self, column: &Column, count: usize, into: &mut Cells) -> Result<()> {
        let kind = &column.kind;
        let cells = (count, column.whole);
        match (self, kind) {
            (Self::Bools(reader), _) => reader.numbers(cells, into, |&b| f64::from(u8::from(b))),
            (Self::Ints(reader), Kind::Unsigned) => {
                reader.numbers(cells, into, |&i| f64::from(i.cast_unsigned()))
            }
            (Self::Ints(reader), _) => reader.numbers(cells, into, |&i| kind.number(i.into())),
            (Self::Longs(reader), Kind::Stamp { .. }) => {
                reader.times(cells, into, |&stamp| kind.micros(stamp))
            }
            (Self::Longs(reader), Kind::Unsigned) => {
                reader.numbers(cells, into, |&i| i.cast_unsigned() as f64)
            }
            (Self::Longs(reader), _) => reader.numbers(cells, into, |&i| kind.number(i)),
            (Self::Stamps(reader), _) => reader.times(cells, into, Int96::to_micros),
            (Self::Floats(reader), _) => reader.numbers(cells, into, |&f| f.into()),
            (Self::Doubles(reader), _) => reader.doubles(cells, into),
            (Self::Bytes(reader), Kind::Text) => {
                reader.read(count, column.whole)?;
                let mut text = match std::mem::replace(into, Cells::Numbers(Vec::new())) {
                    Cells::Text(text) => text,
                    _ => TextCells::default(),
                };
                text.clear();
                reader.each(column.whole, |cell| {
                    text.push(cell.map_or(&[][..], ByteArray::data));
                });
                *into = Cells::Text(text);
                Ok(())
            }
            (Self::Bytes(reader), _) => reader.numbers(cells, into, |b| kind.long(b.data())),
            (Self::Fixed(reader), _) => {
                reader.numbers(cells, into, |b: &FixedLenByteArray| kind.long(b.data()))
            }
        }
    }
}
