//! One file per kind of finding: how it is decided. Its page, for users, stands in `pages/`.
//!
//! Must not know: JSON, files, colours.

mod belt_slack;
mod cooling_lost;
mod delivery_short;
mod design;
mod dew_point_high;
pub(crate) mod drain_blocked;
mod drain_passing;
mod filter_breached;
mod filter_loaded;
mod gauge_suspect;
mod intake_choked;
pub(crate) mod leakage;
mod observation;
mod oil_aged;
mod oil_carryover;
mod oil_cool_wet;
mod oil_hot;
mod oil_level;
mod power_high;
mod pressure_short;
pub(crate) mod room_hot;
mod separator_loaded;
mod service_due;
mod short_cycling;
pub(crate) mod thermostat;
mod unloaded_power_high;
mod water_downstream;

pub(crate) use cooling_lost::in_the_hot_season;
pub(crate) use gauge_suspect::{SWAPPED, ask_about};
use jiff::Timestamp;
pub(crate) use separator_loaded::change_step;
use station::model::Asset;

use crate::context::Context;
pub(crate) use crate::cost::price;
use crate::finding::{Finding, Kind};
use crate::safety::{before_the_cabinet, hand_back};

/// Every kind in turn.
pub(crate) fn look(ctx: &mut Context<'_>) {
    for kind in Kind::ALL {
        match kind {
            Kind::OilHot => oil_hot::look(ctx),
            Kind::OilCoolWet => oil_cool_wet::look(ctx),
            Kind::CoolingLost => cooling_lost::look(ctx),
            Kind::Thermostat => thermostat::look(ctx),
            Kind::DeliveryShort => delivery_short::look(ctx),
            Kind::PowerHigh => power_high::look(ctx),
            Kind::UnloadedPowerHigh => unloaded_power_high::look(ctx),
            Kind::BeltSlack => belt_slack::look(ctx),
            Kind::SeparatorLoaded => separator_loaded::look(ctx),
            Kind::IntakeChoked => intake_choked::look(ctx),
            Kind::FilterLoaded => filter_loaded::look(ctx),
            Kind::FilterBreached => filter_breached::look(ctx),
            Kind::DewPointHigh => dew_point_high::look(ctx),
            Kind::WaterDownstream => water_downstream::look(ctx),
            Kind::DrainBlocked => drain_blocked::look(ctx),
            Kind::DrainPassing => drain_passing::look(ctx),
            Kind::Leakage => leakage::look(ctx),
            Kind::PressureShort => pressure_short::look(ctx),
            Kind::ShortCycling => short_cycling::look(ctx),
            Kind::RoomHot => room_hot::look(ctx),
            Kind::OilLevel => oil_level::look(ctx),
            Kind::OilCarryover => oil_carryover::look(ctx),
            Kind::OilAged => oil_aged::look(ctx),
            Kind::Observation => observation::look(ctx),
            Kind::ServiceDue => service_due::look(ctx),
            Kind::GaugeSuspect => gauge_suspect::look(ctx),
            Kind::Design => design::look(ctx),
        }
    }
}

/// A finding with everything that a kind need not say left empty.
pub(crate) fn draft(
    ctx: &Context<'_>,
    kind: Kind,
    subject: Asset,
    part: &str,
    since: Option<Timestamp>,
) -> Finding {
    Finding::draft(ctx.station, kind, subject, part, since)
}

/// Says that the machine has to be isolated, with the steps of it and of handing back.
pub(crate) fn isolate(finding: &mut Finding, ctx: &Context<'_>, machine: usize) {
    finding.isolate = true;
    finding.cautions = before_the_cabinet(ctx.station, machine, ctx.units);
    // The last word stays with local codes.
    let last = finding.cautions.len().saturating_sub(1);
    finding.cautions.insert(last, hand_back());
}
