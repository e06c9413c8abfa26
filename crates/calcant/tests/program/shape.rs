//! The shapes of the JSON, version 1, as tables of paths and types, and the walk that holds an
//! answer to them. Keys beyond the tables are allowed: the shapes may be extended, not broken.

use serde_json::Value;

/// Path and type of every key of `judge --json` for one station.
///
/// `[]` is every item of a list; `?` allows null; `band` is an object with `low`, `mid`, `high`
/// in that order of size. Below a null nothing is wanted.
pub(crate) const JUDGED: &str = "
calcant                                  one
station                                  text
as_of                                    moment?
rounds                                   object
rounds.read                              count
rounds.accepted                          count
rounds.rejected_total                    count
rounds.rejected                          list
rounds.rejected[].line                   count
rounds.rejected[].column                 text
rounds.rejected[].problem                text
rounds.rejected[].hint                   text
expectations                             list
expectations[].point                     point
expectations[].unit                      text
expectations[].read                      number
expectations[]                           band
expectations[].deviations                number
findings                                 list
findings[].id                            text
findings[].subject                       text
findings[].kind                          kind
findings[].urgency                       urgency
findings[].title                         text
findings[].since                         day?
findings[].evidence                      list
findings[].evidence[].point              point
findings[].evidence[].unit               text
findings[].evidence[].read               number
findings[].evidence[].mid                number?
findings[].evidence[].deviations         number?
findings[].health                        object?
findings[].health.what                   text
findings[].health.unit                   text
findings[].health.value                  number
findings[].health.low                    number
findings[].health.high                   number
findings[].health.per_month              number?
findings[].limit                         object?
findings[].limit.what                    text
findings[].limit.earliest                day?
findings[].limit.likely                  day?
findings[].limit.latest                  day?
findings[].cost                          object
findings[].cost.per_year                 number?
findings[].cost.currency                 text?
findings[].cost.kwh_per_year             number?
findings[].cost.why_not                  text?
findings[].causes                        list
findings[].causes[].cause                text
findings[].causes[].probability          share
findings[].next_check                    text?
findings[].action                        text
findings[].isolate                       bool
findings[].cautions                      list
findings[].cautions[]                    text
findings[].working                       some
findings[].working[].name                text
findings[].working[].formula             text
findings[].working[].numbers             text
findings[].working[].value               number
findings[].working[].unit                text
findings[].working[].source              text
not_judged                               list
not_judged[].what                        text
not_judged[].why                         text
not_judged[].working                     list
drifts                                   list
drifts[].subject                         text
drifts[].what                            text
drifts[].unit                            text
drifts[].level                           number
drifts[].level_sigma                     number
drifts[].per_month                       number
drifts[].per_month_sigma                 number
drifts[].limit                           number?
drifts[].course                          list
drifts[].course[]                        number
levels                                   list
levels[].point                           text
levels[].state                           text?
levels[].unit                            text
levels[].over                            number
levels[].sigma                           number
levels[].scatter                         number
levels[].readings                        number
levels[].cusum                           number
levels[].cusum_since                     moment?
levels[].ewma                            number
";

/// What `--if-hot` adds to it.
pub(crate) const IF_HOT: &str = "
if_hot                         list
if_hot[].id                    text
if_hot[].oil_temperature_degC  band
if_hot[].p_warn                share
if_hot[].p_trip                share
";

/// Path and type of every key of `expect --json`.
pub(crate) const EXPECTED: &str = "
calcant                                      one
conditions                                   object
conditions.ambient_degC                      number
conditions.humidity                          share
conditions.atmosphere_bar_a                  number
conditions.duty                              object
places                                       list
places[].id                                  text
places[].pressure_bar_g                      number
places[].temperature_degC                    number
places[].dew_point_degC                      number
places[].free_air_m3_min                     number
places[].vapour_g_per_kg                     number
places[].liquid_L_h                          number
places[].liquid_L_day                        number
places[].water_class                         text
machines                                     list
machines[].id                                text
machines[].oil_temperature_degC              band?
machines[].outlet_temperature_degC           band
machines[].power_kW                          band
machines[].fad_m3_min                        band
machines[].specific_power_kW_min_m3          band
machines[].lowest_safe_oil_temperature_degC  number?
machines[].design_hot_oil_temperature_degC   number?
drains                                       list
drains[].id                                  text
drains[].owed_L_h                            number
drains[].owed_L_day                          number
";

/// The kinds, spelt out: a kind that loses its name breaks whoever relies on it.
const KINDS: &str = "oil-hot oil-cool-wet cooling-lost thermostat delivery-short power-high \
    unloaded-power-high belt-slack separator-loaded intake-choked filter-loaded filter-breached \
    dew-point-high water-downstream drain-blocked drain-passing leakage pressure-short \
    short-cycling room-hot oil-level oil-carryover oil-aged observation service-due gauge-suspect \
    design";

pub(crate) fn kinds() -> Vec<&'static str> {
    KINDS.split_whitespace().collect()
}

/// Says what of an answer is not as the table has it.
pub(crate) fn wrong(table: &str, answer: &Value) -> Vec<String> {
    let mut wrong = Vec::new();
    for line in table.lines().filter(|line| !line.is_empty()) {
        let mut words = line.split_whitespace();
        let (Some(path), Some(kind), None) = (words.next(), words.next(), words.next()) else {
            panic!("the table has a line that is not `path type`: {line}");
        };
        walk(answer, path, kind, path, &mut wrong);
    }
    infinite(answer, &mut wrong);
    wrong
}

fn walk(at: &Value, rest: &str, kind: &str, path: &str, wrong: &mut Vec<String>) {
    if rest.is_empty() {
        if !is(at, kind) {
            wrong.push(format!("{path} is {at}, and {kind} is wanted"));
        }
        return;
    }
    if at.is_null() {
        // Whether null is allowed there is said by the line of the path that leads there.
        return;
    }
    if let Some(rest) = rest.strip_prefix("[]") {
        let rest = rest.strip_prefix('.').unwrap_or(rest);
        for item in at.as_array().into_iter().flatten() {
            walk(item, rest, kind, path, wrong);
        }
        return;
    }
    let end = rest.find(['.', '[']).unwrap_or(rest.len());
    let (key, rest) = rest.split_at(end);
    let rest = rest.strip_prefix('.').unwrap_or(rest);
    match at.get(key) {
        Some(value) => walk(value, rest, kind, path, wrong),
        None => wrong.push(format!("{path} is lacking")),
    }
}

fn is(value: &Value, kind: &str) -> bool {
    if let Some(kind) = kind.strip_suffix('?') {
        return value.is_null() || is(value, kind);
    }
    let text = value.as_str();
    let number = value.as_f64();
    match kind {
        "one" => value.as_u64() == Some(1),
        "text" => text.is_some(),
        "number" => number.is_some_and(f64::is_finite),
        "share" => number.is_some_and(|n| (0.0..=1.0).contains(&n)),
        "count" => value.is_u64(),
        "bool" => value.is_boolean(),
        "object" => value.is_object(),
        "list" => value.is_array(),
        "some" => value.as_array().is_some_and(|list| !list.is_empty()),
        "band" => {
            let of = |key: &str| value.get(key).and_then(Value::as_f64);
            matches!((of("low"), of("mid"), of("high")),
                (Some(low), Some(mid), Some(high)) if low <= mid && mid <= high)
        }
        "point" => text.is_some_and(|t| {
            t.split_once('.')
                .is_some_and(|(a, p)| !a.is_empty() && !p.is_empty())
        }),
        "kind" => text.is_some_and(|t| kinds().contains(&t)),
        "urgency" => matches!(text, Some("now" | "this week" | "next service" | "watch")),
        "day" => text.is_some_and(|t| fits(t, "0000-00-00")),
        "moment" => text.is_some_and(|t| {
            fits(t, "0000-00-00T00:00:00+00:00") || fits(t, "0000-00-00T00:00:00-00:00")
        }),
        other => panic!("the table names an unknown type `{other}`"),
    }
}

/// Whether a text has digits where the pattern has `0`, and its other characters elsewhere.
fn fits(text: &str, pattern: &str) -> bool {
    text.len() == pattern.len()
        && text.chars().zip(pattern.chars()).all(|(c, p)| match p {
            '0' => c.is_ascii_digit(),
            p => c == p,
        })
}

/// A number that is no number anywhere, also under keys that the tables do not name.
fn infinite(value: &Value, wrong: &mut Vec<String>) {
    match value {
        Value::Number(n) if !n.as_f64().is_some_and(f64::is_finite) => {
            wrong.push(format!("{n} is no finite number"));
        }
        Value::Array(list) => list.iter().for_each(|v| infinite(v, wrong)),
        Value::Object(map) => map.values().for_each(|v| infinite(v, wrong)),
        _ => {}
    }
}

#[test]
fn the_walk_finds_what_is_wrong() {
    let answer = serde_json::json!({ "a": [{ "b": 1 }, { "b": null }, {}], "c": null });
    let wrong = wrong(
        "a[].b number\nc.d text\nc object?\na some\ne list\n",
        &answer,
    );
    assert_eq!(
        wrong,
        [
            "a[].b is null, and number is wanted",
            "a[].b is lacking",
            "e is lacking"
        ]
    );
    assert!(!is(&serde_json::json!("steady"), "urgency"));
    assert!(!is(
        &serde_json::json!({ "low": 2, "mid": 1, "high": 3 }),
        "band"
    ));
    assert!(!is(&serde_json::json!("2026-7-14"), "day"));
    assert!(!is(&serde_json::json!(-1), "count"));
}
