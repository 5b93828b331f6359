//! What a value may be at all: bounds for every number that a person writes, so that a slip is refused where it stands.
//! Never: judges a design; whatever could be built is let through, however unwise.
//! Start at [`INTENT`] and [`PARTS`].

use serde::Serialize;
use serde_json::Value;

use crate::read::Problem;
use crate::{SourceText, Spans};

/// A path and the least and most that may stand there, in the unit in which the quantity is written to JSON.
///
/// In a path `*` stands for any one name. The first row that fits counts.
pub type Range = (&'static str, f64, f64);

/// Bounds of intent.toml. Common sense of the trade, no source: wider than anything built in a vehicle, boat or hut.
#[rustfmt::skip]
pub const INTENT: &[Range] = &[
    ("brief.people", 0.0, 1000.0),
    ("brief.autonomy", 0.0, 8760.0),
    ("brief.payload", 0.0, 100_000.0),
    ("brief.voltage", 12.0, 48.0),
    ("brief.place.latitude", -90.0, 90.0),
    ("brief.place.longitude", -180.0, 180.0),
    ("brief.place.altitude", -450.0, 6000.0),
    ("brief.running_out", 0.0, 1.0),
    ("brief.bank_years", 1.0, 40.0),
    ("calendar.days_per_week", 1.0, 7.0),
    ("weather.horizon.*", 0.0, 90.0),
    ("weather.ground", 0.0, 1.0),
    ("solar.*.space.*", 0.1, 100.0),
    ("solar.*.dirt", 0.0, 0.9),
    ("solar.*.shade.*.direction", -360.0, 360.0),
    ("solar.*.shade.*.distance", 0.01, 1000.0),
    ("solar.*.shade.*.height", 0.0, 100.0),
    ("solar.*.shade.*.width", 0.01, 1000.0),
    ("solar.*.shade.*.loss", 0.0, 1.0),
    ("engine.drive_every", 1.0, 365.0),
    ("shore.every", 1.0, 365.0),
    ("generator.start_below", 0.0, 1.0),
    ("generator.stop_above", 0.0, 1.0),
    ("zones.*.coldest", -60.0, 100.0),
    ("zones.*.hottest", -60.0, 100.0),
    ("bank.capacity", 1.0, 100_000.0),
    ("bank.series", 1.0, 100.0),
    ("bank.parallel", 1.0, 100.0),
    ("bank.usable", 0.05, 1.0),
    ("bank.battery_voltage", 1.0, 1000.0),
    ("bank.battery_capacity", 1.0, 100_000.0),
    ("bank.battery_charge_limit", 0.1, 10_000.0),
    ("bank.battery_discharge_limit", 0.1, 10_000.0),
    ("bank.battery_short_circuit", 1.0, 1e6),
    ("bank.battery_resistance", 1e-6, 10.0),
    ("solar.*.count", 1.0, 1000.0),
    ("solar.*.series", 1.0, 100.0),
    ("solar.*.tilt", 0.0, 90.0),
    ("solar.*.azimuth", -360.0, 360.0),
    ("engine.voltage", 6.0, 60.0),
    ("engine.alternator", 1.0, 5000.0),
    ("engine.own_load", 0.0, 5000.0),
    ("engine.current", 0.1, 5000.0),
    ("engine.start_capacity", 1.0, 10_000.0),
    ("charger.current", 0.1, 5000.0),
    ("charger.fill_time", 0.1, 1000.0),
    ("shore.current", 0.5, 1000.0),
    ("shore.voltage", 50.0, 1000.0),
    ("generator.voltage", 50.0, 1000.0),
    ("generator.power", 10.0, 1e6),
    ("inverter.power", 1.0, 100_000.0),
    ("cable.slack", 0.0, 2.0),
    ("loads.*.count", 1.0, 1000.0),
    ("loads.*.power", 0.0, 100_000.0),
    ("loads.*.start_power", 0.0, 1e6),
    ("loads.*.standby", 0.0, 100_000.0),
    ("loads.*.current", 0.0, 10_000.0),
    ("loads.*.start_current", 0.0, 100_000.0),
    ("loads.*.power_factor", 0.05, 1.0),
    ("loads.*.duty", 0.0, 1.0),
    ("loads.*.runs", 0.0, 10_000.0),
    ("loads.*.run_time", 0.0, 24.0),
    ("loads.*.energy", 0.0, 1e7),
    ("loads.*.lowest_start", 0.0, 1000.0),
    ("panels.*.spare", 0.0, 1000.0),
    ("routes.*.bundle", 1.0, 1000.0),
    ("built.*.rating", 0.01, 10_000.0),
    ("built.*.absorption", 1.0, 1000.0),
    ("built.*.distance", 0.0, 500.0),
    ("board.width", 0.05, 10.0),
    ("board.height", 0.05, 10.0),
    ("board.outline.*.*", 0.0, 10.0),
    ("board.notches.*.width", 0.001, 10.0),
    ("board.notches.*.height", 0.001, 10.0),
    ("board.notches.*.*", 0.0, 10.0),
    ("board.keep_out.*.width", 0.001, 10.0),
    ("board.keep_out.*.height", 0.001, 10.0),
    ("board.keep_out.*.*", 0.0, 10.0),
    ("board.fixings.*.*", 0.0, 10.0),
    ("board.thickness", 0.001, 0.2),
    ("board.edge_margin", 0.0, 1.0),
    ("board.reach", 0.05, 5.0),
    ("board.fixing_load", 0.1, 1000.0),
    ("board.places.*.turn", 0.0, 270.0),
    ("board.places.*.*", 0.0, 10.0),
    ("plan.length", 0.5, 100.0),
    ("plan.width", 0.5, 50.0),
    ("plan.height", 0.2, 50.0),
    ("plan.points.*.mass", 0.0, 100_000.0),
    ("plan.points.*.z", -5.0, 50.0),
    ("plan.points.*.*", 0.0, 100.0),
    ("plan.channels.*.points.*.z", -5.0, 50.0),
    ("plan.channels.*.points.*.*", 0.0, 100.0),
    ("plan.channels.*.support", 0.01, 10.0),
    ("plan.channels.*.*", 0.002, 2.0),
    ("plan.walls.*.thickness", 0.0001, 1.0),
    ("plan.walls.*.*.*", -5.0, 100.0),
    ("plan.zones.*.*.*", -5.0, 100.0),
    ("plan.axles.*.x", -5.0, 100.0),
    ("plan.axles.*.*", 0.0, 100_000.0),
    ("*.*.voltage", 1.0, 1000.0),
    ("*.*.length", 0.001, 500.0),
    ("*.*.controller_length", 0.001, 500.0),
    ("*.length", 0.001, 500.0),
    ("*.link_length", 0.001, 500.0),
    ("*.charger_length", 0.001, 500.0),
    ("*.hours", 0.0, 24.0),
    ("*.driving", 0.0, 24.0),
    ("*.*.hours", 0.0, 24.0),
    ("*.*.sun_hours", 0.0, 24.0),
];

/// Bounds of parts, likewise.
#[rustfmt::skip]
pub const PARTS: &[Range] = &[
    ("*.*.capacity", 0.1, 100_000.0),
    ("*.*.internal_resistance", 1e-6, 10.0),
    ("*.*.peukert", 1.0, 2.0),
    ("*.*.most_series", 1.0, 1000.0),
    ("*.*.most_parallel", 1.0, 1000.0),
    ("*.*.frequency", 16.0, 1000.0),
    ("*.*.ways", 1.0, 1000.0),
    ("*.*.poles", 1.0, 8.0),
    ("*.*.cores", 1.0, 100.0),
    ("*.*.studs", 1.0, 1000.0),
    ("*.*.efficiency", 0.05, 1.0),
    ("*.*.efficiency_full", 0.05, 1.0),
    ("*.*.power_factor", 0.05, 1.0),
    ("*.*.usable", 0.05, 1.0),
    ("*.*.price.*", 0.0, 1e7),
];

/// Bounds of any other number by its unit, for parts: unit, least, most.
#[rustfmt::skip]
const BY_UNIT: &[Range] = &[
    ("V", 0.0, 2000.0), ("A", 0.0, 1e6), ("Ω", 0.0, 1e6), ("W", 0.0, 1e6), ("VA", 0.0, 1e6), ("Wh", 0.0, 1e7),
    ("Ah", 0.0, 1e5), ("h", 0.0, 1e5), ("m", 0.0, 500.0), ("mm²", 0.0, 1e4), ("kg", 0.0, 1e5), ("F", 0.0, 1e4),
    ("°C", -100.0, 300.0), ("1", 0.0, 1.0), ("h/day", 0.0, 24.0), ("/day", 0.0, 1e4), ("Wh/day", 0.0, 1e7),
    ("%/K", -5.0, 5.0), ("", 0.0, 1e6),
];

/// Nominal voltages of a bank.
const BANKS: [f64; 4] = [12.0, 24.0, 36.0, 48.0];

/// Every number of `read` that is out of bounds, located.
pub fn check<T: Serialize>(read: &T, table: &[Range], spans: &Spans, source: &SourceText) -> Vec<Problem> {
    // What was read always has a JSON form: its keys are texts and its numbers finite.
    let value = serde_json::to_value(read).unwrap_or(Value::Null);
    let mut check = Check { table, spans, source, problems: Vec::new() };
    check.walk(&value, &mut Vec::new());
    check.problems
}

struct Check<'c> {
    table: &'c [Range],
    spans: &'c Spans,
    source: &'c SourceText,
    problems: Vec<Problem>,
}

impl Check<'_> {
    fn walk(&mut self, value: &Value, path: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                match (map.get("value").and_then(Value::as_f64), map.get("unit").and_then(Value::as_str)) {
                    (Some(number), Some(unit)) => self.number(number, unit, path),
                    _ => {
                        for (key, value) in map {
                            path.push(key.clone());
                            self.walk(value, path);
                            path.pop();
                        }
                    }
                }
            }
            Value::Array(items) => {
                for (index, value) in items.iter().enumerate() {
                    path.push(format!("[{index}]"));
                    self.walk(value, path);
                    path.pop();
                }
            }
            Value::Number(number) => {
                if let Some(number) = number.as_f64() {
                    self.number(number, "", path);
                }
            }
            Value::Null | Value::Bool(_) | Value::String(_) => {}
        }
    }

    fn number(&mut self, number: f64, unit: &str, path: &[String]) {
        let row = self.table.iter().find(|(pattern, ..)| fits(pattern, path));
        let Some((_, least, most)) = row.or_else(|| BY_UNIT.iter().find(|(known, ..)| *known == unit)) else {
            return;
        };
        let with_unit = |number: f64| match unit {
            "" => number.to_string(),
            "1" => format!("{} %", number * 100.0),
            unit => format!("{number} {unit}"),
        };
        let is_bank = path.len() == 2 && path[0] == "brief" && path[1] == "voltage";
        let mend = if is_bank {
            if BANKS.contains(&number) {
                return;
            }
            "Write \"12 V\", \"24 V\", \"36 V\" or \"48 V\": the nominal voltage of the bank".to_owned()
        } else {
            if (*least..=*most).contains(&number) {
                return;
            }
            format!("Write a value from {} to {}", with_unit(*least), with_unit(*most))
        };
        let what = path.iter().rev().find(|part| !part.starts_with('[')).map_or("value", String::as_str);
        let message = format!("{} is no possible {}", with_unit(number), what.replace('_', " "));
        self.report(path, message, mend);
    }

    fn report(&mut self, path: &[String], message: String, mend: String) {
        let mut field = String::new();
        for part in path {
            if !field.is_empty() && !part.starts_with('[') {
                field.push('.');
            }
            field.push_str(part);
        }
        let span = self.spans.nearest(&field).unwrap_or(0..0);
        let (line, column) = self.source.line_column(span.start);
        self.problems.push(Problem {
            message,
            file: self.source.name.clone(),
            field,
            span,
            line,
            column,
            mend,
        });
    }
}

fn fits(pattern: &str, path: &[String]) -> bool {
    let mut parts = pattern.split('.');
    path.iter().all(|name| parts.next().is_some_and(|part| part == "*" || part == name))
        && parts.next().is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every number of intent.toml has a row, so that a new field cannot be forgotten.
    #[test]
    fn every_number_has_bounds() {
        let schema = serde_json::to_value(schemars::schema_for!(crate::Intent)).unwrap();
        let mut without = Vec::new();
        let mut seen = 0;
        leaves(&schema, &schema, &mut Vec::new(), &mut |path| {
            seen += 1;
            if !INTENT.iter().any(|(pattern, ..)| fits(pattern, path)) {
                without.push(path.join("."));
            }
        });
        assert!(seen > 70, "the schema was walked: {seen}");
        assert_eq!(without, Vec::<String>::new());
    }

    fn leaves(schema: &Value, root: &Value, path: &mut Vec<String>, leaf: &mut dyn FnMut(&[String])) {
        if let Some(name) = schema.get("$ref").and_then(Value::as_str) {
            let name = name.trim_start_matches("#/$defs/");
            if !matches!(name, "Gauge" | "Name" | "Insulation" | "ClockTime" | "DaySpan") {
                leaves(&root["$defs"][name], root, path, leaf);
            }
            return;
        }
        for word in ["anyOf", "oneOf", "allOf"] {
            for option in schema.get(word).and_then(Value::as_array).into_iter().flatten() {
                leaves(option, root, path, leaf);
            }
        }
        for (key, value) in schema.get("properties").and_then(Value::as_object).into_iter().flatten() {
            path.push(key.clone());
            leaves(value, root, path, leaf);
            path.pop();
        }
        for word in ["additionalProperties", "items"] {
            if let Some(value) = schema.get(word).filter(|value| value.is_object()) {
                path.push("*".to_owned());
                leaves(value, root, path, leaf);
                path.pop();
            }
        }
        let kind = schema.get("type");
        let is_number = kind.is_some_and(|kind| {
            kind == "integer" || kind.as_array().is_some_and(|all| all.contains(&"integer".into()))
        });
        if is_number || schema.get("pattern").is_some() {
            leaf(path);
        }
    }

    #[test]
    fn a_row_fits_only_its_own_depth() {
        let path = |text: &str| text.split('.').map(str::to_owned).collect::<Vec<_>>();
        assert!(fits("loads.*.power", &path("loads.fridge.power")));
        assert!(!fits("loads.*.power", &path("loads.fridge.power.more")));
        assert!(!fits("loads.*.power", &path("loads.fridge")));
    }
}
