//! The nameplate side of a plant as a station file. The truth stays out of it.
//!
//! Must not know: the true machines, faults, readings.

use crate::fans::FanPlate;
use crate::plant::{Machine, Plant};
use crate::weather::Climate;

/// The station file of a plant in a climate, in TOML.
#[must_use]
pub fn to_station_toml(plant: &Plant, climate: &Climate) -> String {
    let mut toml = String::from("calcant  = 1\n");
    let ids: Vec<String> = plant
        .machines
        .iter()
        .map(|m| format!("\"{}\"", m.id))
        .collect();
    toml.push_str(&format!(
        "air_path = [[{}], \"{}\", \"{}\", \"{}\", \"{}\"]\n",
        ids.join(", "),
        plant.receiver.id,
        plant.filter.id,
        plant.dryer.id,
        plant.header.id
    ));
    toml.push_str(&site(plant, climate));
    for (i, machine) in plant.machines.iter().enumerate() {
        toml.push_str(&machine_table(machine, i + 1));
    }
    toml.push_str(&air_line(plant));
    for task in &plant.tasks {
        let every = [("hours", task.every_hours), ("months", task.every_months)]
            .into_iter()
            .filter_map(|(word, n)| n.map(|n| format!("{word} = {n}")))
            .collect::<Vec<_>>()
            .join(", ");
        let hours = task
            .last_hours
            .map(|h| format!(", hours = {h}"))
            .unwrap_or_default();
        toml.push_str(&format!(
            "\n[[task]]\non    = \"{}\"\nwhat  = \"{}\"\nevery = {{ {every} }}\nlast  = {{ date = {}{hours} }}\n",
            task.on, task.what, task.last_date
        ));
    }
    toml
}

fn list(values: &[f64; 12], decimals: usize) -> String {
    values.map(|v| format!("{v:.decimals$}")).join(", ")
}

fn site(plant: &Plant, climate: &Climate) -> String {
    format!(
        r#"
[site]
name      = "{name}"
altitude  = "{altitude} m"
time_zone = "{zone}"
price     = {{ energy = 0.21, currency = "EUR", outage = 900 }}
carbon    = 0.18
hours     = "Mon-Fri 06:00-22:00; Sat 06:00-13:00"

[site.climate]
mean         = [{mean}]
mean_max     = [{max}]
humidity     = [{humidity}]
design_hot   = "{hot} degC"
design_humid = {{ temperature = "{damp_c} degC", humidity = {damp} }}
design_cold  = "{cold} degC"

[room]
ventilation = "{ventilation} m3/s"
ducted      = false
"#,
        name = plant.name,
        altitude = plant.altitude_m,
        zone = plant.time_zone,
        mean = list(&climate.mean_c, 0),
        max = list(&climate.mean_max_c, 0),
        humidity = list(&climate.humidity, 2),
        hot = climate.design_hot_c,
        damp_c = climate.design_humid.0,
        damp = climate.design_humid.1,
        cold = climate.design_cold_c,
        ventilation = plant.room.ventilation_m3_s,
    )
}

fn machine_table(machine: &Machine, order: usize) -> String {
    let plate = &machine.plate;
    format!(
        r#"
[[machine]]
id      = "{id}"
kind    = "oil-injected screw"
drive   = "belt"
control = "load/unload"
order   = {order}
rated   = {{ pressure = "{pressure:.1} bar(g)", fad = "{fad:.1} m3/min", power = "{power:.1} kW", humidity = 0.0 }}
band    = {{ load = "{load:.1} bar(g)", unload = "{unload:.1} bar(g)" }}
max_pressure   = "8.0 bar(g)"
unloaded_power = "{unloaded:.1} kW"
fan_power      = "{fan_kw:.1} kW"
blowdown       = "30 s"
motor     = {{ power = "{motor:.0} kW", voltage = "400 V", current = "{amps:.0} A", efficiency = 0.936, power_factor = 0.86, starts_per_hour = 10 }}
oil       = {{ grade = "VG 46", fill = "{oil:.0} L", held_at = "{held:.0} degC", warn = "105 degC", trip = "110 degC", life = "6000 h" }}
cooling   = {{ rated_ambient = "{rated:.0} degC", oil_approach = "{approach:.0} K", air_approach = "{air:.0} K", {fan}, mat = true }}
belt      = {{ section = "SPA", count = 3, driver = "160 mm", driven = "140 mm", centres = "520 mm", indicator = true }}
separator = {{ clean = "{clean:.1} bar", change = "{change:.1} bar", volume = "{tank:.0} L" }}
"#,
        id = machine.id,
        pressure = plate.pressure_bar_g,
        fad = plate.fad_m3_min,
        power = plate.power_kw,
        load = plate.load_bar_g,
        unload = plate.unload_bar_g,
        unloaded = plate.unloaded_kw,
        fan_kw = plate.fan_kw,
        fan = fan(plate.fan),
        motor = plate.motor_kw,
        // Common practice at 400 V: 1.8 A for each rated kilowatt.
        amps = 1.8 * plate.motor_kw,
        oil = plate.oil_l,
        held = plate.held_at_c,
        rated = plate.rated_ambient_c,
        approach = plate.oil_approach_k,
        air = plate.air_approach_k,
        clean = plate.separator_clean_bar,
        change = plate.separator_change_bar,
        tank = plate.separator_l,
    )
}

fn fan(fan: FanPlate) -> String {
    match fan {
        FanPlate::Constant => "fan = \"constant\"".to_owned(),
        FanPlate::OnOff(c) => format!("fan = \"on/off\", fan_held_at = \"{c:.0} degC\""),
        FanPlate::Variable(c) => format!("fan = \"variable\", fan_held_at = \"{c:.0} degC\""),
        FanPlate::Unknown => "fan = \"unknown\"".to_owned(),
    }
}

fn air_line(plant: &Plant) -> String {
    let drain = |id: &str, button: bool| {
        format!(
            "\n[[drain]]\nid = \"{id}.drain\"\nkind = \"level-sensed\"\ntest_button = {button}\n"
        )
    };
    let mut toml = format!(
        r#"
[[vessel]]
id = "{receiver}"
volume = "{volume:.0} L"
max_pressure = "11 bar(g)"
safety_valve = {{ set = "10.5 bar(g)", capacity = "{valve:.0} m3/min", due = 2027-03-01 }}
inspection   = {{ last = 2024-05-10, due = 2028-05-10 }}

[[filter]]
id = "{filter}"
rated  = {{ flow = "{filter_flow:.1} m3/min", pressure = "7 bar(g)" }}
clean  = "{clean:.2} bar"
change = "{change:.2} bar"

[[dryer]]
id        = "{dryer}"
kind      = "refrigeration"
dew_point = "{dew:.0} degC"
drop      = "{drop:.1} bar"
power     = "{power:.1} kW"
rated     = {{ flow = "{dryer_flow:.1} m3/min", pressure = "7 bar(g)", inlet = "35 degC", ambient = "25 degC" }}

[[header]]
id = "{header}"
wanted = "{wanted:.1} bar(g)"
coldest = "{coldest:.0} degC"
volume = "{pipes:.0} L"
"#,
        receiver = plant.receiver.id,
        valve = 1.15
            * plant
                .machines
                .iter()
                .map(|m| m.plate.fad_m3_min)
                .sum::<f64>(),
        volume = plant.receiver.volume_m3 * 1000.0,
        filter = plant.filter.id,
        filter_flow = plant.filter.rated_m3_min,
        clean = plant.filter.clean_bar,
        change = plant.filter.change_bar,
        dryer = plant.dryer.id,
        dew = plant.dryer.dew_point_c,
        drop = plant.dryer.drop_bar,
        power = plant.dryer.power_kw,
        dryer_flow = plant.dryer.rated_m3_min,
        header = plant.header.id,
        wanted = plant.header.wanted_bar_g,
        coldest = plant.header.coldest_c,
        pipes = plant.header.volume_m3 * 1000.0,
    );
    for machine in &plant.machines {
        toml.push_str(&drain(&machine.id, false));
    }
    toml.push_str(&drain(&plant.receiver.id, true));
    toml.push_str(&drain(&plant.dryer.id, true));
    toml
}
