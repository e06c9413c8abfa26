//! Pictures and pages from a judgement: data in, self-contained SVG and HTML out.
//!
//! [`air_line()`] draws where the pressure goes and where the water falls out, place by place from
//! the intake to the header. [`chart()`] draws one drift over time, with what is to come. [`page()`]
//! lays a judgement, and what a long log shows, out on one page that needs no network and no script
//! and prints well. All carry their own style for light, dark and print, and say in words everything
//! that they show.
//!
//! Sentences that judge come from `judge`; here they only find their place.
//!
//! Must not know: files, the clock, how a band was made.

pub mod air_line;
pub mod chart;
mod frame;
mod html;
mod label;
pub mod log;
mod measure;
pub mod page;
mod rules;
mod scale;
mod svg;
pub mod units;

pub use air_line::{AirLine, PlaceBand, PlaceReading, What, air_line};
pub use chart::{Drawn, chart};
pub use log::{Fact, Figure, HourOfWeek, Logged, PressureDay};
pub use page::{Report, Rows, StationReport, page};
pub use units::Units;
