//! What the station file says of a thing, as far as findings speak of it.
//!
//! Must not know: readings, findings.

use judge::Finding;
use judge::say::{Units, grouped, round};
use station::model::{Asset, Machine, Station};

/// Limits and plate values of a thing; empty where there are none.
pub(super) fn of(station: &Station, asset: Asset, units: Units) -> Vec<String> {
    let mut facts = match asset {
        Asset::Machine(i) => station
            .machines
            .get(i)
            .map(|m| machine(m, units))
            .unwrap_or_default(),
        Asset::Filter(i) => station
            .filters
            .get(i)
            .map(|f| {
                vec![
                    format!("clean {} at rated flow", units.drop(f.clean.value.si())),
                    format!("change at {}", units.drop(f.change.si())),
                ]
            })
            .unwrap_or_default(),
        Asset::Vessel(i) => station
            .vessels
            .get(i)
            .map(|v| {
                let valve = v.safety_valve.as_ref();
                std::iter::once(format!(
                    "maximum pressure {}",
                    units.gauge(v.max_pressure.si())
                ))
                .chain(valve.map(|v| format!("safety valve set at {}", units.gauge(v.set.si()))))
                .collect()
            })
            .unwrap_or_default(),
        Asset::Header(i) => {
            let wanted = station.headers.get(i).and_then(|h| h.wanted);
            let most = station.machines.iter().map(|m| {
                let most = units.gauge(m.max_pressure.si());
                format!("maximum pressure of {} {most}", m.id)
            });
            let wanted = wanted.map(|p| format!("wanted {}", units.gauge(p.si())));
            wanted.into_iter().chain(most).collect()
        }
        _ => Vec::new(),
    };
    let climate = station.site.climate.as_ref();
    if let (Asset::Machine(_), Some(climate)) = (asset, climate) {
        let (hot, _) = climate.hottest();
        facts.push(format!("design-hot day {}", units.temperature(hot.si())));
    }
    facts
}

/// What an hour without air costs, where the finding says so.
pub(super) fn outage(station: &Station, f: &Finding) -> Option<String> {
    let price = station.site.price.as_ref()?;
    let outage = price.outage_per_h?;
    let said = f.cost.why_not.as_ref()?.contains("an hour without air");
    said.then(|| {
        format!(
            "an hour without air costs {} {}",
            grouped(outage),
            price.currency
        )
    })
}

fn machine(m: &Machine, units: Units) -> Vec<String> {
    let fill = m.oil.fill_l.map(|l| format!("oil fill {} L", round(l, 0)));
    let mut facts = vec![
        format!("maximum pressure {}", units.gauge(m.max_pressure.si())),
        format!(
            "oil held at {}",
            units.temperature(m.oil.held_at.value.si())
        ),
        format!("warning at {}", units.temperature(m.oil.warn.si())),
        format!("trip at {}", units.temperature(m.oil.trip.si())),
        format!("oil life {} h", grouped(m.oil.life_h.value)),
        format!(
            "separator clean {}",
            units.drop(m.separator.clean.value.si())
        ),
        format!("changed at {}", units.drop(m.separator.change.si())),
    ];
    facts.extend(fill);
    facts
}
