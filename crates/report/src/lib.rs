//! Pictures from a judgement: data in, self-contained SVG out.
//!
//! [`air_line()`] draws where the pressure goes and where the water falls out, place by place from
//! the intake to the header. The picture carries its own style for light, dark and print, needs no
//! font and no script, and says in words everything that it shows.
//!
//! Must not know: files, the clock, readings' history, how a band was made.

pub mod air_line;
mod label;
mod scale;
mod svg;
pub mod units;

pub use air_line::{AirLine, PlaceBand, PlaceReading, What, air_line};
pub use units::Units;
