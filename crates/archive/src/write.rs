//! Writing rows that come in the order of time: zstd, a row group for each day.
//!
//! Must not know: units, time zones, where files stand.

use std::io::Write;
use std::sync::Arc;

use parquet::basic::{Compression, Encoding, LogicalType, Repetition, TimeUnit, Type, ZstdLevel};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int32Type, Int64Type};
use parquet::errors::Result;
use parquet::file::metadata::{KeyValue, SortingColumn};
use parquet::file::properties::{WriterProperties, WriterVersion};
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::{ColumnPath, Type as Schema};

/// So many rows fit into a row group; a day with more takes several.
pub const ROWS_OF_A_GROUP: usize = 1 << 22;

/// What stands in a file.
#[derive(Debug, Clone, Default)]
pub struct Layout {
    /// The columns of values, by name.
    pub columns: Vec<String>,
    /// A column `station` that says this in every row, and a column `day`.
    pub station: Option<String>,
    /// Words about the file, by key.
    pub notes: Vec<(String, String)>,
}

/// Rows of one day, in order.
#[derive(Debug, Clone, Copy)]
pub struct DayRows<'a> {
    /// Days from 1 January 1970 to the local date.
    pub day: i32,
    /// Times in UTC, µs.
    pub times: &'a [i64],
    /// The values of each column; NaN is missing.
    pub columns: &'a [Vec<f64>],
}

/// Writes one file.
pub struct DayWriter<W: Write + Send> {
    file: SerializedFileWriter<W>,
    station: Option<ByteArray>,
}

fn schema(layout: &Layout) -> Result<Schema> {
    let mut fields = Vec::new();
    if layout.station.is_some() {
        let station = Schema::primitive_type_builder("station", Type::BYTE_ARRAY)
            .with_repetition(Repetition::REQUIRED)
            .with_logical_type(Some(LogicalType::String));
        let day = Schema::primitive_type_builder("day", Type::INT32)
            .with_repetition(Repetition::REQUIRED)
            .with_logical_type(Some(LogicalType::Date));
        fields.extend([Arc::new(station.build()?), Arc::new(day.build()?)]);
    }
    let time = Schema::primitive_type_builder("time", Type::INT64)
        .with_repetition(Repetition::REQUIRED)
        .with_logical_type(Some(LogicalType::timestamp(true, TimeUnit::MICROS)));
    fields.push(Arc::new(time.build()?));
    for name in &layout.columns {
        let column = Schema::primitive_type_builder(name, Type::DOUBLE)
            .with_repetition(Repetition::OPTIONAL);
        fields.push(Arc::new(column.build()?));
    }
    Schema::group_type_builder("log")
        .with_fields(fields)
        .build()
}

fn properties(layout: &Layout) -> Result<WriterProperties> {
    let note = |(key, words): &(String, String)| KeyValue::new(key.clone(), words.clone());
    let notes: Vec<KeyValue> = layout.notes.iter().map(note).collect();
    let sorted = SortingColumn {
        column_idx: if layout.station.is_some() { 2 } else { 0 },
        descending: false,
        nulls_first: false,
    };
    let time = ColumnPath::new(vec!["time".to_owned()]);
    Ok(WriterProperties::builder()
        .set_writer_version(WriterVersion::PARQUET_1_0)
        .set_created_by(concat!("calcant ", env!("CARGO_PKG_VERSION")).to_owned())
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(3)?))
        .set_column_dictionary_enabled(time.clone(), false)
        .set_column_encoding(time, Encoding::DELTA_BINARY_PACKED)
        .set_sorting_columns(Some(vec![sorted]))
        .set_key_value_metadata((!notes.is_empty()).then_some(notes))
        .build())
}

impl<W: Write + Send> DayWriter<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn new(to: W, layout: &Layout) -> Result<Self> {
        let schema = Arc::new(schema(layout)?);
        let properties = Arc::new(properties(layout)?);
        let station = layout.station.as_deref();
        Ok(Self {
            file: SerializedFileWriter::new(to, schema, properties)?,
            station: station.map(ByteArray::from),
        })
    }

    /// Writes rows as a row group.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn group(&mut self, rows: DayRows<'_>) -> Result<()> {
        let mut group = self.file.next_row_group()?;
        let count = rows.times.len();
        if let Some(station) = &self.station {
            let mut column = next(&mut group)?;
            let texts = vec![station.clone(); count];
            column
                .typed::<ByteArrayType>()
                .write_batch(&texts, None, None)?;
            column.close()?;
            let mut column = next(&mut group)?;
            let days = vec![rows.day; count];
            column.typed::<Int32Type>().write_batch(&days, None, None)?;
            column.close()?;
        }
        let mut column = next(&mut group)?;
        column
            .typed::<Int64Type>()
            .write_batch(rows.times, None, None)?;
        column.close()?;
        for values in rows.columns {
            let levels: Vec<i16> = values.iter().map(|v| i16::from(!v.is_nan())).collect();
            let present: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
            let mut column = next(&mut group)?;
            column
                .typed::<DoubleType>()
                .write_batch(&present, Some(&levels), None)?;
            column.close()?;
        }
        group.close()?;
        Ok(())
    }

    /// Ends the file.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn end(self) -> Result<W> {
        self.file.into_inner()
    }
}

fn next<'a, W: Write + Send>(
    group: &'a mut SerializedRowGroupWriter<'_, W>,
) -> Result<parquet::file::writer::SerializedColumnWriter<'a>> {
    group.next_column()?.ok_or_else(|| {
        parquet::errors::ParquetError::General("more columns than were named".to_owned())
    })
}
