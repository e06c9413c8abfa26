//! What a column of a file holds, and how its cells become numbers, times or text.
//!
//! Must not know: pages, rows.

use parquet::basic::{ConvertedType, LogicalType, TimeUnit, Type};
use parquet::schema::types::ColumnDescriptor;
use study::table::{Cells, Holds};

/// How the cells of a column are to be understood.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Kind {
    /// Numbers, signed where they are whole.
    Number,
    /// Whole numbers without a sign.
    Unsigned,
    /// Whole numbers, each to be divided by this power of ten.
    Decimal(f64),
    Text,
    /// Stamps: so many of them are a second, and whether they are moments in UTC.
    Stamp {
        a_second: i64,
        utc: bool,
    },
    /// What a log cannot use.
    Other(&'static str),
}

/// The longest whole number that is read as a decimal.
const LONGEST_DECIMAL: i32 = 16;

impl Kind {
    pub(crate) fn of(column: &ColumnDescriptor) -> Self {
        if column.max_rep_level() > 0 {
            return Self::Other("lists");
        }
        let physical = column.physical_type();
        let logical = column.logical_type_ref();
        let converted = column.converted_type();
        let decimal = match logical {
            Some(LogicalType::Decimal(decimal)) => Some(decimal.scale),
            None if converted == ConvertedType::DECIMAL => Some(column.type_scale()),
            _ => None,
        };
        if let Some(scale) = decimal {
            let fits = match physical {
                Type::FIXED_LEN_BYTE_ARRAY => column.type_length() <= LONGEST_DECIMAL,
                Type::FLOAT | Type::DOUBLE | Type::BOOLEAN | Type::INT96 => false,
                _ => true,
            };
            return if fits && (0..=38).contains(&scale) {
                Self::Decimal(10_f64.powi(scale))
            } else {
                Self::Other("decimals of more digits than can be read")
            };
        }
        match physical {
            Type::BOOLEAN | Type::FLOAT | Type::DOUBLE => Self::Number,
            Type::INT32 | Type::INT64 => whole(logical, converted),
            // An older way to write stamps, always in UTC where it is still met.
            Type::INT96 => Self::Stamp {
                a_second: 1_000_000,
                utc: true,
            },
            Type::BYTE_ARRAY => match (logical, converted) {
                (Some(LogicalType::String | LogicalType::Enum), _)
                | (None, ConvertedType::UTF8 | ConvertedType::ENUM | ConvertedType::NONE) => {
                    Self::Text
                }
                _ => Self::Other("raw bytes"),
            },
            Type::FIXED_LEN_BYTE_ARRAY => match logical {
                Some(LogicalType::Float16) => Self::Other("numbers of half precision"),
                _ => Self::Other("raw bytes"),
            },
        }
    }

    pub(crate) fn holds(&self) -> Holds {
        match self {
            Self::Number | Self::Unsigned | Self::Decimal(_) => Holds::Numbers,
            Self::Text => Holds::Text,
            Self::Stamp { utc: true, .. } => Holds::Moments,
            Self::Stamp { utc: false, .. } => Holds::LocalTimes,
            Self::Other(what) => Holds::Other((*what).to_owned()),
        }
    }

    /// A whole number as a number of its column.
    pub(crate) fn number(&self, whole: i64) -> f64 {
        match self {
            Self::Decimal(tens) => whole as f64 / tens,
            _ => whole as f64,
        }
    }

    /// A stamp in microseconds; one that no clock can show is missing.
    pub(crate) fn micros(&self, stamp: i64) -> i64 {
        let micros = match self {
            Self::Stamp { a_second, .. } if *a_second > 1_000_000 => {
                Some(stamp.div_euclid(a_second / 1_000_000))
            }
            Self::Stamp { a_second, .. } if *a_second > 0 => {
                stamp.checked_mul(1_000_000 / a_second)
            }
            _ => None,
        };
        micros.unwrap_or(Cells::NO_TIME)
    }

    /// A whole number of many bytes, the highest first, as a number of its column.
    pub(crate) fn long(&self, bytes: &[u8]) -> f64 {
        let Some(&first) = bytes.first() else {
            return f64::NAN;
        };
        if bytes.len() > LONGEST_DECIMAL as usize {
            return f64::NAN;
        }
        let sign = if first & 0x80 == 0 { 0 } else { -1 };
        let whole = bytes
            .iter()
            .fold(sign, |whole: i128, &byte| (whole << 8) | i128::from(byte));
        match self {
            Self::Decimal(tens) => whole as f64 / tens,
            _ => f64::NAN,
        }
    }
}

fn whole(logical: Option<&LogicalType>, converted: ConvertedType) -> Kind {
    let stamp = |a_second, utc| Kind::Stamp { a_second, utc };
    match (logical, converted) {
        (Some(LogicalType::Timestamp(stamps)), _) => {
            let a_second = match stamps.unit {
                TimeUnit::MILLIS => 1_000,
                TimeUnit::MICROS => 1_000_000,
                TimeUnit::NANOS => 1_000_000_000,
            };
            stamp(a_second, stamps.is_adjusted_to_u_t_c)
        }
        (Some(LogicalType::Integer(integer)), _) if !integer.is_signed => Kind::Unsigned,
        (Some(LogicalType::Integer(_)), _) => Kind::Number,
        (Some(LogicalType::Date), _) | (None, ConvertedType::DATE) => {
            Kind::Other("dates without a time of day")
        }
        (Some(LogicalType::Time(_)), _)
        | (None, ConvertedType::TIME_MILLIS | ConvertedType::TIME_MICROS) => {
            Kind::Other("times of day without a date")
        }
        (None, ConvertedType::TIMESTAMP_MILLIS) => stamp(1_000, true),
        (None, ConvertedType::TIMESTAMP_MICROS) => stamp(1_000_000, true),
        (
            None,
            ConvertedType::UINT_8
            | ConvertedType::UINT_16
            | ConvertedType::UINT_32
            | ConvertedType::UINT_64,
        ) => Kind::Unsigned,
        (None, _) => Kind::Number,
        _ => Kind::Other("what no log holds"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_become_microseconds() {
        let of = |a_second, stamp| {
            Kind::Stamp {
                a_second,
                utc: true,
            }
            .micros(stamp)
        };
        assert_eq!(of(1_000, 1_500), 1_500_000);
        assert_eq!(of(1_000_000, -7), -7);
        // Never rounded up into the next microsecond.
        assert_eq!(of(1_000_000_000, 1_999), 1);
        assert_eq!(of(1_000_000_000, -1), -1);
        assert_eq!(of(1_000, i64::MAX), Cells::NO_TIME);
    }

    #[test]
    fn decimals_become_numbers() {
        let tenths = Kind::Decimal(10.0);
        assert!((tenths.number(334) - 33.4).abs() < 1e-12);
        assert!((tenths.long(&[0x01, 0x4E]) - 33.4).abs() < 1e-12);
        assert!((tenths.long(&[0xFF, 0xFF]) + 0.1).abs() < 1e-12);
        assert!(tenths.long(&[]).is_nan() && tenths.long(&[0; 17]).is_nan());
    }
}
